"""The art under text, on pictures whose truth is known: light, dark, hatched, and with one dark square in it."""

from __future__ import annotations

import numpy as np
import pytest

from reviews.imaging.proof.text_ground import GroundAsked, measure
from reviews.press.text_check import BUSY_SHARE, TextFault, contrast, ground_faults, luminance

WIDE, HIGH = 1000, 500
#: Text of 40 px: squares of 10. Its one line is 30 squares long and 4 high.
LINE = (0.1, 0.2, 0.4, 0.28)


def paper(level: int = 255) -> np.ndarray:
    return np.full((HIGH, WIDE, 3), level, np.uint8)


def asked(**changes) -> GroundAsked:
    fields = {"block": 1, "colour": "#000000", "least": 4.5, "size": 0.04, "boxes": (LINE,)}
    return GroundAsked(**(fields | changes))


def faults(picture, **changes) -> list[TextFault]:
    return [fault.code for fault in ground_faults([measure(picture, asked(**changes))])]


@pytest.mark.parametrize("level", [255, 200, 128, 119, 60, 0])
@pytest.mark.parametrize("colour", ["#000000", "#ffffff", "#b00020"])
def test_flat_art_has_the_contrast_of_the_formula(level, colour):
    found = measure(paper(level), asked(colour=colour))
    flat = luminance(f"#{level:02x}{level:02x}{level:02x}")
    assert found.worst == pytest.approx(contrast(flat, luminance(colour)), abs=2e-3)
    assert found.n_squares == 30 * 4
    assert found.busy == (1.0 if found.worst < 4.5 else 0.0)


def test_one_dark_square_is_found_where_it_is():
    picture = paper()
    picture[120:130, 250:260] = 40
    found = measure(picture, asked())
    assert found.worst_at == pytest.approx((0.25, 0.24, 0.26, 0.26))
    assert found.worst == pytest.approx(contrast(luminance("#282828"), 0.0), abs=2e-3)
    assert faults(picture) == [TextFault.LOW_CONTRAST]


def test_dark_art_beside_the_letters_is_nobody_s_matter():
    picture = paper()
    picture[:95] = picture[145:] = 0
    picture[:, :95] = picture[:, 405:] = 0
    assert faults(picture) == []


def test_fine_hatching_is_busy_though_its_mean_is_light():
    picture = paper()
    picture[:, ::4] = 0  # a quarter of it: the mean of each square is light enough
    assert measure(picture, asked()).worst > 4.5
    assert faults(picture) == [TextFault.ON_BUSY_ART]


def test_a_pencil_hair_across_the_line_is_none():
    picture = paper()
    picture[:, 255] = 60  # one column in one square of ten
    found = measure(picture, asked())
    assert found.busy < BUSY_SHARE and faults(picture) == []


def test_text_off_the_picture_is_measured_as_far_as_it_lies_on_it_and_said_to_be_off():
    found = measure(paper(), asked(boxes=((-0.1, 0.2, 0.2, 0.28),)))
    assert found.off and found.n_squares == 20 * 4
    beyond = measure(paper(0), asked(boxes=((1.1, 0.2, 1.4, 0.28),)))
    assert beyond.off and beyond.n_squares == 0
    assert ground_faults([beyond]) == []


# --- Sets: forty grounds on which text is read, and forty on which it is not ----------------------------------------


def clean(seed: int) -> tuple[np.ndarray, str]:
    """Quiet art: paper or night with a wash, grain as of a scan, and shapes outside the line."""
    rng = np.random.default_rng(seed)
    dark = bool(seed % 2)
    base = rng.integers(10, 50, 3) if dark else rng.integers(205, 250, 3)
    slope = np.linspace(0, float(rng.uniform(0, 10)), WIDE)[None, :, None]
    picture = np.clip(base + slope + rng.normal(0, 3, (HIGH, WIDE, 1)), 0, 255).astype(np.uint8)
    for _ in range(12):
        x, y = int(rng.integers(0, WIDE - 60)), int(rng.integers(160, HIGH - 60))
        picture[y : y + 50, x : x + 50] = rng.integers(0, 255, 3)
    return picture, "#ffffff" if dark else "#1a1a1a"


def faulty(seed: int) -> tuple[np.ndarray, str]:
    """The same, with what spoils it: a branch, foliage, a wash of the text's own lightness, or hatching."""
    picture, colour = clean(seed)
    rng = np.random.default_rng(1000 + seed)
    near = 235 if colour == "#ffffff" else 45
    kind, x = seed % 4, int(rng.integers(110, 340))
    if kind == 0:
        picture[:, x : x + 22] = near
    elif kind == 1:
        for _ in range(160):
            a, b = int(rng.integers(100, 390)), int(rng.integers(98, 138))
            picture[b : b + 9, a : a + 9] = near
    elif kind == 2:
        picture[90:150, 100:400] = 150 if colour == "#ffffff" else 90
    else:
        picture[:, ::3] = near
    return picture, colour


@pytest.mark.parametrize("seed", range(40))
def test_no_false_alarm_on_quiet_art(seed):
    picture, colour = clean(seed)
    assert faults(picture, colour=colour) == []


@pytest.mark.parametrize("seed", range(40))
def test_art_that_spoils_the_text_is_found(seed):
    picture, colour = faulty(seed)
    assert len(faults(picture, colour=colour)) == 1
