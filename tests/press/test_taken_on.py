"""What is taken on is taken on with its figures: worse ones are another fault, no worse ones the same."""

from __future__ import annotations

import pytest

from reviews.press.file_check import FileFault
from reviews.press.taken_on import is_worse

SIZE = {"width_mm": 506.0, "height_mm": 256.0}
INK = {"highest": 340, "limit": 330.0, "per_cent": 1.5}


@pytest.mark.parametrize(
    ("code", "then", "worse", "no_worse"),
    [
        (FileFault.TOO_FEW_PIXELS, {"ppi": 140, "least": 150.0}, {"ppi": 139}, {"ppi": 145}),
        (FileFault.TOO_FEW_PIXELS, {"ppi": 140, "least": 150.0}, {"least": 200.0}, {"source": "own"}),
        (FileFault.WRONG_PROPORTIONS, {"per_cent": 4.0, **SIZE}, {"per_cent": 4.1}, {"per_cent": 3.0}),
        (FileFault.WRONG_PROPORTIONS, {"per_cent": 4.0, **SIZE}, {"width_mm": 500.0}, {"bleed_mm": 3.0}),
        (FileFault.NO_BLEED, {"bleed_mm": 3.0, **SIZE}, {"bleed_mm": 5.0}, {"bleed_mm": 3.0}),
        (FileFault.TOO_MUCH_INK, INK, {"highest": 341}, {"highest": 335}),
        (FileFault.TOO_MUCH_INK, INK, {"per_cent": 2.0}, {"per_cent": 1.0}),
        (FileFault.TOO_MUCH_INK, INK, {"limit": 300.0}, {"limit": 335.0}),
        (FileFault.FRONT_ALONE, SIZE, {"width_mm": 512.0}, {}),
        (FileFault.SPINE_MOVED, {"drawn_mm": 8.0, "spine_mm": 10.0}, {"spine_mm": 5.0}, {"spine_mm": 7.0}),
    ],
)
def test_worse_figures_are_told_from_figures_that_are_not(code, then, worse, no_worse):
    assert is_worse(code, then | worse, then)
    assert not is_worse(code, then | no_worse, then)
    assert not is_worse(code, then, then)


def test_what_cannot_be_compared_counts_as_worse():
    assert is_worse(FileFault.TOO_FEW_PIXELS, {"ppi": 140, "least": 150.0}, {})
    assert is_worse(FileFault.RGB, {"a": 1}, {"a": 2})
    assert not is_worse(FileFault.RGB, {}, {})
