"""What a brief is made of: its parts, its numbered lines, and what a change to it amounts to.

A note that says "the brief was not met" names one line, so lines are counted here and nowhere else: the same words give
the same numbers for ever.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from reviews.rules.states import Cause


class BriefPart(StrEnum):
    """One part of a brief, in the order in which it is read."""

    ART = "art"
    PALETTE = "palette"
    AGE = "age"
    HOUSE = "house"
    LETTERING = "lettering"
    TEXT = "text"
    NEVER = "never"
    LINKS = "links"


SPREAD_PARTS = (BriefPart.ART, BriefPart.TEXT, BriefPart.NEVER, BriefPart.LINKS)
BOOK_PARTS = (
    BriefPart.ART, BriefPart.PALETTE, BriefPart.AGE, BriefPart.HOUSE, BriefPart.LETTERING, BriefPart.NEVER,
    BriefPart.LINKS,
)  # fmt: skip
#: What a picture can miss. A link is something to look at and asks for nothing by itself.
_ASKS = frozenset(BriefPart) - {BriefPart.LINKS}

#: Letters in one part, and lines in a whole brief. Common practice is a page; this is room for ten.
MOST_LETTERS = 8000
MOST_LINES = 400


@dataclass(frozen=True)
class BriefLine:
    """One line as it is numbered through the whole brief; ``may_be_missed``: a note may say that it was not met."""

    number: int
    part: BriefPart
    words: str

    @property
    def may_be_missed(self) -> bool:
        return self.part in _ASKS


@dataclass(frozen=True)
class WrittenBrief:
    """One version: its row, whether it is the book's, when it was written."""

    brief: int
    is_of_book: bool
    at: datetime


def parts_for(*, is_of_book: bool) -> tuple[BriefPart, ...]:
    """Name the parts of a book's brief or of a spread's, in reading order."""
    return BOOK_PARTS if is_of_book else SPREAD_PARTS


def lines_of(parts: Mapping[str, str]) -> tuple[BriefLine, ...]:
    """Number the lines of a brief from 1, part by part; an empty line is none."""
    found: list[BriefLine] = []
    for part in BriefPart:
        for words in parts.get(part, "").splitlines():
            if words.strip():
                found.append(BriefLine(len(found) + 1, part, words.strip()))
    return tuple(found)


def line_at(parts: Mapping[str, str], number: int) -> BriefLine | None:
    """Find a line by its number."""
    return next((line for line in lines_of(parts) if line.number == number), None)


def changes_of(before: Mapping[str, str], after: Mapping[str, str]) -> frozenset[Cause]:
    """Say what a new version changes: the text, the direction, both or neither.

    What a printed book says is the text; everything else that is asked for is direction.
    """
    changed = {part for part in BriefPart if _said(before, part) != _said(after, part)}
    return frozenset(
        ({Cause.TEXT} if BriefPart.TEXT in changed else set())
        | ({Cause.DIRECTION} if changed - {BriefPart.TEXT} else set())
    )


def in_force(versions: Iterable[WrittenBrief], at: datetime) -> tuple[int, ...]:
    """Name the versions that stood at a moment: the newest of the spread's and of the book's, as far as there is one.

    A hand-in is held against what was asked when it was handed in; what was written since is a new wish.
    """
    newest: dict[bool, WrittenBrief] = {}
    for version in sorted(versions, key=lambda one: (one.at, one.brief)):
        if version.at <= at:
            newest[version.is_of_book] = version
    return tuple(newest[of_book].brief for of_book in (False, True) if of_book in newest)


def missed_line(words: str) -> tuple[int, int] | None:
    """Read which line a form names, "12:3" for line 3 of brief 12; None where it names none."""
    brief, _, line = words.partition(":")
    numbers: Sequence[str] = (brief, line)
    if not all(number.isascii() and number.isdigit() and len(number) < 19 for number in numbers):
        return None
    return int(brief), int(line)


def _said(parts: Mapping[str, str], part: BriefPart) -> list[str]:
    return [line.strip() for line in parts.get(part, "").splitlines() if line.strip()]
