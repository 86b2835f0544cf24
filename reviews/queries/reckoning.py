"""A book reckoned up for one day: its story, its account, and what is left, from one reading of the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from reviews.models import Book
from reviews.queries.statement import entries_of, facts_of
from reviews.queries.terms import entered_terms, implied_terms
from reviews.rules.contract.fixed_dates import first_end
from reviews.rules.contract.rounds_used import GroupKey, key_of
from reviews.rules.contract.statement import PassageLine, Statement, draw_up
from reviews.rules.contract.terms import TermsHistory
from reviews.rules.contract.timeline import Story, tell
from reviews.rules.forecast.outlook import Setting
from reviews.rules.forecast.outlook_text import Question
from reviews.rules.forecast.pace import left_to_do, pace_of
from reviews.rules.forecast.rhythm import letters_every, without_batch_wait
from reviews.rules.states import Gate, Role, Side


@dataclass(frozen=True)
class Reckoning:
    """What the dates of one book are worked out from."""

    book: Book
    terms: TermsHistory
    story: Story
    statement: Statement

    @property
    def today(self) -> date:
        return self.statement.as_of

    @property
    def target_on(self) -> date | None:
        """Give the contract date; without one, the last day of the plan as it was first laid out."""
        if self.book.final_on:
            return self.book.final_on
        ends = [self._planned_end(line) for line in self.statement.lines]
        return max((on for on in ends if on), default=None)

    def _planned_end(self, line: PassageLine) -> date | None:
        terms, planned_on = self.statement.terms, line.due.planned_on
        answers = self.story.passages[line.passage].gate == Gate.ANSWERS
        if planned_on is None or not answers:
            return planned_on
        return first_end(terms, line.spread.part, line.stage, Side.PUBLISHER, planned_on) or planned_on

    def group_of(self, line: PassageLine) -> GroupKey:
        """Name the group of stages whose rounds a passage shares."""
        return key_of(line.spread, line.stage, self.statement.terms)

    def is_hidden(self, passage: int) -> bool:
        """Say whether only the illustrator sees a passage."""
        return self.story.passages[passage].gate == Gate.HIDDEN

    def seen_by(self, role: Role) -> Statement:
        """Leave out the stages that the publisher does not see, for everybody but the illustrator."""
        if role == Role.ILLUSTRATOR:
            return self.statement
        lines, dropped = (
            tuple(line for line in some if not self.is_hidden(line.passage))
            for some in (self.statement.lines, self.statement.dropped)
        )
        return replace(self.statement, lines=lines, dropped=dropped)

    def question(self) -> Question:
        """Gather what a forecast is computed from."""
        turns = {line.passage: line.turns for line in self.statement.lines}
        terms = self.statement.terms
        pieces = left_to_do(self.story, turns, terms)
        every = letters_every(self.story, self.terms)
        pace = without_batch_wait(pace_of(self.story, turns, terms), every, pieces)
        drawing, answering = (terms.calendar_of(side) for side in Side)
        # Nothing is drawn before the day on which work starts.
        begins_on = max(self.today, self.story.start_on or self.today)
        setting = Setting(today=begins_on, hands=drawing, desk=answering, letters_every=every, target_on=self.target_on)
        return Question(pieces, pace, setting)


def reckon(books: Sequence[Book], now: datetime) -> dict[int, Reckoning]:
    """Reckon books up for today, each in its own time zone (3 queries, and 1 for each book without entered terms)."""
    ids = [book.pk for book in books]
    entries, facts, entered = entries_of(ids), facts_of(ids), entered_terms(ids)
    found = {}
    for book in books:
        own = entries.get(book.pk, [])
        terms = entered.get(book.pk) or TermsHistory((implied_terms(book),))
        today = terms.on(book.day_rule.local_date(now)).day_rule.local_date(now)
        statement = draw_up(own, terms, today, facts, final_on=book.final_on)
        story = tell(own, facts, until=statement.terms.day_rule.end_of(today))
        found[book.pk] = Reckoning(book, terms, story, statement)
    return found


def reckon_one(book: Book, now: datetime) -> Reckoning:
    """Reckon one book up for today (3 or 4 queries)."""
    return reckon([book], now)[book.pk]
