"""What the stored rows say, in the form in which a ledger entry holds them.

Each deed's entry holds, by value, every row that the deed wrote and that a person may rely on (``LedgerEntry.rows``):
the words of a note, the answer of a letter, a seat. So a row changed behind the portal's back differs from the ledger,
and a changed ledger breaks its chain. ``KINDS`` says which rows and which of their columns.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Model, Q

from reviews.models import (
    Agreement,
    AnsweredThere,
    Book,
    Brief,
    CarriedNote,
    HandIn,
    Invitation,
    Invoice,
    KeptPrinter,
    Letter,
    LetterAnswer,
    Look,
    MeasuredProof,
    Note,
    OptionMark,
    OptionVote,
    OverConsent,
    Passage,
    Payment,
    Picture,
    PlateTold,
    PrintProfile,
    PrintSetUp,
    Proposal,
    ReadingAsk,
    Reference,
    ReferenceSet,
    Reply,
    RoundHours,
    Seat,
    Spread,
    SpreadText,
    Stage,
    StagePlan,
    TakenFault,
    VoteBallot,
)

Row = dict[str, Any]
#: kind → number of the row → its columns, or None where the deed removed it.
Held = dict[str, dict[str, Row | None]]


@dataclass(frozen=True)
class Kind:
    """One kind of row: its model, the way from it to its book, the columns that are held.

    ``made`` names the column that says when the row came into being, where there is one. ``about`` narrows the rows
    that must be held: a computed place is nobody's word until somebody corrects it.
    """

    model: type[Model]
    book: str
    columns: tuple[str, ...]
    made: str = ""
    about: Q | None = None


KINDS: dict[str, Kind] = {
    "book": Kind(
        Book, "pk",
        ("title", "publisher", "trim_width_mm", "trim_height_mm", "bleed_mm", "n_pages", "binding", "ends", "start_on",
         "final_on", "places", "zone", "stage_names"),
        "created_at",
    ),
    "printing": Kind(
        PrintSetUp, "book", ("printer", "figures", "paper", "has_jacket", "set_by_id", "set_at"), "set_at"
    ),
    "aims": Kind(ReferenceSet, "book", ("name", "sha256", "added_by_id", "added_at"), "added_at"),
    "measurement": Kind(
        MeasuredProof, "book",
        ("passage_id", "file_name", "sha256", "reference_id", "limits", "verdict", "lines", "unmatched", "judged_by_id",
         "judged_at"),
        "judged_at",
    ),
    "fault": Kind(
        TakenFault, "passage__book", ("passage_id", "picture_id", "code", "values", "reason", "by_id", "at"), "at"
    ),
    "plate": Kind(
        PlateTold, "picture__hand_in__passage__book",
        ("picture_id", "art_id", "finish", "way", "metal", "told_by_id", "told_at", "channel", "channel_name"),
        "told_at",
    ),
    "profile": Kind(
        PrintProfile, "book", ("name", "file_name", "sha256", "n_bytes", "added_by_id", "added_at"), "added_at"
    ),
    "printer": Kind(KeptPrinter, "book", ("name", "figures", "kept_by_id", "kept_at"), "kept_at"),
    "stage plan": Kind(StagePlan, "book", ("name", "covers")),
    "stage": Kind(
        Stage, "plan__book",
        ("plan_id", "position", "kind", "gate", "hand_in_days", "answer_days", "rounds", "group", "two_voices"),
    ),
    "spread": Kind(
        Spread, "book", ("plan_id", "position", "kind", "label", "first_page", "last_page", "removed_at", "dropped_at"),
    ),
    "passage": Kind(
        Passage, "book",
        ("spread_id", "stage_id", "planned_on", "opened_at", "held_since", "approved_picture_id", "approved_at"),
    ),
    "seat": Kind(Seat, "book", ("person_id", "role", "passage_id", "since", "ended_at", "answers_dates"), "since"),
    "ask": Kind(
        ReadingAsk, "book", ("seat_id", "spread_id", "words", "asked_by_id", "at", "ended_at"), "at"
    ),
    "invitation": Kind(
        Invitation, "book",
        ("name", "role", "passage_id", "invited_by_id", "sent_at", "expires_at", "used_at", "revoked_at"), "sent_at",
    ),
    "hand-in": Kind(
        HandIn, "passage__book",
        ("passage_id", "by_id", "state", "number", "cover_note", "started_at", "handed_in_at", "withdrawn_at",
         "withdrawn_because"),
        "started_at",
    ),
    "picture": Kind(
        Picture, "hand_in__passage__book",
        ("hand_in_id", "position", "file_name", "sha256", "n_bytes", "state", "reason_code", "reason_values",
         "removed_at"),
        "hand_in__started_at",
    ),
    "note": Kind(
        Note, "passage__book",
        ("passage_id", "picture_id", "author_id", "region", "words", "cause", "state", "weighing", "letter_words",
         "letter_id", "number", "made_at", "response", "response_words", "responded_at",
         "brief_id", "brief_line", "reach", "concerns", "error", "strokes"),
        "made_at",
    ),
    "spread-answer": Kind(
        AnsweredThere, "note__passage__book", ("note_id", "spread_id", "response", "words", "at"), "at"
    ),
    "reply": Kind(Reply, "note__passage__book", ("note_id", "author_id", "words", "sight", "at"), "at"),
    "look": Kind(Look, "hand_in__passage__book", ("hand_in_id", "seat_id", "at"), "at"),
    "mark": Kind(
        OptionMark, "picture__hand_in__passage__book", ("picture_id", "seat_id", "verdict", "why", "at"), "at"
    ),
    "vote": Kind(
        OptionVote, "passage__book",
        ("passage_id", "hand_in_id", "options", "words", "until", "decider_id", "opened_by_id", "opened_at",
         "closed_by_id", "closed_at", "chosen_id", "reasons", "decided_by_id", "decided_at"),
        "opened_at",
    ),
    # What it says is held by the entry that closes the vote; until then the ledger has its seal alone.
    "ballot": Kind(VoteBallot, "vote__passage__book", ("vote_id", "person_id", "seat_id", "seal", "at"), "at"),
    "hand-placed note": Kind(
        CarriedNote, "note__passage__book", ("note_id", "picture_id", "corrected", "corrected_by_id"),
        about=Q(corrected__isnull=False),
    ),
    "brief": Kind(
        Brief, "book",
        ("spread_id", "version", "parts", "told_as", "written_by_id", "written_at"), "written_at",
    ),
    "text": Kind(
        SpreadText, "book", ("spread_id", "version", "blocks", "is_change", "set_by_id", "set_at"), "set_at"
    ),
    "reference": Kind(
        Reference, "book",
        ("spread_id", "file_name", "sha256", "n_bytes", "state", "reason_code", "reason_values", "added_by_id",
         "added_at", "removed_at"),
        "added_at",
    ),
    "letter": Kind(
        Letter, "book",
        ("number", "words", "begun_at", "sent_at", "sent_by_id", "taken_back_at", "taken_back_because"), "begun_at",
    ),
    "answer": Kind(
        LetterAnswer, "letter__book",
        ("letter_id", "passage_id", "hand_in_id", "picture_id", "answer", "reopened"), "letter__begun_at",
    ),
    "invoice": Kind(
        Invoice, "book",
        ("number", "name", "words", "amount", "currency", "on", "told_by_id", "told_at", "withdrawn_at",
         "withdrawn_because"),
        "told_at",
    ),
    "payment": Kind(
        Payment, "invoice__book",
        ("invoice_id", "said", "amount", "on", "told_by_id", "told_at", "taken_back_at", "taken_back_because"),
        "told_at",
        # What was told before parts could be is held by its invoice's own entries, under that invoice's name.
        about=Q(of_before=False),
    ),
    "hours": Kind(
        RoundHours, "answer__letter__book",
        ("answer_id", "hours", "told_by_id", "told_at", "agreed_by_id", "agreed_at"), "told_at",
    ),
    "agreement": Kind(
        Agreement, "hand_in__passage__book", ("hand_in_id", "seat_id", "agrees", "words", "at"), "at"
    ),
    "consent": Kind(
        OverConsent, "passage__book",
        ("passage_id", "words", "asked_by_id", "asked_at", "given_by_id", "given_at", "used_by_id", "ended_by_id",
         "ended_at", "ended_words"),
        "asked_at",
    ),
    "proposal": Kind(
        Proposal, "book",
        ("number", "matter", "state", "passage_id", "which", "hand_in_id", "from_on", "to_on", "terms",
         "reason", "forgives", "by_id", "at", "answers_id", "ended_by_id", "ended_at", "ended_words", "pause",
         "reaches_back", "pages"),
        "at",
    ),
}  # fmt: skip

_NAMES = {kind.model: name for name, kind in KINDS.items()}


def kind_of(row: Model) -> str:
    """Name the kind of a row; a row of another kind is not held, and asking for it is a mistake."""
    return _NAMES[type(row)]


def rows_held(numbers: Mapping[str, Iterable[int]]) -> Held:
    """Read the rows of these numbers as they stand now; one that is gone is None (1 query for each kind)."""
    found: Held = {}
    for name, wanted in numbers.items():
        kind, keys = KINDS[name], sorted(set(wanted))
        stored = kind.model._default_manager.filter(pk__in=keys).values("pk", *kind.columns)
        rows = {row.pop("pk"): row for row in stored}
        found[name] = {str(key): plain(rows[key]) if key in rows else None for key in keys}
    return found


def plain(row: Mapping[str, Any]) -> Row:
    """Write a row's values as JSON has them, the same on every database."""
    return dict(json.loads(json.dumps(dict(row), default=_written)))


def _written(value: Any) -> str:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(f"A ledger entry holds no {type(value).__name__}.")
