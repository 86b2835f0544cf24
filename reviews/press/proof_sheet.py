"""A printer's proof sheet on the trim: larger than the page, with the page somewhere on it.

Where on it is told by the trim box of a PDF, or by trim marks; never by where a page would be likely to lie. What was
found is believed only where its proportions are those of the piece. The printed marks win over any of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from reviews.press.flats import Flat
from reviews.press.placing import LaidBy, PlacedPicture

#: Raise the number when the same file would give other marks.
SHEET_METHOD = "sheet-2"
# Our own. Paper and scanner stretch by less than half a per cent; a bleed of 3 mm round an opening of 500 x 250 mm
# changes its proportions by 1.2 per cent, round a page of 210 x 280 mm by 0.7.
_MOST_OFF = 0.005
#: A picture whose proportions are further off than this shows something else than the page to its edges.
MOST_OFF_EDGES = 0.02
# Two places that fit, further apart than this share of the picture, are two pages: which is meant nobody says.
_APART = 0.02


class NotLaid(StrEnum):
    """Why a picture of the printer's is not laid on its trim."""

    NOT_LOOKED = "not-looked"
    NOT_READ = "not-read"
    NO_MARKS = "no-marks"
    OTHER_SHAPE = "other-shape"
    SEVERAL = "several"


@dataclass(frozen=True, kw_only=True)
class TrimFound:
    """A trim on a sheet, in fractions of it, as it lies when the sheet is turned straight about the trim's middle.

    ``turn_deg`` is how far it is turned, clockwise; ``n_corners`` how many of its corners had marks.
    """

    left: float
    top: float
    right: float
    bottom: float
    turn_deg: float = 0.0
    n_corners: int = 4


@dataclass(frozen=True, kw_only=True)
class SheetFound:
    """What a file says of its trim: the box of a PDF, and what marks stand around."""

    box: TrimFound | None
    marks: tuple[TrimFound, ...]


def lay_sheet(found: SheetFound, flats: Sequence[Flat], width_px: int, height_px: int) -> PlacedPicture | NotLaid:
    """Lay a sheet on the flat whose proportions its trim has, by its box before its marks; or say why not."""
    for by, trims in ((LaidBy.BOX, (found.box,) if found.box else ()), (LaidBy.MARKS, found.marks)):
        fitting = list(_fitting(trims, flats, width_px / height_px))
        if not fitting:
            continue
        # Marks of the bleed and of the slug stand around those of the trim.
        trim, flat = min(fitting, key=lambda one: (one[0].right - one[0].left) * (one[0].bottom - one[0].top))
        if any(_apart(trim, other) for other, _ in fitting):
            return NotLaid.SEVERAL
        return _laid(trim, flat, by)
    return NotLaid.OTHER_SHAPE if found.box or found.marks else NotLaid.NO_MARKS


def _fitting(trims: Sequence[TrimFound], flats: Sequence[Flat], across_down: float) -> Iterator[tuple[TrimFound, Flat]]:
    for trim in trims:
        drawn = (trim.right - trim.left) / (trim.bottom - trim.top) * across_down
        best = min(flats, key=lambda flat: _off(drawn, flat))
        if _off(drawn, best) <= _MOST_OFF:
            yield trim, best


def _off(drawn: float, flat: Flat) -> float:
    return abs(math.log(drawn / (flat.width_mm / flat.height_mm)))


def _apart(one: TrimFound, other: TrimFound) -> bool:
    across = (one.left + one.right - other.left - other.right) / 2
    down = (one.top + one.bottom - other.top - other.bottom) / 2
    return max(abs(across), abs(down)) > _APART


def _laid(trim: TrimFound, flat: Flat, by: LaidBy) -> PlacedPicture:
    wide, high = flat.width_mm / (trim.right - trim.left), flat.height_mm / (trim.bottom - trim.top)
    return PlacedPicture(
        flat=flat,
        left_mm=-trim.left * wide,
        top_mm=-trim.top * high,
        width_mm=wide,
        height_mm=high,
        laid_by=by,
        turn_deg=trim.turn_deg,
        n_corners=trim.n_corners,
    )


def is_page_to_its_edges(placed: PlacedPicture, width_px: int, height_px: int) -> bool:
    """Say whether a picture has the proportions of what it is taken for."""
    return abs(math.log(width_px / height_px / (placed.width_mm / placed.height_mm))) <= MOST_OFF_EDGES


def turned_clockwise(trim: TrimFound, degrees: int) -> TrimFound:
    """Turn a trim with its page by a multiple of 90 degrees, as a PDF asks."""
    for _ in range(degrees // 90 % 4):
        trim = replace(trim, left=1 - trim.bottom, top=trim.left, right=1 - trim.top, bottom=trim.right)
    return trim
