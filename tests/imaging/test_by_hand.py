"""What we read and write by hand, held against libraries over files that those libraries wrote themselves."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import psd_tools
import pytest
import pyvips
import tifffile
from PIL import Image, ImageCms
from psd_tools.constants import Compression

from reviews.imaging.decode import read_rgb
from reviews.imaging.files import icc, psd, tiff_lab, tiff_shell
from reviews.imaging.results import Refusal
from tests.imaging.picture_files import far_from, lab_quarters, quarters, shades_of

COMPRESSIONS = (Compression.RAW, Compression.RLE, Compression.ZIP)
MODES = ("RGB", "L", "CMYK")


def noisy(mode: str, size: tuple[int, int] = (83, 61)) -> Image.Image:
    """A picture with flat runs and noise: packed rows of every kind."""
    n_channels = len(Image.new(mode, (1, 1)).getbands())
    values = np.random.default_rng(4).integers(0, 256, (size[1], size[0], n_channels), dtype=np.uint8)
    values[:, :30] = values[:, :1]
    return Image.fromarray(values[..., 0] if n_channels == 1 else values, mode)


@pytest.mark.parametrize("compression", COMPRESSIONS)
@pytest.mark.parametrize("mode", MODES)
def test_a_psd_by_a_library_says_and_shows_what_the_library_reads(
    mode: str, compression: Compression, tmp_path: Path
) -> None:
    path, shell = tmp_path / "a.psd", tmp_path / "a.tif"
    psd_tools.PSDImage.frompil(noisy(mode), compression=compression).save(path)
    theirs = psd_tools.PSDImage.open(path)
    ours = psd.read_header(path)
    assert not isinstance(ours, Refusal)
    assert (ours.width_px, ours.height_px, ours.n_channels, ours.bits) == (
        theirs.width,
        theirs.height,
        theirs.channels,
        theirs.depth,
    )
    psd.write_merged(path, ours, shell)
    merged = np.atleast_3d((theirs.numpy() * 255).round().astype(np.uint8))
    # The shell keeps the channels as planes, one after the other.
    planes = tifffile.imread(shell).reshape(ours.n_channels, *noisy(mode).size[::-1])
    assert np.array_equal(planes.transpose(1, 2, 0), merged)


@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("space", ["GREY", "RGB", "CMYK"])
@pytest.mark.parametrize("has_alpha", [False, True])
def test_a_shell_round_plain_pixels_is_read_by_another_library(
    space: str, bits: int, has_alpha: bool, tmp_path: Path
) -> None:
    n_channels = tiff_shell.N_COLOURS[space] + has_alpha
    values = np.random.default_rng(bits).integers(0, 1 << bits, (61, 83, n_channels)).astype(f">u{bits // 8}")
    strips = [values[top : top + 16].tobytes() for top in range(0, 61, 16)]
    lengths = [len(strip) for strip in strips]
    path = tmp_path / "a.tif"
    with path.open("w+b") as out:
        tiff_shell.start(out)
        out.write(b"".join(strips))
        tiff_shell.finish(
            out,
            tiff_shell.Shell(
                width_px=83,
                height_px=61,
                n_channels=n_channels,
                bits=bits,
                space=space,
                rows_per_strip=16,
                offsets=[tiff_shell.HEADER_BYTES + sum(lengths[:n]) for n in range(len(lengths))],
                lengths=lengths,
            ),
        )
    with tifffile.TiffFile(path) as file:
        assert file.is_bigtiff
        assert np.array_equal(file.asarray().reshape(values.shape), values)
        assert (len(file.pages.first.extrasamples) == 1) is has_alpha


@pytest.mark.parametrize("is_big", [False, True])
@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize(("coding", "is_signed"), [("cielab", True), ("icclab", False)])
def test_lab_in_a_tiff_by_a_library_has_the_right_colours(
    coding: str, is_signed: bool, bits: int, order: str, is_big: bool, tmp_path: Path
) -> None:
    full = 1 << bits
    lab = lab_quarters().numpy().astype(float)
    around = lab[..., 1:] * (full / 256) + (0 if is_signed else full // 2)
    coded = np.dstack([lab[..., :1] * (full - 1) / 100, around]).round().astype(np.int64) & (full - 1)
    path = tmp_path / "lab.tif"
    samples = coded.astype(np.uint8 if bits == 8 else np.uint16)
    # The first page is another picture, so that the second has to be found by walking.
    with tifffile.TiffWriter(path, byteorder=order, bigtiff=is_big) as out:
        out.write(np.zeros((8, 8, 3), np.uint8), photometric="rgb", metadata=None)
        out.write(samples, photometric=coding, metadata=None)
    page = tiff_lab.find(path, 1)
    assert page is not None
    assert (page.is_signed, page.bits, page.order) == (is_signed, bits, order)
    assert tiff_lab.find(path, 0) is None
    rgb = read_rgb(path, 1000, page=1)
    assert not isinstance(rgb, Refusal)
    assert far_from(shades_of(rgb)) <= 6


def carried(name: str) -> bytes:
    """A profile that the picture library ships."""
    picture = pyvips.Image.black(8, 8, bands=3).copy(interpretation="srgb")
    return picture.icc_transform(name, input_profile="srgb").get("icc-profile-data")


def made(space: str) -> bytes:
    """A profile that littleCMS makes."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile(space)).tobytes()


PROFILES = {"sRGB": made("sRGB"), "LAB": made("LAB"), "XYZ": made("XYZ"), "p3": carried("p3"), "cmyk": carried("cmyk")}


@pytest.mark.parametrize("name", PROFILES)
def test_a_profile_says_of_itself_what_littlecms_reads(name: str) -> None:
    profile = PROFILES[name]
    theirs = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    assert icc.name_of(profile) == (theirs.profile.profile_description or "").strip()
    assert icc.space_of(profile) == {"RGB ": "RGB", "CMYK": "CMYK", "GRAY": "GREY"}.get(theirs.profile.xcolor_space)


@pytest.mark.parametrize("name", ["sRGB", "p3"])
def test_srgb_is_what_littlecms_would_leave_as_it_is(name: str) -> None:
    target = ImageCms.createProfile("sRGB")
    source = ImageCms.ImageCmsProfile(io.BytesIO(PROFILES[name]))
    shown = np.asarray(ImageCms.profileToProfile(quarters(), source, target, outputMode="RGB"))
    moved = int(np.abs(shown.astype(int) - np.asarray(quarters())).max())
    assert icc.is_srgb(PROFILES[name]) == (moved <= 1)
