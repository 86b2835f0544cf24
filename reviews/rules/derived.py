"""Pictures made from sheets: what can be asked for, where it stands, and its recipe in words.

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


def asked_words(making: Making, names: Sequence[str]) -> str:
    """Say what is asked for, to go after "asked to": join a.png and b.png."""
    listed = listed_words(names)
    return f"join {listed}" if making == Making.JOIN else f"leave only the ink of {listed}"


def listed_words(names: Sequence[str]) -> str:
    """List names as a sentence does: a, b and c."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def recipe_words(making: Making, names: Sequence[str], recipe: Mapping[str, Any]) -> list[str]:
    """Tell a recipe in sentences: which sheets, turned and sized how, sharing how much."""
    if making == Making.INK:
        share = recipe["pencil_share"]
        covered = "less than 1 %" if share < 0.01 else f"{share:.0%}".replace("%", " %")
        return [f"The {recipe['pencil']} under-drawing of {names[0]} is taken out; it covered {covered} of the scan."]
    told = [f"{names[0]} lies as it was scanned."]
    for name, sheet in zip(names[1:], recipe["sheets"][1:], strict=True):
        share = f"{sheet['overlap']:.0%}".replace("%", " %")
        told.append(f"{name} is {_turned(sheet['turn_degrees'])} and {_sized(sheet['scale'])}; {share} of it overlaps.")
    return [*told, f"Where the sheets overlap they meet within {max(0.1, recipe['residual_px']):.1f} pixels."]


def _turned(degrees: float) -> str:
    if abs(degrees) < 0.05:
        return "not turned"
    return f"turned {abs(degrees):.1f}° {'clockwise' if degrees > 0 else 'anticlockwise'}"


def _sized(scale: float) -> str:
    if abs(scale - 1) < 0.0005:
        return "kept at its size"
    return f"{'enlarged' if scale > 1 else 'reduced'} to {100 * scale:.1f} %"
