"""What stands in a letter and what sending it will do, worked out before it is sent."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from reviews.geometry import Box, overlap
from reviews.rules.states import Answer

# Two marks are about the same place when they share this much of the smaller one. Common practice:
# small enough to catch a pin inside a box, large enough that neighbours do not count.
SAME_PLACE_SHARE = 0.25
# A point has no area; about a finger's breadth on a spread stands for the thing it points at.
POINT_REACH = 0.015
HELD_MARK = "×"


@dataclass(frozen=True, kw_only=True)
class PlacedNote:
    """One note as the letter sorts it: whose it is and where it lies; ``is_whole``: it marks no place.

    ``is_book``: it is about the book, and stands before what is said to any spread.
    """

    note: int
    passage: int
    picture: int
    author: int
    bounds: Box
    order: tuple[float, float]
    is_whole: bool = False
    is_book: bool = False


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What sending will do to one passage."""

    passage: int
    where: str
    answer: Answer
    uses_round: bool
    outside_fee: bool
    round_number: int
    included: int
    is_over: bool
    not_counted: bool
    waits_for_second: bool
    due_on: date | None


def seen_mark(*said: Any) -> str:
    """Mark what was on somebody's screen, so that a change made meanwhile by another tab or person is noticed."""
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:16]


def number_notes(notes: Iterable[PlacedNote], passage_order: Sequence[int]) -> dict[int, int]:
    """Number notes 1… through the letter: by passage in page order, then picture, then top to bottom.

    What is about the whole comes before its places, and what is about the book before all.
    """
    rank = {passage: position for position, passage in enumerate(passage_order)}

    def place(note: PlacedNote) -> tuple[int, int, float, float, int]:
        if note.is_book:
            return -1, 0, 0.0, 0.0, note.note
        if note.is_whole:
            return rank[note.passage], 0, 0.0, 0.0, note.note
        return rank[note.passage], note.picture + 1, note.order[1], note.order[0], note.note

    return {note.note: number for number, note in enumerate(sorted(notes, key=place), start=1)}


def note_mark(number: int | None, letter: int | None = None) -> str:
    """Write on a flag which note this is: 5.1 is note 1 of letter 5, 3 the third note of the letter being written.

    A picture may carry notes of several letters and of the next one, and each letter numbers its notes from 1; so
    outside its own letter a sent note takes the letter's number along. What is held back has no number.
    """
    if number is None:
        return HELD_MARK
    return f"{letter}.{number}" if letter else str(number)


def overlapping(notes: Sequence[PlacedNote]) -> list[tuple[int, int]]:
    """Pair notes by different people about the same place of the same picture.

    Such notes may contradict each other, so the art director sees them side by side before the
    illustrator sees either.
    """
    pairs = []
    for index, first in enumerate(notes):
        for second in notes[index + 1 :]:
            # Pictures are told by their position, so the passage must agree as well.
            if (first.passage, first.picture) != (second.passage, second.picture) or first.author == second.author:
                continue
            if first.is_whole or second.is_whole:
                continue
            if _is_same_place(first.bounds, second.bounds):
                pairs.append((first.note, second.note))
    return pairs


def clusters(notes: Sequence[PlacedNote]) -> list[list[int]]:
    """Group notes so that those about the same place stand together; a note by itself is a group of one.

    Groups keep the order of their first notes. A box that meets two others joins all three: whoever
    decides between two of them needs to see the third.
    """
    group_of = {note.note: [note.note] for note in notes}
    for first, second in overlapping(notes):
        one, two = group_of[first], group_of[second]
        if one is not two:
            one.extend(two)
            group_of.update(dict.fromkeys(two, one))
    place = {note.note: position for position, note in enumerate(notes)}
    seen: list[list[int]] = []
    for note in notes:
        group = group_of[note.note]
        if not any(group is other for other in seen):
            seen.append(group)
    return [sorted(group, key=place.__getitem__) for group in seen]


def _is_same_place(one: Box, two: Box) -> bool:
    one, two = (box if box.area else box.grown(POINT_REACH, POINT_REACH) for box in (one, two))
    shared = overlap(one, two)
    return shared is not None and shared.area >= SAME_PLACE_SHARE * min(one.area, two.area)
