"""Notes on the whole book: what is said to one for a spread, and on which spreads it still asks for an answer.

The illustrator answers such a note once, which holds for every spread it is about, or for some of its spreads only, as
each is done. Of both the newer word holds for a spread.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class SaidOfNote:
    """What was answered to a note and when; ``is_there``: for one spread, and not for the whole book."""

    response: str
    words: str
    at: datetime
    is_there: bool = False


def newest_of(everywhere: SaidOfNote | None, there: SaidOfNote | None) -> SaidOfNote | None:
    """Say what holds for a spread: its own answer, unless the whole note was answered since."""
    if everywhere is None or there is None:
        return there or everywhere
    return there if there.at >= everywhere.at else everywhere


@dataclass(frozen=True, kw_only=True)
class AskingNote:
    """A note on the book that was not answered as a whole.

    ``home`` is the passage with whose answer it went, ``concerns`` its spreads (none named: every one), ``answered``
    those with an answer of their own; ``is_printers``: it is on what the printer made.
    """

    note: int
    book: int
    home: int
    concerns: frozenset[int]
    is_printers: bool
    answered: frozenset[int]

    def asks(self, *, book: int, passage: int, spread: int, is_printers: bool, is_drawing: bool) -> bool:
        """Say whether it waits for an answer on a passage: where the spread is being drawn, and where it went out."""
        if book != self.book or spread in self.answered or is_printers != self.is_printers:
            return False
        return passage == self.home or (is_drawing and (not self.concerns or spread in self.concerns))


@dataclass(frozen=True)
class SpreadStanding:
    """One spread that a note on the book is about, and what holds there."""

    spread: int
    label: str
    said: SaidOfNote | None
