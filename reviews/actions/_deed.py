"""The frame of every deed: one transaction, the book locked, the seat checked, one ledger entry.

A deed that returns without its entry is a programming error and is rolled back, so that nothing can
change without the ledger saying so. An act of several deeds keeps them all in one transaction: all or none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Model

from reviews import jobs
from reviews.actions import _ledger
from reviews.actions._outbox import look_ahead, owe_entry
from reviews.actions.clock import moment
from reviews.actions.presses import claim_press, refuse_repeated
from reviews.models import (
    Book,
    Derivation,
    HandIn,
    Invitation,
    Invoice,
    LedgerEntry,
    Letter,
    LetterAnswer,
    Note,
    OptionVote,
    Passage,
    Payment,
    Picture,
    Proposal,
    ReadingAsk,
    Reference,
    Seat,
    Spread,
    StagePlan,
)
from reviews.models.stage_names import speak_of
from reviews.queries.held_rows import kind_of, rows_held
from reviews.queries.reach import reaches
from reviews.queries.time_stamps import is_stamping
from reviews.rules import permits
from reviews.rules.audiences import AUDIENCES
from reviews.rules.codes import STAMPED
from reviews.rules.mailing import MOVES_THE_END
from reviews.rules.payloads import misfits
from reviews.rules.states import Deed, PassageState, Refused, Role, Sight


class Act:
    """One deed under way: who, on which locked book, at what moment."""

    def __init__(self, book: Book, deed: Deed, seat: Seat | None, now: datetime | None = None) -> None:
        self.book = book
        self.deed = deed
        self.seat = seat
        self.now: datetime = now or moment()
        self.entry: LedgerEntry | None = None
        self.is_void = False
        self._written: dict[str, set[int]] = {}

    def holds(self, *rows: Model) -> None:
        """Name rows that this deed wrote or removed: its entry holds what they say once it is recorded."""
        for row in rows:
            self._written.setdefault(kind_of(row), set()).add(row.pk)

    def _holds_passages(self, data: Mapping[str, Any], passage: Passage | None) -> None:
        """Hold the passages that the entry tells of, without every deed naming them again."""
        told = self._written.setdefault("passage", set())
        told.update([passage.pk] if passage is not None else [])
        told.update(data.get("opens", ()), data.get("closes", ()))
        told.update(planned["passage"] for planned in data.get("passages", ()))
        for key in ("late_moves", "restated", "fixes", "frees"):
            told.update(moved["passage"] for moved in data.get(key, ()))
        for answer in data.get("answers", ()):
            told.update(moved["passage"] for moved in answer.get("late_moves", ()))
            told.update([answer["passage"], *answer["opens"]])

    def void(self) -> None:
        """Say that there was nothing to do: the deed had been done before, and no entry is owed."""
        self.is_void = True

    @property
    def today(self) -> date:
        """Name today's date where the book counts its days."""
        return self.book.day_rule.local_date(self.now)

    @property
    def by(self) -> Seat:
        if self.seat is None:
            raise Refused("not-yours")
        return self.seat

    def passage(self, pk: int, *, is_gone: bool = False) -> Passage:
        """Load a passage of this book afresh, under the lock, and check the deed against its state.

        Nobody does anything on a dropped spread, except where ``is_gone`` says that the deed is not about the spread;
        the portal goes on with what was begun, such as reading a picture.
        """
        passage = Passage.objects.with_places().select_related("hand_in", "pending").get(pk=pk, book=self.book)
        if self.seat is not None and not is_gone and passage.spread.dropped_at is not None:
            raise Refused("spread-dropped", spread=passage.spread.label)
        # The queryset joined a second copy of the book; the locked one is the one to use.
        passage.book = self.book
        if self.seat is not None:
            permits.check(Role(self.seat.role), self.deed, PassageState(passage.state))
            if not reaches(self.seat, passage):
                raise Refused("not-yours")
        return passage

    def record(
        self,
        data: Mapping[str, object],
        *,
        passage: Passage | None = None,
        sight: Sight = Sight.ALL,
        also_tell: frozenset[Role] = frozenset(),
        is_told: bool = True,
    ) -> LedgerEntry:
        """Write the deed's one ledger entry, and owe each person who is told of it one mail.

        ``is_told`` is false where another entry of the same act tells of this one too, so that nobody gets two mails.
        Every row must be written before: the entry holds what the rows say now. ``data`` is the deed's own payload
        (``rules.payloads``); the entry cannot be corrected, so another is refused.
        """
        if self.entry is not None:
            raise RuntimeError(f"{self.deed} recorded twice")
        if wrong := misfits(self.deed, data):
            raise RuntimeError(f"{self.deed} would be kept for ever with a wrong payload: {'; '.join(wrong)}")
        self._holds_passages(data, passage)
        self.entry = _ledger.append(
            self.book, self.deed, at=self.now, seat=self.seat, passage=passage, sight=sight, data=data,
            held=rows_held(self._written),
        )  # fmt: skip
        if is_told:
            self._tell(self.entry, AUDIENCES[self.deed] | also_tell)
        if self.deed in STAMPED and is_stamping():
            jobs.enqueue(jobs.TIME_STAMP, self.entry.pk)
        if self.deed in MOVES_THE_END:
            look_ahead(self.entry)
        return self.entry

    def _tell(self, entry: LedgerEntry, roles: frozenset[Role]) -> None:
        if not roles:
            return
        seats = Seat.objects.filter(book=self.book, ended_at=None, role__in=roles)
        if self.seat is not None:
            seats = seats.exclude(person_id=self.seat.person_id)
        for seat in seats.select_related("person").order_by("pk"):
            owe_entry(entry, seat.person)


class Acts:
    """Several deeds of one person under one lock, at one moment: each with its own entry, and all of them or none."""

    def __init__(self, book: Book, seat: Seat | None) -> None:
        self.book = book
        self.seat = seat
        self.now: datetime = moment()

    @contextmanager
    def deed(self, deed: Deed) -> Iterator[Act]:
        """Do one of the deeds; it is checked, and owes its entry, as if it were done alone."""
        if self.seat is not None:
            permits.check(Role(self.seat.role), deed)
        act = Act(self.book, deed, self.seat, self.now)
        yield act
        if act.entry is None and not act.is_void:
            raise RuntimeError(f"{deed} changed the book without a ledger entry")


#: Where each row that a deed may begin from, beside the book itself, says which book it is in.
_BOOK_OF: dict[type[Model], str] = {
    Passage: "book_id",
    Spread: "book_id",
    StagePlan: "book_id",
    Letter: "book_id",
    Seat: "book_id",
    Invitation: "book_id",
    Proposal: "book_id",
    ReadingAsk: "book_id",
    Invoice: "book_id",
    Payment: "invoice__book_id",
    HandIn: "passage__book_id",
    Note: "passage__book_id",
    Picture: "hand_in__passage__book_id",
    LetterAnswer: "letter__book_id",
    Derivation: "hand_in__passage__book_id",
    Reference: "book_id",
    OptionVote: "passage__book_id",
}


@contextmanager
def deeds_on(model: type[Model], pk: int, actor: Seat | None, *, only_asks: bool = False) -> Iterator[Acts]:
    """Run an act of several deeds on the book of one row. ``actor`` None is the portal itself.

    The book's row is locked first: two people acting on the same passage come one after the other,
    and the second finds the state that the first left. The seat is read again under the lock, so a
    seat that was just ended no longer acts. What any of the deeds refuses undoes all of them. ``only_asks`` is for
    asking whether a deed would be refused: nothing was done yet, so the press under way is not claimed.
    """
    book_id = pk if model is Book else model._default_manager.values_list(_BOOK_OF[model], flat=True).get(pk=pk)
    with transaction.atomic(durable=True):
        book = Book.objects.select_for_update().get(pk=book_id)
        speak_of(book)
        seat = None
        if actor is not None:
            seat = Seat.objects.select_related("person").filter(pk=actor.pk, book=book, ended_at=None).first()
            if seat is None:
                raise Refused("seat-missing")
            refuse_repeated() if only_asks else claim_press()
        yield Acts(book, seat)


@contextmanager
def deed_on(model: type[Model], pk: int, deed: Deed, actor: Seat | None) -> Iterator[Act]:
    """Run one deed on the book of one row, as ``deeds_on`` does for several."""
    with deeds_on(model, pk, actor) as acts, acts.deed(deed) as act:
        yield act


def ask_about(model: type[Model], pk: int, deed: Deed, actor: Seat | None, check: Callable[[Act], object]) -> None:
    """Ask beforehand whether a deed would be refused, where doing it costs much or reaches another machine.

    The deed itself comes after, and asks again. What fails between the two was not done: the same press may be pressed
    once more, which it could not if asking had claimed it.
    """
    with deeds_on(model, pk, actor, only_asks=True) as acts, acts.deed(deed) as act:
        check(act)
        act.void()
