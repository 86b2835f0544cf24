"""Pauses on the page of proposals: those that stand, and what a proposed one says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from reviews.models import Book, Proposal
from reviews.pages.wording.pauses import asked_facts, short_pause_words
from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.states import Side


@dataclass(frozen=True, kw_only=True)
class StandingCard:
    """A pause that stands: ``may_change`` says that this reader may propose other days, ``has_begun`` that only its end
    can change."""

    number: int
    words: str
    first: date
    last: date
    has_begun: bool
    may_change: bool


def standing_cards(book: Book, *, at: datetime, may_change: bool) -> list[StandingCard]:
    """List the pauses of a book that stand, by their first day (no query)."""
    today = book.day_rule.local_date(at)
    found = []
    for told in book.pauses:
        first, last = date.fromisoformat(told["first"]), date.fromisoformat(told["last"])
        words = short_pause_words(first, last, told["reason"])
        found.append(
            StandingCard(
                number=told["pause"],
                words=words[:1].upper() + words[1:],
                first=first,
                last=last,
                has_begun=first <= today,
                may_change=may_change and last >= today,
            )
        )
    return found


def pause_facts(proposal: Proposal) -> Iterable[tuple[str, str]]:
    """Say what a proposed pause is, line by line; needs the book joined."""
    yield from asked_facts(proposal, _n_working(proposal), instead_of=_as_it_stands(proposal))


def _as_it_stands(proposal: Proposal) -> tuple[date, date] | None:
    """Find the pause that an open proposal would change, where it stands."""
    if proposal.ended_at is not None:
        return None
    told = next((one for one in proposal.book.pauses if one["pause"] == proposal.pause), None)
    return (date.fromisoformat(told["first"]), date.fromisoformat(told["last"])) if told else None


def _n_working(proposal: Proposal) -> int:
    """Count the days of a proposed pause on which somebody would work."""
    if proposal.to_on is None:
        return 0
    calendars = [replace(proposal.book.calendar_of(side), paused=frozenset()) for side in Side]
    days = DayRange(proposal.from_on, proposal.to_on).days
    return sum(any(calendar.is_working(day) for calendar in calendars) for day in days)
