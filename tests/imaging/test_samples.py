"""Pictures other people made: those scikit-image carries, and a folder of broken and odd ones where one is named.

`ROUGHPROOF_SAMPLES=FOLDER` adds every file of that folder. A good one is Tests/images of Pillow's source package
(`pip download --no-binary :all: --no-deps pillow`): some 900 files, many of them made to break a reader.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import skimage
import tifffile
from PIL import Image, ImageOps

from reviews.imaging.decode import check, read_rgb
from reviews.imaging.results import PictureFacts, Refusal
from tests.imaging.fuzzing import verdict_of

CARRIED = Path(skimage.__file__).parent / "data"
# Colour stored as 64-bit fractions, plane by plane, which Pillow does not read.
WIDE = "multipage_rgb.tif"
NAMED = os.environ.get("ROUGHPROOF_SAMPLES", "")


def pictures(*suffixes: str) -> list[Path]:
    return sorted(path for path in CARRIED.iterdir() if path.suffix in suffixes and path.name != WIDE)


def seen_by_another(path: Path) -> np.ndarray:
    """Read a picture with Pillow, turned and over white."""
    with Image.open(path) as opened:
        picture = ImageOps.exif_transpose(opened)
        if picture.mode.startswith("I;16"):
            picture = Image.fromarray((np.asarray(picture) >> 8).astype(np.uint8))
        if picture.mode in ("LA", "PA", "P") or "transparency" in picture.info:
            picture = picture.convert("RGBA")
        if picture.mode == "RGBA":
            picture = Image.alpha_composite(Image.new("RGBA", picture.size, (255,) * 4), picture)
        return np.asarray(picture.convert("RGB")).astype(int)


@pytest.mark.parametrize("path", pictures(".png", ".jpg", ".tif"), ids=lambda path: path.name)
def test_a_carried_picture_is_seen_as_another_reader_sees_it(path: Path) -> None:
    facts = check(path)
    assert isinstance(facts, PictureFacts), facts
    rgb = read_rgb(path, 10_000)
    assert not isinstance(rgb, Refusal)
    wanted = seen_by_another(path)
    assert rgb.shape == wanted.shape
    if facts.assumed_profile is not None:
        # With a profile inside, ours is converted and Pillow's is not; without one the numbers must agree.
        assert np.abs(rgb - wanted).mean() < 1.5


def test_the_carried_gif_is_refused() -> None:
    (gif,) = pictures(".gif")
    found = check(gif)
    assert isinstance(found, Refusal)
    assert found.code == "unsupported-kind"


def test_a_carried_stack_of_wide_planes_is_seen_as_another_reader_sees_it() -> None:
    shares = np.clip(tifffile.imread(CARRIED / WIDE, key=0).transpose(1, 2, 0), 0, 1)
    coded = np.where(shares <= 0.0031308, shares * 12.92, 1.055 * shares ** (1 / 2.4) - 0.055)  # IEC 61966-2-1
    shown = read_rgb(CARRIED / WIDE, 10_000)
    assert not isinstance(shown, Refusal), shown
    assert np.abs(shown - coded * 255).max() <= 1


def named() -> Iterator[Path]:
    return (path for path in sorted(Path(NAMED).rglob("*")) if path.is_file())


@pytest.mark.slow
@pytest.mark.skipif(not NAMED, reason="ROUGHPROOF_SAMPLES names no folder of broken pictures")
def test_every_named_sample_gets_a_verdict() -> None:
    verdicts = {path: verdict_of(check(path)) for path in named()}
    assert len(verdicts) > 20
    assert "accepted" in verdicts.values()
    assert len(set(verdicts.values())) > 2
