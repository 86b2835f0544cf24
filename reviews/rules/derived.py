"""Pictures made from sheets: what can be asked for, where it stands, and what it is called.

"A drawing scanned on two or more sheets is joined … the sheets stay the originals; the joined picture names its
recipe", and "a coloured sketch under black ink is dropped out, leaving the ink, as a derived picture".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from reviews.rules.states import PictureState, Refused

# Two to six sheets cover an A2 drawing from an A4 scanner; each pair of sheets is looked at for a common strip.
MIN_SHEETS, MAX_SHEETS = 2, 6
# An A3 sheet at 600 ppi; more would not fit the memory that one picture may use.
MAX_SIDE_PX = 10_000


class Making(StrEnum):
    """What is made of the sheets."""

    JOIN = "join"
    INK = "ink"


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
    for sheet in sheets:
        if sheet.state == PictureState.RECEIVED:
            raise Refused("sheet-unread", name=sheet.name)
        if sheet.state == PictureState.REFUSED:
            raise Refused("sheet-refused", name=sheet.name)
        if max(sheet.width_px, sheet.height_px) > MAX_SIDE_PX:
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


def made_name(making: Making, names: Sequence[str]) -> str:
    """Name the new file after its first sheet, as people name files: “tarn left, joined.png”."""
    stem = names[0].rsplit(".", 1)[0][:200]
    return f"{stem}, {'joined' if making == Making.JOIN else 'ink only'}.png"
