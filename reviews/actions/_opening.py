"""Open passages: the one place that knows which stage comes after which."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from reviews.actions._deed import Act
from reviews.models import LedgerEntry, Passage
from reviews.queries.due_under_terms import answer_due, back_due, is_fixed, late_if, opening_due, redo_due
from reviews.queries.terms import history_of, terms_on
from reviews.rules.contract.days import add_working_days
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.payload_shapes import LateMove, LateMoves, OpenedPassages
from reviews.rules.states import Deed, PassageState


def next_passage(passage: Passage) -> Passage | None:
    """Find the same spread at the following stage of its plan."""
    return (
        Passage.objects.select_related("book", "stage", "spread")
        .filter(spread_id=passage.spread_id, stage__position__gt=passage.stage.position)
        .order_by("stage__position")
        .first()
    )


def is_closed(passage: Passage | None) -> bool:
    return passage is not None and passage.state == PassageState.CLOSED


def open_passage(passage: Passage, now: datetime, *, silent_on: date | None = None, is_back: bool = False) -> None:
    """Give a passage to the illustrator. Needs book, spread and stage joined.

    Its date is the planned one; where the stage opens later than planned, the illustrator still has the
    stage's own days, and the account shows both dates. ``silent_on`` is the day with whose end silence opens it,
    ``is_back`` says that its spread was away and is back in the book.
    """
    held = terms_on(passage.book, now)
    passage.state = PassageState.DRAWING
    passage.opened_at = passage.held_since = now
    passage.due_on = back_due(passage, held, now) if is_back else opening_due(passage, held, now, silent_on=silent_on)
    passage.save(update_fields=["state", "opened_at", "held_since", "due_on"])


def opened(passages: Sequence[Passage]) -> OpenedPassages:
    """Tell the ledger which passages opened, which of them the printer makes, and the dates they have then."""
    told = OpenedPassages(
        opens=[passage.pk for passage in passages],
        printers=[passage.pk for passage in passages if passage.stage.kind in PRINTERS_STAGES],
        dues={str(passage.pk): passage.due_on.isoformat() for passage in passages},
    )
    if fixed := [passage.pk for passage in passages if is_fixed(passage)]:
        told["fixed"] = fixed
    return told


def answer_date(passage: Passage, now: datetime) -> date:
    """Work out by when the publisher answers something handed in now."""
    return answer_due(passage, terms_on(passage.book, now), now)


def date_after_return(passage: Passage) -> date:
    """Work out by when a hand-in that is withdrawn is due again: later, where its spread was away since it came."""
    told = LedgerEntry.objects.filter(book=passage.book)
    handed = told.filter(passage=passage, deed=Deed.HAND_IN).order_by("seq").last()
    for entry in told.filter(deed=Deed.REPAGE, seq__gt=handed.seq if handed else 0).order_by("-seq"):
        if any(passage.pk in back["passages"] for back in entry.data["back"]):
            return back_due(passage, terms_on(passage.book, entry.at), entry.at)
    return passage.due_on


def redraw_date(passage: Passage, now: datetime) -> date:
    """Work out by when a changed version is due: the stage's own days again, never earlier than it stood."""
    return redo_due(passage, terms_on(passage.book, now), now)


def move_later(passage: Passage, act: Act, *, silent_on: date | None = None) -> LateMoves:
    """Move the dates of later stages that are being drawn by the days this answer is late, if the terms say so.

    Only a stage opened again has such stages after it: those still closed have the late days in their date when they
    open. What the same deed gave to the illustrator has its own days from now.
    """
    rows = Passage.objects.with_places().filter(
        spread_id=passage.spread_id,
        stage__position__gt=passage.stage.position,
        state=PassageState.DRAWING,
        held_since__lt=act.now,
    )
    later = list(rows.order_by("stage__position"))
    is_taken_back = act.deed == Deed.WITHDRAW_HAND_IN
    late = late_if(passage, act.now, silent_on=silent_on, is_taken_back=is_taken_back) if later else 0
    if not late:
        return LateMoves()
    held = history_of(act.book).at(act.now)
    told = []
    for row in later:
        was_on, row.due_on = row.due_on, add_working_days(row.due_on, late, held.maker_calendar(row.stage.kind))
        row.save(update_fields=["due_on"])
        told.append(LateMove(where=row.where, passage=row.pk, was_on=was_on.isoformat(), due_on=row.due_on.isoformat()))
    return LateMoves(late_by=late, late_moves=told)


def open_next(following: Passage | None, opens: bool, now: datetime, *, silent_on: date | None = None) -> list[Passage]:
    """Open the next stage if the outcome says so; returns what opened."""
    if following is None or not opens:
        return []
    open_passage(following, now, silent_on=silent_on)
    return [following]
