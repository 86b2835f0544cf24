"""Samples stored as few programs store them: read as what they are, or named exactly, and never called damaged."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile

from reviews.imaging.child import sandbox
from reviews.imaging.decode import check, read_rgb
from reviews.imaging.derived import take_page_from
from reviews.imaging.files.refusing import refusal_for
from reviews.imaging.files.tiff_storage import storage_at
from reviews.imaging.limits import Limits
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import PictureFacts, Refusal, Renditions
from reviews.pages.wording.pictures import refusal_sentence
from tests.imaging.jpeg_streams import lossless
from tests.imaging.picture_files import quarters, srgb_profile
from tests.imaging.test_opening import facts_of, pixels_of
from tests.imaging.unusual_tiffs import JPEG, READ, RGB, art, grey_jpeg_of_12_bits, packed, tiff_bytes


@pytest.mark.parametrize("form", READ)
def test_unusual_samples_are_read_as_what_they_are(form: str, tmp_path: Path) -> None:
    bits, allowed, write = READ[form]
    path = tmp_path / "unusual.tif"
    write(path)
    facts = facts_of(path)
    assert (facts.mode, facts.bits, facts.n_pages) == ("RGB", bits, 1)
    shown = pixels_of(path)
    assert shown.shape == art().shape
    assert np.abs(shown.astype(int) - art()).max() <= allowed


@pytest.mark.parametrize("form", [form for form in READ if form not in ("lossless JPEG",)])
def test_another_library_reads_the_same_in_them(form: str, tmp_path: Path) -> None:
    """Our hand-written files are what they claim to be: tifffile or OpenCV finds the same numbers."""
    path = tmp_path / "unusual.tif"
    READ[form][2](path)
    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        assert page.bitspersample == READ[form][0]
        assert page.shape in (art().shape, art().transpose(2, 0, 1).shape)


@pytest.mark.parametrize("is_lossless", [False, True])
def test_grey_jpeg_of_12_bits_is_read(is_lossless: bool, tmp_path: Path) -> None:
    path = tmp_path / "twelve.tif"
    wanted = grey_jpeg_of_12_bits(path, is_lossless=is_lossless)
    assert (facts_of(path).mode, facts_of(path).bits) == ("GREY", 12)
    assert np.abs(pixels_of(path)[..., 0].astype(int) - wanted).max() <= 1


def test_what_a_file_says_beside_its_pixels_is_kept_and_counted_right(tmp_path: Path) -> None:
    """Resolution, profile, direction and the pages of a file come through, whichever of its pages is unusual."""
    path, profile = tmp_path / "pages.tif", srgb_profile()
    usual, planes = np.asarray(quarters()), np.ascontiguousarray(art().astype(np.uint8).transpose(2, 0, 1))
    with tifffile.TiffWriter(path) as out:
        out.write(usual, photometric="rgb")
        out.write(
            planes, photometric="rgb", planarconfig="separate", tile=(64, 64), resolution=(300, 300),
            resolutionunit=2, iccprofile=profile, extratags=[(274, 3, 1, 6, True)],
        )  # fmt: skip
        out.write(usual, photometric="rgb")
    first, second, third = (check(path, page=n) for n in range(3))
    for facts in (first, second, third):
        assert not isinstance(facts, Refusal) and facts.n_pages == 3
    assert (second.ppi_x, second.orientation, second.assumed_profile) == (300, 6, None)
    assert (second.width_px, second.height_px) == planes.shape[1:]
    assert np.array_equal(read_rgb(path, 5000, page=1), np.rot90(art(), -1))
    assert np.array_equal(read_rgb(path, 5000, page=2), usual)
    assert check(path, page=3).code == "no-such-page"
    taken = take_page_from(path, tmp_path / "two.tif", 2)
    assert not isinstance(taken, Refusal)
    assert np.array_equal(read_rgb(tmp_path / "two.tif", 5000), np.rot90(art(), -1))


def test_plates_and_transparency_of_12_bits_are_found(tmp_path: Path) -> None:
    path, extra = tmp_path / "plate.tif", np.zeros((*art().shape[:2], 2), np.uint16)
    extra[100:140, 200:260, 0] = 4095
    extra[..., 1] = 4095
    samples = np.dstack([art(4095), extra])
    size = samples.shape[1], samples.shape[0]
    path.write_bytes(tiff_bytes(size, (12,) * 5, [packed(samples, 12)], more=[(338, (0, 2))]))
    made = make_renditions(path, tmp_path)
    assert isinstance(made, Renditions) and made.facts.mode == "RGBA"
    assert [plate.channel for plate in made.facts.plates] == [0]
    assert np.array_equal(pixels_of(path), art())


@pytest.mark.parametrize("form", [np.float64, np.uint64])
def test_memory_does_not_grow_with_the_rows_of_wide_numbers(form: type, tmp_path: Path) -> None:
    """7 megapixels of colour are 170 MB as they are stored; no more than 110 MB beyond a small picture are held."""
    path = tmp_path / "a.tif"

    def peak(rows: int) -> int:
        tifffile.imwrite(path, np.ones((rows, 1200, 3), form), photometric="rgb", rowsperstrip=16)
        answer = sandbox.run("check", {"path": str(path), "page": 0, "ppi": None}, Limits())
        assert not isinstance(answer, Refusal), answer
        return int(answer["peak_bytes"])

    assert peak(6000) - peak(60) < 110 << 20


def _numbered(path: Path, compression: int) -> None:
    whole = art().astype(np.uint8)
    path.write_bytes(tiff_bytes((whole.shape[1], whole.shape[0]), (8,) * 3, [whole.tobytes()], compression=compression))


def _coded(path: Path, bits: int, top: int) -> None:
    whole = art(top).astype(np.uint16)
    stream = lossless(whole, bits)
    path.write_bytes(tiff_bytes((whole.shape[1], whole.shape[0]), (bits,) * 3, [stream], compression=JPEG))


NAMED = {
    "complex numbers": (
        lambda path: tifffile.imwrite(path, art()[..., 0].astype(np.complex64), photometric="minisblack"),
        "64-bit complex numbers",
    ),
    "Zstandard": (lambda path: _numbered(path, 50000), "pixels compressed by Zstandard"),
    "LERC": (lambda path: _numbered(path, 34887), "pixels compressed by LERC"),
    "a number nobody gave": (lambda path: _numbered(path, 60123), "pixels compressed by method 60123"),
    "12-bit JPEG in colour": (lambda path: _coded(path, 12, 4095), "a lossless JPEG of 12 bits"),
    "16-bit lossless JPEG": (lambda path: _coded(path, 16, 65535), "a lossless JPEG of 16 bits"),
    "24-bit floating point": (
        lambda path: path.write_bytes(tiff_bytes((64, 64), (24,), [bytes(64 * 64 * 3)], more=[(339, (3,))])),
        "24-bit floating-point numbers",
    ),
    "channels of different depths": (
        lambda path: path.write_bytes(tiff_bytes((64, 64), (5, 6, 5), [bytes(64 * 64 * 2)], photometric=RGB)),
        "channels of different depths",
    ),
}


@pytest.mark.parametrize("what", NAMED)
def test_what_cannot_be_read_is_named_and_never_called_damaged(what: str, tmp_path: Path) -> None:
    write, named = NAMED[what]
    path = tmp_path / "unusual.tif"
    write(path)
    found = read_rgb(path, 4000)
    assert isinstance(found, Refusal) and found.code == "unsupported-kind", found
    assert f"This TIFF holds {named}, which cannot be read here." in refusal_sentence(found.code, found.values)


def _packed_grey(path: Path, bits: int) -> None:
    grey = art(2**bits - 1)[..., :1]
    strip = zlib.compress(packed(grey, bits))
    path.write_bytes(tiff_bytes(grey.shape[1::-1], (bits,), [strip], compression=8, photometric=1))


def _signed(path: Path, kind: type) -> None:
    low = int(np.iinfo(kind).min)
    tifffile.imwrite(
        path, (art(-low).astype(np.int64) + low).clip(low, -1 - low).astype(kind), photometric="rgb", compression="zlib"
    )


def _strips_by_plane(path: Path) -> None:
    planes = np.ascontiguousarray(art().astype(np.uint8).transpose(2, 0, 1))
    tifffile.imwrite(path, planes, photometric="rgb", planarconfig="separate", compression="zlib", rowsperstrip=40)


@pytest.mark.parametrize(
    "write",
    [
        lambda path: _signed(path, np.int8),
        lambda path: _signed(path, np.int16),
        _strips_by_plane,
        lambda path: _packed_grey(path, 2),
        lambda path: _packed_grey(path, 4),
    ],
    ids=["8 bits with a sign", "16 bits with a sign", "strips by plane", "2 bits of grey", "4 bits of grey"],
)
def test_damage_in_what_the_library_reads_is_not_told_as_unreadable_storage(write, tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    write(path)
    assert not isinstance(read_rgb(path, 4000), Refusal), "it is read here, so nobody may be told that it cannot be"
    storage = storage_at(path, 0)
    assert storage is not None
    data = bytearray(path.read_bytes())
    first, length = storage.at[0], storage.lengths[0]
    data[first + 2 : first + length] = b"\xff" * (length - 2)
    path.write_bytes(bytes(data))
    found = read_rgb(path, 4000)
    assert isinstance(found, Refusal) and found.code in ("damaged", "truncated"), found


def test_a_complaint_is_told_as_unusual_only_where_the_storage_is(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    _numbered(path, 50000)
    assert refusal_for(RuntimeError("tiff2vips: bad strip"), path).code == "unsupported-kind"
    tifffile.imwrite(path, np.asarray(quarters()), photometric="rgb")
    storage = storage_at(path, 0)
    assert storage is not None and storage.is_usual
    assert refusal_for(RuntimeError("tiff2vips: bad strip"), path).code == "damaged"


def test_a_tag_without_a_value_or_far_beyond_the_file_is_no_fault_of_ours(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, np.asarray(quarters()), photometric="rgb", bigtiff=True)
    whole = path.read_bytes()
    with tifffile.TiffFile(path) as file:
        entry = file.pages[0].tags[273].offset
    for count, at in ((0, 8), (2, 1 << 63), (1 << 62, 8)):
        path.write_bytes(whole[: entry + 4] + struct.pack("<QQ", count, at) + whole[entry + 20 :])
        found = check(path)
        # Where strips lie may be left out, and the library then guesses it rightly.
        assert isinstance(found, PictureFacts) if not count else found.code in ("damaged", "truncated")
    path.write_bytes(whole[:8] + struct.pack("<Q", (1 << 63) + 5) + whole[16:])
    assert check(path).code in ("damaged", "truncated")


@pytest.mark.parametrize("form", ["12 bits, other byte order, Deflate", "64-bit floating point, predicted, in tiles"])
def test_damage_in_unusual_samples_is_still_called_damage(form: str, tmp_path: Path) -> None:
    path = tmp_path / "whole.tif"
    READ[form][2](path)
    data = bytearray(path.read_bytes())
    data[20:400] = b"\xff" * 380
    path.write_bytes(bytes(data))
    found = read_rgb(path, 4000)
    assert isinstance(found, Refusal) and found.code in ("damaged", "truncated")


def test_a_grey_jpeg_of_12_bits_that_breaks_off_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "twelve.tif"
    grey_jpeg_of_12_bits(path, is_lossless=False)
    data = bytearray(path.read_bytes())
    data[60:300] = b"\xff" * 240
    path.write_bytes(bytes(data))
    assert isinstance(read_rgb(path, 4000), Refusal)
