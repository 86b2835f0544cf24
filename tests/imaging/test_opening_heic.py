"""HEIC, as phones write it: its own colours, turned once, its pages, grey and clear."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from reviews.imaging.decode import check, read_rgb
from reviews.imaging.results import Refusal
from tests.imaging.picture_files import SIZE, far_from, quarters, shades_of
from tests.imaging.test_opening import facts_of, pixels_of, wide_profile


def test_a_phones_heic_is_shown_in_its_own_colours_and_turned_once(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    picture = pillow_heif.from_pillow(quarters())
    picture[0].info["icc_profile"] = wide_profile()
    picture.save(tmp_path / "phone.heic", quality=95, chroma=444, exif=exif.tobytes())
    turned = quarters().transpose(Image.Transpose.ROTATE_270)
    turned.save(tmp_path / "same.png", icc_profile=wide_profile())
    facts = facts_of(tmp_path / "phone.heic")
    assert (facts.kind, facts.width_px, facts.height_px, facts.orientation) == ("HEIC", *SIZE[::-1], 1)
    assert facts.profile_name
    shown, wanted = (shades_of(pixels_of(tmp_path / name)) for name in ("phone.heic", "same.png"))
    assert far_from(shown, wanted) <= 6


def test_a_heic_of_several_pictures_shows_its_primary_and_can_be_leafed(tmp_path: Path) -> None:
    file = pillow_heif.from_pillow(Image.new("RGB", SIZE, (10, 20, 200)))
    file.add_from_pillow(quarters())
    file.save(tmp_path / "two.heic", quality=95, chroma=444, primary_index=1)
    assert facts_of(tmp_path / "two.heic").n_pages == 2
    assert far_from(shades_of(pixels_of(tmp_path / "two.heic"))) <= 6
    second = read_rgb(tmp_path / "two.heic", 1000, page=1)
    assert not isinstance(second, Refusal)
    assert np.abs(second[100, 100].astype(int) - (10, 20, 200)).max() <= 6
    third = check(tmp_path / "two.heic", page=2)
    assert isinstance(third, Refusal)
    assert third.code == "no-such-page"


@pytest.mark.parametrize(("mode", "called"), [("L", "GREY"), ("RGBA", "RGBA")])
def test_grey_and_clear_heic_are_opened(mode: str, called: str, tmp_path: Path) -> None:
    pillow_heif.from_pillow(quarters().convert(mode)).save(tmp_path / "a.heic", quality=95)
    assert facts_of(tmp_path / "a.heic").mode == called
    wanted = np.asarray(quarters().convert("L").convert("RGB")) if mode == "L" else None
    shown = shades_of(pixels_of(tmp_path / "a.heic"))
    assert far_from(shown, *([shades_of(wanted)] if wanted is not None else [])) <= 8
