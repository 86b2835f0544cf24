"""Pointing at a stroke: its colour is what is taken out, whatever it is; paper, ink and grey pencil are told."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from reviews.imaging.arrays import Pixels
from reviews.imaging.derived import take_ink_from
from reviews.imaging.results import Refusal
from reviews.imaging.sheets.pointed_stroke import NoStroke, hue_of
from reviews.imaging.sheets.under_drawing import PENCILS, take_out_under_drawing
from reviews.pages.wording.pictures import refusal_sentence
from tests.imaging.scanned import ink_coverage, paper, scan

SIZE = 800, 560
# What each takes of red, green and blue light where it is laid. The first is as faint as non-repro blue: of the paper's
# 246 in red 218 is left.
LAID = {
    "faint blue": (0.114, 0.045, 0.01),
    "green": (0.40, 0.12, 0.35),
    "violet": (0.30, 0.42, 0.10),
    "pink": (0.03, 0.25, 0.12),
    "yellow": (0.02, 0.06, 0.30),
}


def sketched(laid: tuple[float, ...], seed: int) -> tuple[Pixels, np.ndarray, np.ndarray]:
    """Ink over a pencil of any colour on paper; gives the scan, where there is ink, and where pencil alone."""
    dice = np.random.default_rng(seed)
    pencil = cv2.GaussianBlur(ink_coverage(*SIZE, dice, 45, 0.0), (0, 0), 1.0)
    sheet = paper(*SIZE, dice) * (1 - pencil[..., None] * np.array(laid))
    ink = ink_coverage(*SIZE, dice, 35, 0.0)
    sheet = sheet * (1 - ink[..., None] * 0.93)
    near_ink = cv2.dilate(ink, np.ones((25, 25), np.uint8)) > 0.05
    seen = scan(sheet.astype(np.float32), 0, 0, *SIZE, seed + 1).picture
    return seen, ink > 0.5, (pencil > 0.9) & ~near_ink


def a_point(where: np.ndarray, seed: int) -> tuple[float, float]:
    rows, columns = np.nonzero(where)
    n = np.random.default_rng(seed).integers(len(rows))
    return float(columns[n]) / where.shape[1], float(rows[n]) / where.shape[0]


@pytest.mark.parametrize("pencil", LAID)
def test_the_pencil_that_is_pointed_at_is_taken_out_and_the_ink_stays(pencil: str) -> None:
    seen, ink, alone = sketched(LAID[pencil], 401)
    found = take_out_under_drawing(seen, at=a_point(alone, 1))
    assert found.pencil == "pointed"
    assert found.recipe["pencil_hue"] == pencil.split()[-1]
    right = (found.ink & ink).sum()
    assert right / found.ink.sum() >= 0.97 and right / ink.sum() >= 0.97
    assert found.picture[alone].mean() > 252, "nothing of the pencil is left"
    assert 0.005 < found.recipe["pencil_share"] < 0.45


def test_a_pointer_that_is_a_little_off_still_means_the_stroke() -> None:
    seen, _, alone = sketched(LAID["faint blue"], 403)
    for seed in range(1, 5):
        x, y = a_point(alone, seed)
        found = take_out_under_drawing(seen, at=(x + 3 / SIZE[0], y - 2 / SIZE[1]))
        assert found.recipe["pencil_hue"] == "blue"
        assert found.picture[alone].mean() > 252


def test_of_two_pencils_the_nearer_is_meant() -> None:
    dice = np.random.default_rng(404)
    seen = (paper(*SIZE, dice) * 255).round().astype(np.uint8)
    for row, laid in ((200, LAID["faint blue"]), (209, LAID["pink"])):
        band = np.s_[row : row + 4, 200:700]
        seen[band] = (seen[band] * (1 - np.array(laid))).round().astype(np.uint8)
    blue = take_out_under_drawing(seen, at=(0.5, 201 / SIZE[1]))
    pink = take_out_under_drawing(seen, at=(0.5, 211 / SIZE[1]))
    assert (blue.recipe["pencil_hue"], pink.recipe["pencil_hue"]) == ("blue", "pink")


def test_paper_ink_and_grey_pencil_are_no_stroke_of_a_colour() -> None:
    seen, ink, _ = sketched(LAID["faint blue"], 405)
    seen[200:260, 300:380] = 240
    bare = np.zeros(ink.shape, np.bool_)
    bare[220:240, 320:360] = True
    deep = cv2.erode(ink.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    graphite, _, grey = sketched((0.4, 0.4, 0.39), 406)
    pencil_free = np.full((*SIZE[::-1], 3), 240, np.uint8)
    for picture, at, code in (
        (seen, a_point(deep, 2), "points-at-ink"),
        (graphite, a_point(grey, 3), "points-at-ink"),
        (pencil_free, (0.0, 0.0), "points-at-paper"),
        (pencil_free, (1.0, 1.0), "points-at-paper"),
    ):
        with pytest.raises(NoStroke) as nothing:
            take_out_under_drawing(picture, at=at)
        assert nothing.value.code == code
    with pytest.raises(NoStroke, match="points-at-paper"):
        take_out_under_drawing(seen, at=a_point(bare, 4))


def test_hues_have_the_names_that_people_give_them() -> None:
    assert [hue_of(np.array(PENCILS[name], np.float32)) for name in ("orange", "red", "blue")] == [
        "orange",
        "red",
        "blue",
    ]


@pytest.mark.parametrize(("at", "words"), [((0.0, 0.0), "only paper"), (None, "ink or grey pencil")])
def test_a_file_is_refused_in_a_sentence_where_no_stroke_lies(at, words: str, tmp_path: Path) -> None:
    seen, ink, _ = sketched(LAID["green"], 407)
    seen[:40, :40] = 240
    deep = cv2.erode(ink.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    Image.fromarray(seen).save(tmp_path / "scan.png")
    found = take_ink_from(tmp_path / "scan.png", tmp_path / "ink.png", at=at or a_point(deep, 1))
    assert isinstance(found, Refusal)
    assert words in refusal_sentence(found.code, found.values)


def test_a_file_gives_its_ink_where_a_stroke_is_pointed_at(tmp_path: Path) -> None:
    seen, _, alone = sketched(LAID["violet"], 408)
    Image.fromarray(seen).save(tmp_path / "scan.png")
    made = take_ink_from(tmp_path / "scan.png", tmp_path / "ink.png", at=a_point(alone, 1))
    assert not isinstance(made, Refusal)
    assert made.recipe["pencil"] == "pointed" and len(made.recipe["sources_sha256"]) == 1
