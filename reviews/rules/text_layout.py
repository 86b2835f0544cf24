"""Placed text when the pages under it are laid out anew: which block lies on which page, and where there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

Blocks = Sequence[Mapping[str, Any]]
_ROUNDED_MM = 0.005  # places are kept to the hundredth


@dataclass(frozen=True)
class TextTaken:
    """The blocks of one new piece; ``shifted`` are the numbers of those that crossed the fold and had to be moved."""

    blocks: list[dict[str, Any]]
    shifted: list[int]


def split_text(blocks: Blocks, page_mm: float) -> tuple[TextTaken, TextTaken]:
    """Divide an opening's blocks between its two pages, each ``page_mm`` wide: a block lies where its middle does.

    One that reaches over the fold is moved onto its page, and made narrower where it is wider than that.
    """
    pages: tuple[TextTaken, TextTaken] = (TextTaken([], []), TextTaken([], []))
    for block in blocks:
        left, top, wide, high = block["box"]
        at = 0 if left + wide / 2 < page_mm else 1
        from_left = left - at * page_mm
        wide_now = min(wide, page_mm)
        left_now = min(max(0.0, from_left), page_mm - wide_now)
        pages[at].blocks.append({**block, "box": [round(mm, 2) for mm in (left_now, top, wide_now, high)]})
        if abs(left_now - from_left) > _ROUNDED_MM or wide_now < wide:
            pages[at].shifted.append(block["number"])
    return pages


def join_text(left: Blocks, right: Blocks, page_mm: float) -> TextTaken:
    """Put the blocks of two facing pages on one opening, those of the right page numbered after those of the left."""
    last = max((block["number"] for block in left), default=0)
    moved = [
        {**block, "number": last + n, "box": [round(block["box"][0] + page_mm, 2), *block["box"][1:]]}
        for n, block in enumerate(right, 1)
    ]
    return TextTaken([dict(block) for block in left] + moved, [])
