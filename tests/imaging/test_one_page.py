"""A page of a file as a file of its own, and a picture turned and cropped: nothing of what it holds is lost."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageCms, ImageDraw

from reviews.imaging.decode import examine, read_rgb
from reviews.imaging.derived import Derived, Refusal, take_page_from, turn_file
from reviews.imaging.results import PictureFacts
from tests.imaging.picture_files import GAMMA_1, png_stating

RED, BLUE = (200, 30, 30), (30, 30, 200)


def page_of(colour: Any, mode: str = "RGB", size: tuple[int, int] = (80, 40)) -> Image.Image:
    image = Image.new(mode, size, colour)
    ImageDraw.Draw(image).rectangle((0, 0, 9, 4), fill=tuple(0 for _ in colour) if isinstance(colour, tuple) else 0)
    return image


def several(path: Path, first: Image.Image, second: Image.Image, **options: Any) -> Path:
    first.save(path, save_all=True, append_images=[second], **options)
    return path


def facts(path: Path) -> PictureFacts:
    found = examine(path)
    assert isinstance(found, PictureFacts), found
    return found


def taken(path: Path, out: Path, page: int) -> Derived:
    made = take_page_from(path, out, page)
    assert isinstance(made, Derived), made
    return made


@pytest.mark.parametrize("options", [{}, {"compression": "tiff_lzw", "dpi": (300, 300)}])
def test_a_page_of_a_tiff_keeps_its_pixels_its_profile_and_its_resolution(tmp_path, options):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    source = several(tmp_path / "two.tif", page_of(RED), page_of(BLUE), icc_profile=profile, **options)
    made = taken(source, tmp_path / "out.tif", 2)
    assert np.array_equal(np.asarray(Image.open(made.path)), np.asarray(page_of(BLUE)))
    found = facts(made.path)
    assert (found.n_pages, found.profile_name) == (1, facts(source).profile_name)
    assert found.ppi_x == facts(source).ppi_x
    assert made.recipe == {
        "page": 2, "n_pages": 2, "sources_sha256": [hashlib.sha256(source.read_bytes()).hexdigest()]
    }  # fmt: skip


def test_inks_stay_inks(tmp_path):
    source = several(tmp_path / "inks.tif", page_of((0, 0, 0, 0), "CMYK"), page_of((200, 10, 60, 20), "CMYK"))
    made = taken(source, tmp_path / "out.tif", 2)
    assert facts(made.path).mode == "CMYK"
    assert np.array_equal(np.asarray(Image.open(made.path)), np.asarray(page_of((200, 10, 60, 20), "CMYK")))


def test_a_line_drawing_of_one_bit_stays_one_bit(tmp_path):
    source = several(tmp_path / "line.tif", page_of(1, "1"), page_of(1, "1", (60, 30)), compression="group4")
    made = taken(source, tmp_path / "out.tif", 2)
    assert facts(made.path).mode == "BILEVEL"
    assert np.array_equal(np.asarray(Image.open(made.path)), np.asarray(page_of(1, "1", (60, 30))))


def test_a_page_of_a_pdf_is_a_pdf_of_that_page_alone(tmp_path):
    source = several(tmp_path / "two.pdf", page_of(RED), page_of(BLUE, size=(100, 50)), resolution=72)
    made = taken(source, tmp_path / "out.pdf", 2)
    found = facts(made.path)
    assert (found.kind, found.n_pages) == ("PDF", 1)
    with pypdfium2.PdfDocument(made.path) as single:
        assert single[0].get_size() == (100, 50)
    shown = read_rgb(made.path, 400)
    assert tuple(shown[-5, -5].round(-1)) == (30, 30, 200)


@pytest.mark.parametrize("name", ["two.tif", "two.pdf"])
def test_a_page_that_is_not_there_is_refused(tmp_path, name):
    source = several(tmp_path / name, page_of(RED), page_of(BLUE))
    assert isinstance(take_page_from(source, tmp_path / f"out{source.suffix}", 3), Refusal)


def test_a_picture_is_turned_clockwise_then_cut(tmp_path):
    source = tmp_path / "one.png"
    page_of(RED).save(source)
    made = turn_file(source, tmp_path / "out.png", quarters=1, cut=(50, 0, 0, 25))
    assert isinstance(made, Derived), made
    turned = np.asarray(page_of(RED).transpose(Image.Transpose.ROTATE_270))
    assert np.array_equal(np.asarray(Image.open(made.path)), turned[:60, 20:])
    assert (made.width_px, made.height_px) == (20, 60)
    assert made.recipe["quarters"] == 1 and made.recipe["cut"] == [50, 0, 0, 25]


def test_what_lies_on_its_head_is_put_upright_with_its_sixteen_bits(tmp_path):
    grey = np.arange(40 * 80, dtype=np.uint16).reshape(40, 80) * 20
    source = tmp_path / "deep.png"
    Image.fromarray(grey).save(source)
    made = turn_file(source, tmp_path / "out.png", quarters=2, cut=(0, 0, 0, 0))
    assert isinstance(made, Derived), made
    assert np.array_equal(np.asarray(Image.open(made.path)), grey[::-1, ::-1])


def test_the_turn_that_a_camera_noted_is_taken_along_once(tmp_path):
    source = tmp_path / "held.jpg"
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned a quarter clockwise when it is looked at
    page_of(RED).save(source, exif=exif, quality=95)
    made = turn_file(source, tmp_path / "out.png", quarters=1, cut=(0, 0, 0, 0))
    assert isinstance(made, Derived), made
    assert (facts(made.path).width_px, facts(made.path).height_px) == (80, 40)


def test_a_turned_png_keeps_the_gamma_it_only_stated(tmp_path):
    source = png_stating(tmp_path / "linear.png", Image.new("RGB", (60, 40), (55, 55, 55)), GAMMA_1)
    made = turn_file(source, tmp_path / "out.png", quarters=1, cut=(0, 0, 0, 0))
    assert isinstance(made, Derived), made
    before, after = (read_rgb(path, 500) for path in (source, made.path))
    assert not isinstance(before, Refusal) and not isinstance(after, Refusal)
    # Linear light of 55 in 255 is 128 by sRGB's own curve (IEC 61966-2-1).
    assert abs(float(np.median(before)) - 128) <= 2 and abs(float(np.median(after)) - 128) <= 2
