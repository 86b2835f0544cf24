"""Which dates were kept: every hand-in against its due date, every answer against its own.

A pure fold over the ledger. "By when" is the date as it stood when the thing was done: a date that was
moved later, with a reason, is the one that counts, and the move stands in the ledger.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from reviews.rules.calendars import Calendar
from reviews.rules.days import DayRule, working_days_between
from reviews.rules.entries import Entry
from reviews.rules.states import Deed, PassageState

HAND_IN, ANSWER = "hand-in", "answer"


@dataclass(frozen=True)
class Kept:
    """One thing that was due and was done: a hand-in or an answer; ``seq`` is its ledger line."""

    side: str
    number: int
    due_on: date | None
    done_on: date
    late: int
    seq: int


@dataclass
class PassageDates:
    """The dates of one passage so far; ``due_on`` and ``answer_due_on`` are those that stand now."""

    due_on: date | None = None
    answer_due_on: date | None = None
    number: int = 0
    kept: list[Kept] = field(default_factory=list)
    moves: list[int] = field(default_factory=list)

    def last(self, side: str) -> Kept | None:
        return next((one for one in reversed(self.kept) if one.side == side), None)


class _Fold:
    def __init__(self, calendar: Calendar, rule: DayRule) -> None:
        self.calendar, self.rule = calendar, rule
        self.passages: dict[int, PassageDates] = {}

    def of(self, passage: int) -> PassageDates:
        return self.passages.setdefault(passage, PassageDates())

    def keep(self, dates: PassageDates, side: str, due_on: date | None, entry: Entry) -> None:
        done_on = self.rule.local_date(entry.at)
        late = max(0, working_days_between(due_on, done_on, self.calendar)) if due_on else 0
        dates.kept.append(Kept(side, dates.number, due_on, done_on, late, entry.seq))

    def plan(self, data: Mapping[str, Any]) -> None:
        for line in data.get("passages", ()):
            self.of(line["passage"]).due_on = _day(line["due_on"])

    def hand_in(self, passage: int, entry: Entry) -> None:
        dates = self.of(passage)
        dates.number = entry.data["number"]
        self.keep(dates, HAND_IN, dates.due_on, entry)
        dates.answer_due_on = _day(entry.data["answer_due_on"])

    def withdraw(self, passage: int, number: int) -> None:
        dates = self.of(passage)
        dates.kept = [one for one in dates.kept if one.side != HAND_IN or one.number != number]
        dates.number = max((one.number for one in dates.kept), default=0)
        dates.answer_due_on = None

    def answer(self, passage: int, data: Mapping[str, Any], entry: Entry) -> None:
        """An approval that waits for the second voice is not yet an answer: the clock runs on."""
        dates = self.of(passage)
        if data["to"] == PassageState.ANSWERING:
            return
        # A change to something approved answers nothing that was due.
        if dates.answer_due_on is not None:
            self.keep(dates, ANSWER, dates.answer_due_on, entry)
        dates.answer_due_on = None
        if data["to"] == PassageState.DRAWING:
            dates.due_on = _day(data["due_on"])

    def move(self, passage: int, entry: Entry) -> None:
        dates = self.of(passage)
        dates.moves.append(entry.seq)
        if entry.data["which"] == ANSWER:
            dates.answer_due_on = _day(entry.data["to"])
        else:
            dates.due_on = _day(entry.data["to"])


def dates_met(entries: Iterable[Entry], *, calendar: Calendar, rule: DayRule) -> dict[int, PassageDates]:
    """Tell for every passage what was due when and done when; late days are working days of the calendar."""
    fold = _Fold(calendar, rule)
    for entry in entries:
        _apply(fold, entry)
    return fold.passages


def _apply(fold: _Fold, entry: Entry) -> None:
    _judge(fold, entry)
    for told in (entry.data, *entry.data.get("answers", ())):
        # A stage that opens later than planned is given its own days, and the ledger says the date.
        for passage, due_on in told.get("dues", {}).items():
            fold.of(int(passage)).due_on = _day(due_on)


def _judge(fold: _Fold, entry: Entry) -> None:
    if entry.deed in (Deed.MAKE_BOOK, Deed.LAY_OUT, Deed.CHANGE_PLAN):
        fold.plan(entry.data)
    elif entry.deed == Deed.SEND_LETTER:
        for answer in entry.data["answers"]:
            fold.answer(answer["passage"], answer, entry)
    elif entry.passage is None:
        return
    elif entry.deed == Deed.HAND_IN:
        fold.hand_in(entry.passage, entry)
    elif entry.deed == Deed.WITHDRAW_HAND_IN:
        fold.withdraw(entry.passage, entry.data["number"])
    elif entry.deed == Deed.AGREE:
        fold.answer(entry.passage, entry.data, entry)
    elif entry.deed == Deed.MOVE_DUE_DATE:
        fold.move(entry.passage, entry)


def _day(value: str | None) -> date | None:
    return date.fromisoformat(value) if value else None
