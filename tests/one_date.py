"""Every place that tells by when a passage is due, read at one moment, for a test to hold together."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from unittest.mock import patch

from reviews.models import Passage, Seat
from reviews.pages.account import account_of
from reviews.pages.book_map import map_page
from reviews.pages.desk import desk_of
from reviews.pages.review_table import passage_words
from reviews.queries.reckoning import Reckoning, reckon_one
from reviews.rules.due_events import events_of
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.reminders import reminders_of
from reviews.rules.schedule import schedule_of
from reviews.rules.states import PassageState, Role, Side
from tests.cast import Cast

HELD = {PassageState.DRAWING: Side.ILLUSTRATOR, PassageState.ANSWERING: Side.PUBLISHER}

Told = dict[str, date | None]


def dates_told(cast: Cast, now: datetime) -> dict[int, Told]:
    """Give, for every passage that somebody holds, the date each place tells of it."""
    reckoned = reckon_one(cast.book, now)
    with patch("django.utils.timezone.now", return_value=now):
        pages = _pages(cast)
    rows = Passage.objects.live().with_places().filter(book=cast.book, state__in=HELD).order_by("pk")
    return {row.pk: _told(row, reckoned, pages, cast.illustrator) for row in rows}


def disagreements(told: dict[int, Told]) -> list[tuple[int, Told]]:
    """List the passages of which two places tell two dates."""
    return [(passage, dates) for passage, dates in told.items() if len(set(dates.values())) > 1]


def _pages(cast: Cast) -> dict[str, dict[int, date | None]]:
    seat = cast.illustrator
    pieces = [piece for opening in map_page(cast.book, seat).openings for piece in opening.pieces if piece]
    desks = {
        (ask.due_on, asked.passage)
        for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR)
        for ask in _asks(cast.seat(role))
        if not ask.is_letter
        for asked in ask.pieces
    }
    account = account_of(cast.book, seat)
    return {
        "map": {piece.passage: piece.due_on for piece in pieces},
        "desk": {passage: due_on for due_on, passage in desks},
        "account": {line.passage.pk: line.due_now for line in account.lines},
    }


def _asks(seat: Seat) -> Iterator:
    desk = desk_of(seat.person)
    yield from (*desk.mine, *desk.others)


def _is_with_printer(row: Passage) -> bool:
    return row.state == PassageState.DRAWING and row.stage.kind in PRINTERS_STAGES


def _told(row: Passage, reckoned: Reckoning, pages: dict[str, dict[int, date | None]], seat: Seat) -> Told:
    side = HELD[PassageState(row.state)]
    is_answer = side == Side.PUBLISHER
    [line] = [line for line in reckoned.statement.lines if line.passage == row.pk]
    turn = line.turns[-1] if line.turns and line.turns[-1].is_open else None
    # What the printer has is in no turn; everything else is in one of the side that holds it.
    assert turn is None if _is_with_printer(row) else turn is not None and turn.side == side, row
    head = passage_words(row, seat=seat)
    told: Told = {
        "row": row.answer_due_on if is_answer else row.due_on,
        **({"turn": turn.due_on} if turn else {}),
        "statement": line.due.answer_on if is_answer else line.due.current_on,
        "table": head["answer_due_on"] if is_answer else head["due_on"],
        **{place: dates[row.pk] for place, dates in pages.items() if row.pk in dates},
    }
    names = {"book_key": "", "person_key": "", "title": "", "url": "{passage}"}
    for event in events_of(reckoned.story, reckoned.statement, [side], **names):
        if event.url == str(row.pk) and not event.is_cancelled:
            told["feed"] = event.on
    for reminder in reminders_of(reckoned.statement):
        if reminder.passage == row.pk:
            told["reminder"] = reminder.due_on
    [spread] = [spread for spread in schedule_of(reckoned.statement).rows if spread.spread == row.spread_id]
    if spread.now and spread.now.stage == line.stage:
        told["schedule"] = spread.now.due_on
    return told
