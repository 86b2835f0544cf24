"""Pictures made from sheets: what can be asked for, where it stands, and what it is called.

"A drawing scanned on two or more sheets is joined … the sheets stay the originals; the joined picture names its
recipe", and "a coloured sketch under black ink is dropped out, leaving the ink, as a derived picture".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from reviews.rules.states import PictureState, Refused

# Two to six sheets cover an A2 drawing from an A4 scanner; each pair of sheets is looked at for a common strip.
MIN_SHEETS, MAX_SHEETS = 2, 6
# An A3 sheet at 600 ppi; more would not fit the memory that one picture may use.
MAX_SIDE_PX = 10_000
#: Per cent that may be cut from one side: what is left of two must still be a picture.
MOST_CUT = 45
#: Files of several pages whose pages can be taken as pictures of their own.
PAGED_KINDS = frozenset({"PDF", "TIFF"})


class Making(StrEnum):
    """What is made of the sheets."""

    JOIN = "join"
    INK = "ink"
    PAGE = "page"
    TURN = "turn"


class Pencil(StrEnum):
    """The colour of an under-drawing, where the illustrator names it."""

    ORANGE = "orange"
    RED = "red"
    BLUE = "blue"


class DerivedState(StrEnum):
    """Asked for, made and looked at, kept in the hand-in, dropped, or could not be made."""

    ASKED = "asked"
    MADE = "made"
    KEPT = "kept"
    DROPPED = "dropped"
    FAILED = "failed"


class Choice(StrEnum):
    """What the illustrator says to a picture that was made: keep it, drop it, or look at it again."""

    KEEP = "keep"
    DROP = "drop"
    AGAIN = "again"


@dataclass(frozen=True)
class SheetState:
    """A picture of the draft, as the rules see it."""

    name: str
    state: PictureState
    width_px: int
    height_px: int


def check_asked(making: Making, sheets: Sequence[SheetState]) -> None:
    """Refuse sheets of which nothing can be made, before any work is done on them."""
    if making == Making.JOIN and len(sheets) < MIN_SHEETS:
        raise Refused("one-sheet")
    if making == Making.JOIN and len(sheets) > MAX_SHEETS:
        raise Refused("too-many-sheets", most=MAX_SHEETS)
    if making == Making.INK and len(sheets) != 1:
        raise Refused("ink-of-one")
    if making in (Making.PAGE, Making.TURN) and len(sheets) != 1:
        raise Refused("turn-of-one")
    for sheet in sheets:
        if sheet.state == PictureState.RECEIVED:
            raise Refused("sheet-unread", name=sheet.name)
        if sheet.state == PictureState.REFUSED:
            raise Refused("sheet-refused", name=sheet.name)
        if making != Making.PAGE and max(sheet.width_px, sheet.height_px) > MAX_SIDE_PX:
            raise Refused(
                "sheet-too-large", name=sheet.name, size=f"{sheet.width_px} × {sheet.height_px}", most=MAX_SIDE_PX
            )


def state_after(state: DerivedState, choice: Choice) -> DerivedState:
    """Say where a derivation stands after a choice; the same choice twice changes nothing.

    "The illustrator sees the result beside the source and keeps or drops it (undo)."
    """
    if choice != Choice.DROP and state == DerivedState.ASKED:
        raise Refused("still-being-made")
    if choice != Choice.DROP and state == DerivedState.FAILED:
        raise Refused("was-not-made")
    return {Choice.KEEP: DerivedState.KEPT, Choice.DROP: DerivedState.DROPPED, Choice.AGAIN: DerivedState.MADE}[choice]


def turn_options(quarters: int, cut: Sequence[int], mode: str) -> dict[str, Any]:
    """Check how a picture is turned (quarters clockwise) and cut (per cent of left, top, right, bottom).

    ``mode`` is the picture's own: what a PNG cannot hold is written as TIFF.
    """
    quarters %= 4
    if len(cut) != 4 or not all(0 <= part <= MOST_CUT for part in cut):
        raise Refused("bad-cut", most=MOST_CUT)
    if not quarters and not any(cut):
        raise Refused("nothing-to-turn")
    ending = "tif" if mode.startswith(("CMYK", "LAB")) else "png"
    return {"quarters": quarters, "cut": list(cut), "ending": ending}


def stroke_options(across: float, down: float) -> dict[str, Any]:
    """Check where a stroke is pointed at, in per cent of the scan from its left and from its top."""
    # What is no number at all is in no range either.
    if not (0 <= across <= 100 and 0 <= down <= 100):
        raise Refused("bad-point")
    return {"at": [round(across / 100, 5), round(down / 100, 5)]}


def pages_named(words: str, n_pages: int) -> list[int]:
    """Read which pages of a file are meant, "1-3, 5"; nothing named means all of them."""
    if not words.strip():
        return list(range(1, n_pages + 1))
    pages: set[int] = set()
    for part in words.replace("–", "-").replace(";", ",").split(","):
        first, _, last = (end.strip() for end in part.partition("-"))
        last = last or first
        # No file has pages of five digits here, and a number of thousands of digits is nobody's page.
        if not (first.isdecimal() and last.isdecimal() and len(first) < 5 and len(last) < 5):
            raise Refused("bad-pages", n=n_pages)
        if not 1 <= int(first) <= int(last) <= n_pages:
            raise Refused("bad-pages", n=n_pages)
        pages.update(range(int(first), int(last) + 1))
    return sorted(pages)


def page_options(page: int, kind: str) -> dict[str, Any]:
    """Say which page is taken, and what kind of file it becomes."""
    return {"page": page, "ending": "pdf" if kind == "PDF" else "tif"}


def made_name(making: Making, names: Sequence[str], options: Mapping[str, Any] | None = None) -> str:
    """Name the new file after its first sheet, as people name files: “tarn left, joined.png”."""
    given = options or {}
    stem = names[0].rsplit(".", 1)[0][:200]
    of_page = " ".join(("page", str(given.get("page"))))
    what = {Making.JOIN: "joined", Making.INK: "ink only", Making.TURN: "turned", Making.PAGE: of_page}[making]
    if making == Making.TURN and not given.get("quarters"):
        what = "cropped"
    return f"{stem}, {what}.{given.get('ending', 'png')}"
