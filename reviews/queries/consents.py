"""Rounds beyond the fee that consent is asked for: whose word is waited for, and what the terms say of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from reviews.models import Book, OverConsent, Passage, Seat
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.queries.terms import entered_terms
from reviews.rules.contract.extras import price_of
from reviews.rules.contract.fees import Price
from reviews.rules.contract.rounds_implied import RoundCount
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.states import Role


@dataclass(frozen=True)
class AskedRound:
    """One round that consent is asked for, beside what the terms that hold now say of it.

    number, included  "this would be round 3; the fee holds 2"
    terms, price      those that hold now, and what they say it costs
    """

    consent: OverConsent
    number: int
    included: int
    terms: Terms
    price: Price | None


def consents_waiting_on(seats: Sequence[Seat], counted: Mapping[int, RoundCount], *, at: datetime) -> list[AskedRound]:
    """List what these seats are asked to consent to (1 query, none for the publisher's side; 3 where it is asked).

    The agent speaks on rounds beyond the fee, and the illustrator where no agent sits. ``counted`` are the rounds of
    the seats' books.
    """
    agents = [seat.book_id for seat in seats if seat.role == Role.AGENT]
    illustrators = [seat.book_id for seat in seats if seat.role == Role.ILLUSTRATOR]
    if not agents and not illustrators:
        return []
    has_agent = Exists(Seat.objects.filter(book=OuterRef("passage__book"), role=Role.AGENT, ended_at=None))
    theirs = Q(passage__book__in=agents) | (Q(passage__book__in=illustrators) & ~has_agent)
    # Mostly nothing is asked: that is found out without joining what a card would show.
    waiting = list(OverConsent.objects.open().filter(theirs, given_at=None).values_list("pk", flat=True))
    if not waiting:
        return []
    found = list(_open().filter(pk__in=waiting))
    return _with_terms(found, entered_terms({one.passage.book_id for one in found}), counted, at)


def asked_rounds(book: Book, history: TermsHistory, *, at: datetime) -> list[AskedRound]:
    """List every round of a book that is asked for or consented to, and not yet used (1 query, up to 6 if any is)."""
    found = list(_open().filter(passage__book=book))
    counted = rounds_in([book.pk], allowances_for(one.passage for one in found)) if found else {}
    return _with_terms(found, {book.pk: history}, counted, at)


def one_more_round(passage: Passage) -> tuple[int, int]:
    """Say which round one more on this passage would be, and how many the fee holds (2 to 5 queries)."""
    count = rounds_in([passage.book_id], allowances_for([passage]))[passage.pk]
    return count.pool_used + 1, count.included


def _open() -> QuerySet[OverConsent]:
    joined = ("passage__book", "passage__spread", "passage__stage", "asked_by__person", "given_by__person")
    rows = OverConsent.objects.select_related(*joined).filter(passage__spread__removed_at=None)
    return rows.open().order_by("asked_at", "pk")


def _with_terms(
    found: Sequence[OverConsent],
    histories: Mapping[int, TermsHistory],
    counted: Mapping[int, RoundCount],
    at: datetime,
) -> list[AskedRound]:
    asked = []
    for one in found:
        terms = histories[one.passage.book_id].on(one.passage.book.day_rule.local_date(at))
        count = counted[one.passage_id]
        price = price_of(terms, one.passage.stage.kind, after_approval=one.passage.approved_at is not None)
        asked.append(AskedRound(one, count.pool_used + 1, count.included, terms, price))
    return asked
