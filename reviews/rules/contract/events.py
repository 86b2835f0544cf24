"""One thing that happened to one passage, as the timeline tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple, TypedDict

from reviews.rules.contract.fees import EVERY_SPREAD
from reviews.rules.moving_payloads import BackSpread
from reviews.rules.payload_shapes import HandedPicture, LateMove, ProposedBy
from reviews.rules.states import Deed, PassageState, Sight

#: The deed under which a passage's opening is told; the ledger has it inside the deed that opened it.
OPENS = "opens"

#: The deed under which a passage's date is told that another's late answer moved; it too is inside that answer's entry.
MOVED_BY_LATENESS = "moved-by-lateness"

#: The deed under which each passage is told that both sides agreed on a pause.
PAUSED = Deed.AGREE_PAUSE.value

#: The deed under which a passage is told that terms fix its date; it is inside the entry of the terms.
FIXED_BY_TERMS = "fixed-by-terms"

#: The deeds under which a passage is told that its spread was dropped, and, where it was handed in, brought back.
DROPPED, BROUGHT_BACK = "dropped", "brought-back"

#: The deed under which a passage is told that its stage has another place in the plan, whose date it has now.
REORDERED = "reordered"


@dataclass(frozen=True)
class SpreadFacts:
    """What the ledger does not repeat about a spread: its name and which part of the terms speaks of it."""

    spread: int
    position: int
    label: str
    part: str = EVERY_SPREAD


class AboutPassage(TypedDict, total=False):
    """The part of an entry that is about one passage: whatever of these its deed carries."""

    opens: list[int]
    printers: list[int]
    fixed: list[int]
    dues: dict[str, str]
    to: str
    number: int
    hand_in: int
    pictures: list[HandedPicture]
    answer_due_on: str | None
    due_on: str
    which: str
    answer: str
    causes: list[str]
    handed_in_by: str
    reopened: bool
    waits_for_second: bool
    sha256: str
    silent_on: str
    completes: bool
    stood_on: str
    late_by: int
    late_at: str
    late_moves: list[LateMove]
    proposed: ProposedBy | None
    forgives: bool
    forgives_sides: list[str]
    hand_in_to: str
    answer_to: str
    is_freed: bool
    was_closed: bool
    back: list[BackSpread]
    voiced: bool


class Event(NamedTuple):
    """One thing that happened to one passage.

    `to` is the state it left the passage in (None: unchanged), `data` the part of the ledger line about
    this passage. `sight` says who may know that it happened.
    """

    seq: int
    at: datetime
    deed: str
    to: PassageState | None
    role: str
    by: str
    data: AboutPassage
    sight: Sight = Sight.ALL


def back_at(events: Sequence[Event], due_on: str) -> AboutPassage:
    """Say with what a hand-in lies with the publisher again, whose spread was dropped and brought back.

    It has the pictures that were handed in, and whether a first sign-off had spoken of them (``voiced``), for silence
    asks for both.
    """
    told = [event for event in events if event.deed in (Deed.HAND_IN, Deed.SEND_LETTER)]
    handed = next((event for event in reversed(told) if event.deed == Deed.HAND_IN), None)
    pictures = handed.data.get("pictures", []) if handed else []
    voiced = bool(told) and told[-1].deed == Deed.SEND_LETTER
    return AboutPassage(answer_due_on=due_on, pictures=pictures, voiced=voiced)
