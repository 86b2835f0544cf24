"""Blocks of text against the brief's words and against the version before: what differs, as codes and numbers.

A block holds its words; that they are the brief's is found by comparing, each time anew, so it is never said of words
that have come apart since.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from reviews.rules.states import Cause

#: How many blocks a spread takes, and how many letters one block. Common practice: one to six; a text is a paragraph.
MOST_BLOCKS = 30
MOST_LETTERS = 4000
#: A block that moved by no more than this from where it stood for the approved art is nudged: told as a move, and no
#: change of text, which costs a round. Our own figure, and one for both sides: neither could change it alone.
MOVED_MM = 5.0
_ROUNDED_MM = 0.005  # places are kept to the hundredth


class BlockChange(StrEnum):
    """What became of a block from one version to the next."""

    ADDED = "added"
    REMOVED = "removed"
    WORDS = "words"
    PLACE = "place"
    TYPE = "type"


_TYPE = ("language", "face", "size_pt", "leading_pt", "align", "colour")


def changes_between(
    before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]
) -> dict[BlockChange, list[int]]:
    """Name the numbers of the blocks that each kind of change befell; a kind that befell none is left out."""
    were, are = ({one["number"]: one for one in blocks} for blocks in (before, after))
    both = sorted(were.keys() & are.keys())
    found = {
        BlockChange.ADDED: sorted(are.keys() - were.keys()),
        BlockChange.REMOVED: sorted(were.keys() - are.keys()),
        BlockChange.WORDS: [n for n in both if were[n]["words"] != are[n]["words"]],
        BlockChange.PLACE: [n for n in both if were[n]["box"] != are[n]["box"]],
        BlockChange.TYPE: [n for n in both if any(were[n][name] != are[n][name] for name in _TYPE)],
    }
    return {kind: numbers for kind, numbers in found.items() if numbers}


def moved_mm(before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]) -> float:
    """Say by how much the edges of blocks that stand in both moved at most, in mm."""
    were, are = ({one["number"]: one["box"] for one in blocks} for blocks in (before, after))
    return max((_apart(were[n], are[n]) for n in were.keys() & are.keys()), default=0.0)


def _apart(before: Sequence[float], after: Sequence[float]) -> float:
    then, now = ([left, top, left + wide, top + high] for left, top, wide, high in (before, after))
    return round(max(abs(a - b) for a, b in zip(then, now, strict=True)), 2)


def is_text_change(before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]) -> bool:
    """Say whether blocks differ by more than a nudge: other words, another setting, other blocks, or moved away."""
    if changes_between(before, after).keys() - {BlockChange.PLACE}:
        return True
    return moved_mm(before, after) > MOVED_MM + _ROUNDED_MM


@dataclass(frozen=True)
class AgainstBrief:
    """Blocks held against the text of a brief.

    ``lines_of`` says by a block's number which lines of that text it has, counted from 1, or None where its words do
    not stand in it one after the other; ``unplaced`` are the lines that stand in no block.
    """

    lines_of: dict[int, tuple[int, int] | None]
    unplaced: tuple[int, ...]


def against_brief(text: str, words_of: Mapping[int, str]) -> AgainstBrief:
    """Hold blocks against a brief's text. How words are broken into lines and spaced is no difference."""
    lines = [_plain(line) for line in text.splitlines() if line.strip()]
    lines_of = {number: _lines_with(_plain(words), lines) for number, words in words_of.items()}
    placed = {n for span in lines_of.values() if span for n in range(span[0], span[1] + 1)}
    return AgainstBrief(lines_of, tuple(n for n in range(1, len(lines) + 1) if n not in placed))


def brief_lines(text: str, first: int, last: int) -> str:
    """Give some lines of a brief's text, counted from 1 without its empty ones."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return "\n".join(lines[max(0, first - 1) : max(0, last)])


def _plain(words: str) -> str:
    return " ".join(words.split())


def _lines_with(words: str, lines: Sequence[str]) -> tuple[int, int] | None:
    if not words:
        return None
    for first in range(len(lines)):
        joined = ""
        for last in range(first, len(lines)):
            joined = f"{joined} {lines[last]}".strip()
            if joined == words:
                return first + 1, last + 1
            if len(joined) >= len(words):
                break
    return None


def with_text_change(causes: Sequence[Cause], *, is_changed: bool) -> tuple[Cause, ...]:
    """Count a change of text among the causes of an ask, where the text was changed under what is answered.

    Whoever changed it need not write a note of it, and cannot leave it out by writing none.
    """
    return tuple(sorted({*causes, Cause.TEXT})) if is_changed else tuple(causes)


@dataclass(frozen=True)
class TextVersion:
    """One version of a spread's text: when it came, whether it was a change after an approved sketch, what it says.

    ``content`` is a list, of blocks or of words; an empty one says nothing.
    """

    at: datetime
    is_change: bool
    content: list[Any]


def drawn_to(versions: Iterable[TextVersion], approved_at: datetime | None) -> list[Any]:
    """Give the text that the approved art goes by: as it stood at the approval, or at the change last told since.

    So nudges add up: from there, not from one version to the next. Where none stood yet it is the first one placed.
    """
    ordered = sorted(versions, key=lambda version: version.at)
    told = [one for one in ordered if one.is_change or (approved_at is not None and one.at <= approved_at)]
    return list((told[-1:] or ordered[:1])[0].content) if ordered else []


def stands_changed(versions: Iterable[TextVersion], since: datetime) -> bool:
    """Say whether the text was changed after an approved sketch since a moment, and does not read as it did then.

    Changed and changed back is no change of what has to be drawn, nor is what came and was taken away again, nor what
    stands a nudge from where it stood.
    """
    ordered = sorted(versions, key=lambda version: version.at)
    then = [version.content for version in ordered if version.at <= since] or [[]]
    later = [version for version in ordered if version.at > since]
    if not any(version.is_change for version in later):
        return False
    return _differ(then[-1], later[-1].content)


def _differ(then: list[Any], now: list[Any]) -> bool:
    """Compare blocks as blocks, and words as words."""
    if then != now and all(isinstance(one, Mapping) for one in (*then, *now)):
        return is_text_change(then, now)
    return then != now
