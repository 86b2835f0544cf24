"""A photographed proof: what it may show, where it must refuse, and what is never said of it."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from reviews.imaging.proof.seen import SeenMap, see
from reviews.pages.wording.seen_proofs import INDICATIVE, not_seen_words, seen_lines
from reviews.press.seen_proof import ColourCast, NotSeen, SeenFound

WIDTH_MM = 500.0
SIZE = (600, 1200)
CLAIMS = ("no difference", "identical", "nothing differs", "matches the art", "is right", "approved", "passes")


def art(seed: int) -> np.ndarray:
    """Paint a spread: soft ground, figures, strokes."""
    dice = np.random.default_rng(seed)
    ground = dice.integers(70, 210, (5, 9, 3), dtype=np.uint8)
    picture = cv2.resize(ground, SIZE[::-1], interpolation=cv2.INTER_CUBIC)
    for _ in range(40):
        x, y, r = (int(dice.integers(low, high)) for low, high in ((40, SIZE[1] - 40), (40, SIZE[0] - 40), (12, 70)))
        figure, line = (tuple(int(v) for v in dice.integers(0, most, 3)) for most in (240, 90))
        cv2.ellipse(picture, (x, y), (r, r // 2), dice.uniform(0, 180), 0, 360, figure, -1, cv2.LINE_AA)
        end = x + int(dice.integers(-160, 160)), y + int(dice.integers(-160, 160))
        cv2.line(picture, (x, y), end, line, int(dice.integers(2, 6)), cv2.LINE_AA)
    return picture


def photographed(picture: np.ndarray, *, gain=(0.96, 0.92, 0.78), add=(6, 8, 2)) -> np.ndarray:
    """Photograph it: on a grey desk, askew, smaller, under a warm lamp, with noise."""
    dice = np.random.default_rng(77)
    high, wide = picture.shape[:2]
    by = cv2.getRotationMatrix2D((wide / 2, high / 2), 1.4, 0.93)
    by[:, 2] += (150, 130)
    desk = (120, 118, 115)
    seen = cv2.warpAffine(picture, by, (wide + 300, high + 260), flags=cv2.INTER_AREA, borderValue=desk)
    lit = seen * np.array(gain) + np.array(add) + dice.normal(0, 4, seen.shape)
    return np.clip(lit, 0, 255).astype(np.uint8)


def at_an_angle(picture: np.ndarray, *, bend: float, falls_off: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Photograph it from aside under a lamp that stands to the left; gives the photograph and its map of the art.

    ``bend`` is by what share of the width two corners lie further in; ``falls_off`` what light is lost to the right.
    """
    dice = np.random.default_rng(5)
    high, wide = picture.shape[:2]
    off, flat = bend * wide, np.float32([[0, 0], [wide, 0], [wide, high], [0, high]])
    corners = [[150 + off, 120 + 0.3 * off], [150 + wide - 0.6 * off, 120], [150 + wide, 120 + high]]
    seen_at = np.float32([*corners, [150, 120 + high - 0.2 * off]])
    by, size = cv2.getPerspectiveTransform(flat, seen_at), (wide + 300, high + 240)
    seen = cv2.warpPerspective(picture, by, size, flags=cv2.INTER_AREA, borderValue=(70, 66, 60))
    x, y = np.linspace(0, 1, size[0]), np.linspace(0, 1, size[1])[:, None]
    lamp = 1 - falls_off * (0.7 * x + 0.3 * y) - 0.3 * falls_off * (x - 0.5) ** 2
    lit = seen * np.array((0.97, 0.94, 0.84)) * lamp[..., None] + (5, 6, 3) + dice.normal(0, 3, seen.shape)
    return np.clip(lit, 0, 255).astype(np.uint8), by


def on_photograph(x: float, y: float) -> tuple[float, float]:
    """Give where a place of the art (fractions) is on its photograph."""
    by = cv2.getRotationMatrix2D((SIZE[1] / 2, SIZE[0] / 2), 1.4, 0.93)
    by[:, 2] += (150, 130)
    across, down = by @ np.array([x * SIZE[1], y * SIZE[0], 1])
    return across / (SIZE[1] + 300), down / (SIZE[0] + 260)


def said_of(found: SeenFound) -> str:
    return " ".join(seen_lines(found))


@pytest.mark.parametrize("seed", range(2))
def test_a_lamp_is_taken_out_as_a_cast_and_nothing_is_claimed_of_the_rest(seed):
    seen = see(art(seed), photographed(art(seed)), WIDTH_MM)
    assert isinstance(seen, SeenMap)
    found = seen.found
    assert found.cast.yellower > 8 and found.cast.lighter < 0 and found.left_de < 1.5
    assert found.places == () and not seen.sheet[..., 3].any()
    said = said_of(found)
    assert "yellower by" in said and "That does not say that the proof matches: look for yourself." in said
    assert "may be the light or the camera, or the press" in said
    for claim in CLAIMS:
        assert claim not in said.lower()
    assert "not a measurement" in str(INDICATIVE)


@pytest.mark.parametrize("seed", range(2))
def test_what_was_printed_otherwise_in_one_place_is_hatched_there(seed):
    printed = art(seed)
    cv2.circle(printed, (800, 300), 45, (230, 40, 40), -1)
    seen = see(art(seed), photographed(printed), WIDTH_MM)
    assert isinstance(seen, SeenMap)
    [(left, top, right, bottom)] = seen.found.places
    x, y = on_photograph(800 / SIZE[1], 300 / SIZE[0])
    assert left < x < right and top < y < bottom and (right - left) < 0.12
    hatched = np.argwhere(seen.sheet[..., 3] > 0)
    middle = hatched.mean(axis=0) / np.array(seen.sheet.shape[:2])
    assert middle == pytest.approx((y, x), abs=0.02)
    assert "1 place still differs by more than 6 (ΔE00)" in said_of(seen.found)


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "bend"), [(1, 0.06), (2, 0.1)])
def test_a_proof_photographed_at_an_angle_is_put_straight_and_only_what_differs_is_hatched(seed, bend):
    printed = art(seed)
    cv2.circle(printed, (800, 300), 45, (230, 40, 40), -1)
    photograph, by = at_an_angle(printed, bend=bend, falls_off=0.25)
    seen = see(art(seed), photograph, WIDTH_MM)
    assert isinstance(seen, SeenMap)
    [(left, top, right, bottom)] = seen.found.places
    x, y = cv2.perspectiveTransform(np.float32([[[800, 300]]]), by)[0, 0] / photograph.shape[1::-1]
    assert (left + right) / 2 == pytest.approx(x, abs=0.005) and (top + bottom) / 2 == pytest.approx(y, abs=0.01)
    middle = np.argwhere(seen.sheet[..., 3] > 0).mean(axis=0) / np.array(seen.sheet.shape[:2])
    assert middle == pytest.approx((y, x), abs=0.02)
    said = said_of(seen.found)
    assert "Photographed at an angle" in said and "put straight to be compared" in said
    assert "A press that inks one side less looks the same" in said


def test_light_that_falls_off_is_taken_out_told_and_hatches_nothing():
    photograph, _ = at_an_angle(art(2), bend=0.0, falls_off=0.3)
    seen = see(art(2), photograph, WIDTH_MM)
    assert isinstance(seen, SeenMap)
    assert seen.found.places == () and seen.found.straightened == 0
    assert seen.found.uneven == pytest.approx(0.3, abs=0.08)
    said = said_of(seen.found)
    assert "uneven light: one side is lit by" in said and "at an angle" not in said
    for claim in CLAIMS:
        assert claim not in said.lower()


@pytest.mark.slow
@pytest.mark.parametrize(("bend", "curl"), [(0.0, 3.0), (0.05, 4.0)])
def test_a_sheet_that_curls_is_refused_rather_than_hatched_along_its_lines(bend, curl):
    photograph, _ = at_an_angle(art(1), bend=bend)
    rows, columns = np.indices(photograph.shape[:2], np.float32)
    x, y = columns + curl * np.sin(rows / 90), rows + curl * np.sin(columns / 120)
    assert isinstance(see(art(1), cv2.remap(photograph, x, y, cv2.INTER_LINEAR), WIDTH_MM), NotSeen)


@pytest.mark.slow
def test_a_strangers_picture_at_an_angle_is_refused():
    assert isinstance(see(art(1), at_an_angle(art(51), bend=0.08, falls_off=0.2)[0], WIDTH_MM), NotSeen)


@pytest.mark.slow
def test_a_strangers_picture_is_refused():
    assert see(art(1), photographed(art(51)), WIDTH_MM) in {NotSeen.NOT_LAID, NotSeen.NOT_SURE}


def test_an_empty_page_is_refused_and_every_refusal_says_that_nothing_was_compared():
    flat = np.full((*SIZE, 3), 200, np.uint8)
    assert see(flat, photographed(flat), WIDTH_MM) == NotSeen.NOT_LAID
    assert see(art(1), flat, WIDTH_MM) == NotSeen.NOT_LAID
    for why in NotSeen:
        assert "othing was compared" in not_seen_words(why.value)


@pytest.mark.slow
def test_half_of_the_sheet_is_too_little_to_tell_a_cast_from():
    assert isinstance(see(art(1), photographed(art(1))[:, :760], WIDTH_MM), NotSeen)


def test_a_negative_of_the_art_is_no_photograph_of_it():
    """It lies on the art line by line, and a map of colours could turn it round: no light does that."""
    negative = 255 - photographed(art(2), gain=(1, 1, 1), add=(0, 0, 0))
    assert isinstance(see(art(2), negative, WIDTH_MM), NotSeen)


def test_what_was_not_shown_is_said_to_be_unknown_and_no_cast_is_no_praise():
    found = SeenFound(cast=ColourCast(0.2, -0.4, 1.0), left_de=0.4, worst_de=3.0, area=0.0, seen_share=0.81, places=())
    said = said_of(found)
    assert "No overall cast of 1.5 or more" in said and "shows 81 % of the art; of the rest nothing is known" in said
    assert "nothing is known" not in said_of(replace(found, seen_share=1.0))
    for claim in CLAIMS:
        assert claim not in said.lower()
