"""Who is to be told of which dates this morning."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any

from reviews.models import Book, Person, Seat
from reviews.models.stage_names import where_named
from reviews.queries.reckoning import Reckoning
from reviews.rules.mailing import CANNOT_MEET_TOLD, MORNING_HOUR, MailChoice, NoticeKind, is_reminded
from reviews.rules.reminders import Reminder, reminders_of
from reviews.rules.states import Role


@dataclass(frozen=True)
class Morning:
    """One person whose day has begun and who was not written to yet."""

    person: Person
    day: date
    seats: tuple[Seat, ...]


@dataclass(frozen=True)
class Due:
    """Something about a book's dates that a person is to be told, once per cause; ``told`` is a code and its values."""

    cause: str
    kind: NoticeKind
    book_id: int
    told: dict[str, Any]
    passage_id: int | None = None


def mornings(now: datetime) -> list[Morning]:
    """List the people whose morning mail is still to be put together (1 query).

    The hour is that of the first book on which they have a seat.
    """
    seats = (
        Seat.objects.select_related("person", "book")
        .filter(ended_at=None, person__is_active=True)
        .exclude(person__mail=MailChoice.NONE)
        .exclude(role=Role.GUEST)
        .order_by("person_id", "pk")
    )
    found = []
    for _, group in groupby(seats, key=lambda seat: seat.person_id):
        theirs = tuple(group)
        local = now.astimezone(theirs[0].book.day_rule.zone_info)
        person = theirs[0].person
        begun = local.hour >= MORNING_HOUR
        if begun and (person.reminded_on is None or person.reminded_on < local.date()):
            found.append(Morning(person, local.date(), theirs))
    return found


def dues_for(seat: Seat, reckoned: Reckoning) -> list[Due]:
    """List what a seat is to be told of its book's dates today."""
    role = Role(seat.role)
    due = [
        Due(f"due:{told.key}", NoticeKind.DUE, reckoned.book.pk, _due(told, reckoned.book), told.passage)
        for told in reminders_of(reckoned.statement)
        if is_reminded(role, told.side, told.urgency, is_hidden=reckoned.is_hidden(told.passage))
    ]
    return [*due, *(cannot_meet_dues(reckoned) if role in CANNOT_MEET_TOLD else ())]


def cannot_meet_dues(reckoned: Reckoning) -> list[Due]:
    """List the spreads that cannot be done by the final date any more, each with its cause."""
    return [
        Due(
            f"cannot-meet:{told.spread}:{told.final_on.isoformat()}",
            NoticeKind.CANNOT_MEET,
            reckoned.book.pk,
            {
                "code": "cannot-meet",
                "label": told.label,
                "final_on": told.final_on.isoformat(),
                "earliest_on": told.earliest_on.isoformat(),
                "waits_for": told.waits_for.value,
            },
        )
        for told in reckoned.statement.cannot_meet
    ]


def _due(told: Reminder, book: Book) -> dict[str, Any]:
    return {
        "code": "due",
        "where": where_named(told.label, told.stage, book.stage_names),
        "side": told.side.value,
        "urgency": told.urgency.value,
        "due_on": told.due_on.isoformat(),
        "days": told.days,
    }


def both_sides(book_id: int) -> Iterable[Seat]:
    """List the seats that are told what cannot be met (1 query)."""
    seats = Seat.objects.select_related("person").filter(book_id=book_id, ended_at=None, role__in=CANNOT_MEET_TOLD)
    return seats.exclude(person__mail=MailChoice.NONE).order_by("pk")
