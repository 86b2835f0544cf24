"""The shapes of the payloads of notes, letters and what is said to them; the others are in ``payload_shapes``."""

from __future__ import annotations

from typing import Annotated, Any, NotRequired, TypedDict

from reviews.rules.payload_shapes import LATER, LateMoves, OpenedPassages, Where


class PinNoteData(Where):
    """A note was pinned to a picture."""

    note: int
    picture: int


class NoteData(Where):
    """A note was changed, withdrawn, or its withdrawal taken back."""

    note: int


class LookOverData(Where):
    """Somebody looked at a hand-in and had nothing to note."""

    hand_in: int


class ReplyData(Where):
    """Somebody replied under a note."""

    note: int
    reply: int


class MarkOptionData(Where):
    """An idea was marked "this" or "not-this"."""

    picture: int
    option: int
    verdict: str


class UnmarkOptionData(Where):
    """A mark on an idea was taken back."""

    picture: int
    option: int


class WeighNoteData(Where):
    """A note was let through or held back."""

    note: int
    weighing: str


class SetAnswerData(Where):
    """An answer was written into the draft letter."""

    answer: str


class DropAnswerData(Where):
    """An answer was taken out of the draft letter."""


class WordLetterData(TypedDict):
    """The letter's opening lines were written."""


class LetterAnswerData(Where, OpenedPassages, LateMoves):
    """One answer of a letter and what it did to its passage; ``hand_in`` is the hand-in's number.

    ``errors`` counts the marks on a proof by whose error each is (``states.ErrorOf``).

    ``due_on`` is when a changed version is due, ``stood_on`` the date that the passage had before.
    """

    passage: int
    hand_in: int
    answer: str
    causes: list[str]
    errors: NotRequired[Annotated[dict[str, int], LATER]]
    handed_in_by: NotRequired[Annotated[str, LATER]]
    stage: NotRequired[Annotated[str, LATER]]
    reopened: bool
    picture: int | None
    sha256: str
    waits_for_second: bool
    to: str
    due_on: str
    stood_on: NotRequired[Annotated[str, LATER]]


class SendLetterData(TypedDict):
    """A letter went, with the notes let through and those held back.

    ``cost`` is what it cost as it was told before it went (``rules.contract.letter_cost_text``).
    """

    letter: int
    number: int
    cost: NotRequired[Annotated[dict[str, Any], LATER]]
    answers: list[LetterAnswerData]
    notes: list[int]
    held: list[int]


class AgreeData(Where, OpenedPassages, LateMoves):
    """The second voice agreed; where that completes an approval, the picture and its hash are named."""

    hand_in: int
    number: int
    completes: bool
    to: str
    picture: NotRequired[int]
    sha256: NotRequired[str]


class ObjectData(Where):
    """The second voice did not agree."""

    hand_in: int
    number: int
    words: str
    to: str


class AnswerNoteData(Where):
    """A note of a letter was answered; ``there`` names the spreads where it was answered for some of them only."""

    note: int
    number: int
    of_letter: NotRequired[Annotated[int, LATER]]
    response: str
    there: NotRequired[list[str]]


class PlaceNoteData(Where):
    """A note was shown by hand on the newest picture, or put back where it was found."""

    note: int
    picture: int
    number: int
    of_letter: NotRequired[Annotated[int, LATER]]
    is_put_back: NotRequired[bool]
