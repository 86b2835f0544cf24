"""What is wrong with where text stands: in the gutter, outside the safe area, off its box, hard to read on the art.

Where its letters stand is judged, not its box: a box that reaches into the gutter with no word there is no fault.
Contrast is measured on pixels (``imaging.proof.text_ground``) and judged here by the formula of WCAG 2.2.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from reviews.press.flats import Flat, GuideKind, PanelKind, guides
from reviews.press.text_blocks import SetBlock, TextBlock

Box = tuple[float, float, float, float]


class TextFault(StrEnum):
    """What can be wrong with a block of text."""

    IN_GUTTER = "text-in-gutter"
    OUTSIDE_SAFETY = "text-outside-safety"
    ON_FOLD = "text-on-fold"  # of a cover: its spine, its hinges, its flaps
    DOES_NOT_FIT = "text-does-not-fit"
    LETTERS_MISSING = "text-letters-missing"
    LOW_CONTRAST = "text-low-contrast"
    ON_BUSY_ART = "text-on-busy-art"


@dataclass(frozen=True)
class FoundTextFault:
    """One fault of one block with its figures, and its places in mm of the trim, or as shares of the picture.

    ``on_picture`` says which: what was measured on pixels is told in shares of them.
    """

    code: TextFault
    block: int
    values: dict[str, Any]
    places: tuple[Box, ...] = ()
    on_picture: bool = False


#: WCAG 2.2, success criterion 1.4.3: text, and large text from 18 pt or bold from 14 pt. Written for screens: in print
#: they are a starting value, which a house edits.
LEAST_CONTRAST, LEAST_CONTRAST_LARGE = 4.5, 3.0
_LARGE_PT, _LARGE_BOLD_PT = 18.0, 14.0
#: Our own starting value, no published figure: from this share of its squares on, art is called busy under text.
BUSY_SHARE = 0.1
#: A hair over a guide is not seen: a tenth of a millimetre, our own.
_UNSEEN_MM = 0.1


def least_contrast(block: TextBlock, own: float | None) -> float:
    """Give the contrast that a block is asked for: the house's own, else that of WCAG by its size."""
    if own is not None:
        return own
    large = _LARGE_BOLD_PT if block.face.is_bold else _LARGE_PT
    return LEAST_CONTRAST_LARGE if block.size_pt >= large else LEAST_CONTRAST


def luminance(colour: str) -> float:
    """Give the relative luminance of "#rrggbb" by WCAG 2.2, 0 for black to 1 for white."""
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(value: float) -> float:
    # 0.04045 as sRGB has it (IEC 61966-2-1); WCAG 2.2 corrected its own 0.03928, and no 8-bit value lies between them.
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def contrast(one: float, other: float) -> float:
    """Give the contrast ratio of two relative luminances by WCAG 2.2, 1 to 21."""
    light, dark = max(one, other), min(one, other)
    return (light + 0.05) / (dark + 0.05)


def placing_faults(flat: Flat, blocks: Sequence[SetBlock]) -> list[FoundTextFault]:
    """List what is wrong with where blocks stand on their piece."""
    return [fault for block in blocks for fault in _placing(flat, block)]


def _placing(flat: Flat, found: SetBlock) -> Iterator[FoundTextFault]:
    number = found.block.number
    bands = [guide for guide in guides(flat) if guide.kind == GuideKind.GUTTER]
    crossed = [
        (box, min(box[2], band.right_mm) - max(box[0], band.left_mm))
        for box in found.printed for band in bands
    ]  # fmt: skip
    if caught := [(box, by) for box, by in crossed if by > _UNSEEN_MM]:
        values = {"gutter_mm": flat.gutter_mm, "by_mm": round(max(by for _, by in caught), 1)}
        yield FoundTextFault(TextFault.IN_GUTTER, number, values, tuple(box for box, _ in caught))
    folded = [box for box in found.printed if _is_folded(flat, box)]
    if folded:
        yield FoundTextFault(TextFault.ON_FOLD, number, {}, tuple(folded))
    out = [(box, by) for box in found.printed if box not in folded and (by := _outside(flat, box)) > _UNSEEN_MM]
    if out:
        values = {"safety_mm": flat.safety_mm, "by_mm": round(max(by for _, by in out), 1)}
        yield FoundTextFault(TextFault.OUTSIDE_SAFETY, number, values, tuple(box for box, _ in out))
    below, beyond = found.below_mm, found.beyond_mm
    if below > _UNSEEN_MM or beyond > _UNSEEN_MM:
        values = {"below_mm": round(below, 1), "beyond_mm": round(beyond, 1)}
        yield FoundTextFault(TextFault.DOES_NOT_FIT, number, values, found.printed[-1:])
    if found.lacks:
        yield FoundTextFault(TextFault.LETTERS_MISSING, number, {"letters": " ".join(found.lacks)})


def _is_folded(flat: Flat, box: Box) -> bool:
    """Say whether letters of a cover stand across a fold; that between two pages is the gutter band's matter."""
    if not _is_cover(flat):
        return False
    return any(box[0] + _UNSEEN_MM < fold < box[2] - _UNSEEN_MM for fold in flat.folds_mm)


def _is_cover(flat: Flat) -> bool:
    return any(panel.kind != PanelKind.PAGE for panel in flat.panels)


def _outside(flat: Flat, box: Box) -> float:
    """Say by how much letters stand outside the safe area: of pages its outer edge, of a cover the nearest panel's."""
    if _is_cover(flat):
        safe = [one for one in guides(flat) if one.kind == GuideKind.SAFETY]
        return min((max(one.left_mm - box[0], one.top_mm - box[1], box[2] - one.right_mm, box[3] - one.bottom_mm)
                    for one in safe), default=0.0)  # fmt: skip
    inset = flat.turn_in_mm + flat.safety_mm
    return max(
        inset - box[0], inset - box[1], box[2] - (flat.width_mm - inset), box[3] - (flat.height_mm - inset)
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class GroundFound:
    """The art under one block: the contrast of its colour with the worst square of it, and where that is.

    ``worst`` is the contrast with the mean of the worst square, ``worst_at`` that square as shares of the picture;
    ``busy`` the share of squares a tenth of which comes nearer to the colour than the contrast asked for; ``off`` says
    that a part of the block lies off the picture and was not measured.
    """

    block: int
    least: float
    worst: float
    worst_at: Box
    busy: float
    n_squares: int
    off: bool = False


def ground_faults(found: Sequence[GroundFound]) -> list[FoundTextFault]:
    """List the blocks that cannot be read well on the art beneath them."""
    return [fault for one in found for fault in _ground(one)]


def _ground(one: GroundFound) -> Iterator[FoundTextFault]:
    if not one.n_squares:
        return
    if one.worst < one.least:
        # Rounded down: 4.49 told as 4.5 would contradict itself.
        values = {"worst": int(one.worst * 10) / 10, "least": one.least}
        yield FoundTextFault(TextFault.LOW_CONTRAST, one.block, values, (one.worst_at,), on_picture=True)
    elif one.busy >= BUSY_SHARE:
        values = {"per_cent": round(100 * one.busy), "least": one.least}
        yield FoundTextFault(TextFault.ON_BUSY_ART, one.block, values, (one.worst_at,), on_picture=True)
