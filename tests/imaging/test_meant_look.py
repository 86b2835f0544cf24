"""Pictures that are not what they seem: plates, spent transparency, linear light, thin coloured lines."""

from __future__ import annotations

import io
import struct
from pathlib import Path

import cv2
import numpy as np
import psd_tools
import pytest
import tifffile
from PIL import Image, ImageCms

from reviews.imaging.decode import read_rgb
from reviews.imaging.results import Refusal
from reviews.imaging.tiles.tiling import has_coloured_line, jpeg
from tests.imaging.picture_files import (
    QUARTERS,
    SIZE,
    far_from,
    psd_bytes,
    quarters,
    resource,
    rgb_planes,
    shades_of,
    srgb_profile,
)
from tests.imaging.test_opening import facts_of, pixels_of

ONE_CLEAR_LAYER = struct.pack(">IhiiiiH4s4sBBBBI", 62, -1, 0, 0, 0, 0, 0, b"8BIM", b"norm", 255, 0, 0, 0, 12) + bytes(
    16
)


def a_plate() -> np.ndarray:
    plate = np.zeros((SIZE[1], SIZE[0], 1), np.uint8)
    plate[100:140, 200:260] = 255
    return plate


def tiff_with(path: Path, extra: list[np.ndarray], meanings: tuple[str, ...], photometric: str = "rgb") -> Path:
    colours = np.asarray(quarters())
    if photometric == "separated":
        colours = np.concatenate([255 - colours, np.zeros_like(colours[..., :1])], 2)
    stored = np.concatenate([colours, *extra], 2)
    tifffile.imwrite(path, stored, photometric=photometric, planarconfig="contig", extrasamples=meanings)
    with tifffile.TiffFile(path) as again:  # another library reads what was meant, so the test is of the right file
        assert [int(v) for v in again.pages[0].extrasamples] == [
            {"unspecified": 0, "unassalpha": 2}[m] for m in meanings
        ]
    return path


@pytest.mark.parametrize("photometric", ["rgb", "separated"])
@pytest.mark.parametrize("n_plates", [1, 2])
def test_a_spot_plate_is_no_transparency(photometric, n_plates, tmp_path):
    plain = tmp_path / "plain.tif"
    colours = np.asarray(quarters())
    if photometric == "separated":
        colours = np.concatenate([255 - colours, np.zeros_like(colours[..., :1])], 2)
    tifffile.imwrite(plain, colours, photometric=photometric, planarconfig="contig")
    path = tiff_with(tmp_path / "plates.tif", [a_plate()] * n_plates, ("unspecified",) * n_plates, photometric)
    assert facts_of(path).mode == ("RGB" if photometric == "rgb" else "CMYK")
    assert np.array_equal(pixels_of(path), pixels_of(plain))


@pytest.mark.parametrize("meanings", [("unassalpha",), ("unspecified", "unassalpha"), ("unassalpha", "unspecified")])
def test_the_channel_that_is_called_transparency_is_it_wherever_it_stands(meanings, tmp_path):
    clear = np.zeros((SIZE[1], SIZE[0], 1), np.uint8)
    clear[:, : SIZE[0] // 2] = 255
    path = tiff_with(tmp_path / "a.tif", [clear if m == "unassalpha" else a_plate() for m in meanings], meanings)
    assert facts_of(path).mode == "RGBA"
    white = (255, 255, 255)
    assert far_from(shades_of(pixels_of(path)), [QUARTERS[0], white, white, QUARTERS[3]]) <= 1


@pytest.mark.parametrize("kind", ["uint8", "uint16"])
def test_colours_that_a_psd_stored_over_white_are_not_laid_over_white_again(kind, tmp_path):
    # A soft layer without a background: half clear in the left half, as a pencil or wash layer is.
    clear = np.full((1, SIZE[1], SIZE[0]), 255.0)
    clear[:, :, : SIZE[0] // 2] = np.linspace(60, 200, SIZE[0] // 2)
    over_white = (rgb_planes() * (clear / 255) + 255 - clear).round()
    factor = 1 if kind == "uint8" else 257
    stored = (np.concatenate([over_white, clear.round()]) * factor).astype(kind)
    path = tmp_path / "soft.psd"
    path.write_bytes(psd_bytes(stored, 3, layers=ONE_CLEAR_LAYER))
    assert facts_of(path).mode == "RGBA"
    shown = pixels_of(path).astype(int)
    assert np.abs(shown - over_white.transpose(1, 2, 0)).max() <= 1


def layer_section(data: bytes) -> bytes:
    """Take the section of layers out of a PSD, saying that its merged picture has transparency."""
    at = 26
    for _ in range(2):  # the palette and the resources
        at += 4 + struct.unpack_from(">I", data, at)[0]
    (length,) = struct.unpack_from(">I", data, at)
    section = bytearray(data[at + 4 : at + 4 + length])
    struct.pack_into(">h", section, 4, -abs(struct.unpack_from(">h", section, 4)[0]))
    return bytes(section)


def test_a_soft_layer_shows_as_another_library_composes_it_from_its_layers(tmp_path):
    document = psd_tools.PSDImage.new("RGB", SIZE, color=255)
    soft = quarters().convert("RGBA")
    soft.putalpha(Image.linear_gradient("L").resize(SIZE))
    document.create_pixel_layer(soft, name="wash")
    out = io.BytesIO()
    document.save(out)
    clear = np.asarray(soft.getchannel("A"))[None].astype(float)
    merged = np.concatenate([rgb_planes() * (clear / 255) + 255 - clear, clear]).round().astype(np.uint8)
    path = tmp_path / "wash.psd"
    path.write_bytes(psd_bytes(merged, 3, layers=layer_section(out.getvalue())))
    with path.open("rb") as file:
        composed = psd_tools.PSDImage.open(file).composite(force=True).convert("RGBA")
    wanted = Image.new("RGBA", SIZE, (255, 255, 255, 255))
    wanted.alpha_composite(composed)
    assert facts_of(path).layer_names == ("wash",)
    assert np.abs(pixels_of(path).astype(int) - np.asarray(wanted.convert("RGB"))).max() <= 3


def linear(shade: np.ndarray) -> np.ndarray:
    """Give sRGB levels as linear light, 0 to 1 (IEC 61966-2-1)."""
    x = shade / 255
    return np.where(x <= 0.04045, x / 12.92, ((x + 0.055) / 1.055) ** 2.4)


def linear_profile() -> bytes:
    """Give the sRGB profile with straight lines for its tone curves."""
    data = bytearray(srgb_profile())
    (n_tags,) = struct.unpack_from(">I", data, 128)
    for at in range(132, 132 + 12 * n_tags, 12):
        name, offset, length = struct.unpack_from(">4sII", data, at)
        if name in (b"rTRC", b"gTRC", b"bTRC"):
            data[offset : offset + length] = (b"curv" + bytes(8)).ljust(length, b"\0")
            struct.pack_into(">I", data, at + 8, 12)
    ImageCms.ImageCmsProfile(io.BytesIO(bytes(data)))
    return bytes(data)


@pytest.mark.parametrize("has_profile", [False, True])
def test_linear_light_of_a_32_bit_psd_is_coded_once(has_profile, tmp_path):
    planes = linear(rgb_planes().astype(float)).astype(np.float32)
    resources = resource(1039, linear_profile()) if has_profile else b""
    path = tmp_path / "light.psd"
    path.write_bytes(psd_bytes(planes, 3, compression=0, resources=resources))
    assert facts_of(path).bits == 32
    assert bool(facts_of(path).profile_name) == has_profile
    assert far_from(shades_of(pixels_of(path))) <= 2


def test_linear_grey_of_a_32_bit_psd_is_coded_once(tmp_path):
    planes = np.full((1, SIZE[1], SIZE[0]), linear(np.array(119.0)), np.float32)
    path = tmp_path / "grey.psd"
    path.write_bytes(psd_bytes(planes, 1, compression=0))
    assert abs(int(pixels_of(path)[50, 50].flat[0]) - 119) <= 1


def lines_on_white(shade: tuple[int, int, int]) -> np.ndarray:
    """Draw lines of one and two pixels, blue first, as an orange or red sketch is."""
    page = np.full((512, 512, 3), 255, np.uint8)
    for n in range(14):
        cv2.line(page, (20 + 36 * n, 10), (490 - 30 * n, 500), shade[::-1], 1 + n % 2)
    return page


def lab_off(page: np.ndarray, data: bytes) -> float:
    """Return the median CIE76 difference on the lines' own pixels."""
    again = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    one, two = (cv2.cvtColor(p.astype(np.float32) / 255, cv2.COLOR_BGR2LAB) for p in (page, again))
    on_line = (page != 255).any(2)
    return float(np.median(np.sqrt(((one - two) ** 2).sum(2))[on_line]))


@pytest.mark.parametrize("shade", [(226, 114, 44), (200, 30, 40), (70, 120, 220)])
def test_thin_coloured_lines_keep_their_colour_in_tiles(shade):
    page = lines_on_white(shade)
    assert has_coloured_line(page)
    halved = cv2.imencode(".jpg", page, [cv2.IMWRITE_JPEG_QUALITY, 82])[1].tobytes()
    kept = jpeg(page, 82)
    assert lab_off(page, kept) < 0.5 * lab_off(page, halved)


def test_paint_and_grey_lines_need_no_more_bytes():
    rng = np.random.default_rng(2)
    wash = cv2.GaussianBlur(rng.integers(0, 255, (512, 512, 3)).astype(np.uint8), (0, 0), 9)
    grey = np.repeat(lines_on_white((60, 60, 62))[..., :1], 3, 2)
    for page in (wash, grey):
        assert not has_coloured_line(page)
        assert jpeg(page, 82) == cv2.imencode(".jpg", page, [cv2.IMWRITE_JPEG_QUALITY, 82])[1].tobytes()


def test_a_damaged_tiff_of_usual_storage_is_still_called_damaged_or_cut_short(tmp_path):
    path = tmp_path / "whole.tif"
    quarters().save(path, compression="tiff_lzw")
    data = bytearray(path.read_bytes())
    data[600:1400] = b"\xff" * 800
    path.write_bytes(bytes(data))
    found = read_rgb(path, 4000)
    assert isinstance(found, Refusal) and found.code in ("damaged", "truncated")
