"""What each part may see and do, as one table that people read: worked out from the access table, never written twice.

A cell says how much: nothing, all of it, or a part. ``tests/views/test_part_table.py`` asks the server for every cell.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from reviews.rules import permits
from reviews.rules.permits import Scope, scope_of
from reviews.rules.states import Deed, Role


class Extent(StrEnum):
    """How much of a thing a part may see or do."""

    NONE = "none"
    FULL = "full"
    OWN = "own"
    ASKED = "asked"
    COVER_AND_APPROVED = "cover-and-approved"
    COVER = "cover"
    ONE = "one"
    PROOFS = "proofs"


class Thing(StrEnum):
    """A row of the table."""

    MAP = "map"
    ART = "art"
    ORIGINALS = "originals"
    BRIEF = "brief"
    HOUSE_NOTES = "house-notes"
    SENT_NOTES = "sent-notes"
    LETTERS = "letters"
    CHANGES = "changes"
    GEOMETRY = "geometry"
    DATES = "dates"
    MONEY = "money"
    MARK_NOTES = "mark-notes"
    MARK_OPTIONS = "mark-options"
    HAND_IN = "hand-in"
    SIGN_OFF = "sign-off"
    DECIDE = "decide"
    WRITE_BRIEF = "write-brief"
    PLACE_TEXT = "place-text"
    ASK = "ask"
    INVITE = "invite"


#: What each row asks of the access table: a key of ``permits.VIEWS`` or a deed.
ASKED_OF: dict[Thing, str | Deed] = {
    Thing.MAP: "book",
    Thing.ART: "pictures",
    Thing.ORIGINALS: "originals",
    Thing.BRIEF: "brief-on-table",
    Thing.HOUSE_NOTES: "unsent-notes",
    Thing.SENT_NOTES: "sent-notes",
    Thing.LETTERS: "letters",
    Thing.CHANGES: "comparisons",
    Thing.GEOMETRY: "geometry",
    Thing.DATES: "schedule",
    Thing.MONEY: "statement",
    Thing.MARK_NOTES: Deed.PIN_NOTE,
    Thing.MARK_OPTIONS: Deed.MARK_OPTION,
    Thing.HAND_IN: Deed.HAND_IN,
    Thing.SIGN_OFF: Deed.AGREE,
    Thing.DECIDE: Deed.SEND_LETTER,
    Thing.WRITE_BRIEF: Deed.CHANGE_BRIEF,
    Thing.PLACE_TEXT: Deed.SET_TEXT,
    Thing.ASK: Deed.ASK_TO_READ,
    Thing.INVITE: Deed.INVITE,
}

SEEN = frozenset(thing for thing, asks in ASKED_OF.items() if not isinstance(asks, Deed))

# What hangs on a piece of art goes as far as the art does.
_ON_THE_ART = frozenset({Thing.ART, Thing.BRIEF, Thing.MARK_NOTES, Thing.MARK_OPTIONS})
_BY_SCOPE = {Scope.ASKED: Extent.ASKED, Scope.COVER_AND_APPROVED: Extent.COVER_AND_APPROVED, Scope.ONE: Extent.ONE}
_OWN_NOTES = frozenset({Thing.HOUSE_NOTES, Thing.SENT_NOTES})


def extent(role: Role, thing: Thing) -> Extent:
    """Say how much of a thing a part may see or do, by the access table."""
    asks = ASKED_OF[thing]
    allowed = permits.may(role, asks) if isinstance(asks, Deed) else permits.sees(role, asks)
    if not allowed:
        writes = thing in _OWN_NOTES and permits.may(role, Deed.PIN_NOTE)
        return Extent.OWN if writes else Extent.NONE
    if thing == Thing.HAND_IN and role != Role.ILLUSTRATOR:
        return Extent.PROOFS
    if thing == Thing.MARK_OPTIONS and scope_of(role) == Scope.COVER_AND_APPROVED:
        return Extent.COVER  # nothing is chosen among what is approved
    return _BY_SCOPE.get(scope_of(role), Extent.FULL) if thing in _ON_THE_ART else Extent.FULL


@dataclass(frozen=True)
class PartRow:
    """One thing, and how much of it each part has."""

    thing: Thing
    cells: dict[Role, Extent]


def whole_table() -> list[PartRow]:
    """Work out the whole table."""
    return [PartRow(thing, {role: extent(role, thing) for role in Role}) for thing in Thing]
