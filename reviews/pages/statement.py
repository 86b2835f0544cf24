"""The statement as people read it: the same rows for the screen, the paper and the table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from django.utils.translation import gettext as _

from reviews.models import Book, TermsVersion
from reviews.pages.statement_money import MoneyPage
from reviews.pages.wording.agreements import (
    entered_words,
    late_words,
    restated_by_amendment_words,
    restated_words,
    waiting_words,
)
from reviews.pages.wording.dates import both_words
from reviews.pages.wording.distinct_days import distinct_words, late_dates_words
from reviews.pages.wording.names import role_words, stage_in_a_sentence, stage_words, state_words
from reviews.pages.wording.pauses import pause_words, paused_days_words
from reviews.pages.wording.terms import whole_book_words
from reviews.queries.line_names import last_stand, names_of
from reviews.queries.proposals import open_proposals
from reviews.queries.statement import entries_of, facts_of
from reviews.queries.terms import HeldTerms, terms_of
from reviews.rules.codes import Stand
from reviews.rules.contract.due_dates import DueDate, Move
from reviews.rules.contract.rounds import RoundSum
from reviews.rules.contract.statement import PassageLine, Statement, draw_up
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turn_sums import DaySum, PersonDays
from reviews.rules.line_names import shared_before
from reviews.rules.proposals import Matter
from reviews.rules.states import Gate, Refused, Role, StageKind, in_a_sentence


@dataclass(frozen=True)
class GroupRow:
    """Rounds of one spread's group of stages."""

    where: str
    rounds: RoundSum


def spread_words(line: PassageLine) -> str:
    """Name the spread of a line, and say where it was dropped: what was used on it is in every sum."""
    label = line.spread.label
    return label if line.dropped_at is None else _("{spread}, dropped").format(spread=label)


def in_books_order(lines: Sequence[PassageLine]) -> list[str]:
    """List the stages of some lines as the book takes them: those of its longest plan, then the others where the trade
    has them.

    Each spread's lines come in the order of its plan.
    """
    by_spread: dict[int, list[str]] = {}
    for line in lines:
        by_spread.setdefault(line.spread.spread, []).append(line.stage)
    plans = sorted(by_spread.values(), key=len, reverse=True)
    found, trade = list(plans[0]) if plans else [], [kind.value for kind in StageKind]
    for stage in dict.fromkeys(one for plan in plans[1:] for one in plan if one not in found):
        before = [n for n, other in enumerate(found) if trade.index(other) < trade.index(stage)]
        found.insert(max(before, default=-1) + 1, stage)
    return found


@dataclass(frozen=True)
class PassageRow:
    """Days and dates of one passage."""

    line: PassageLine

    @property
    def stage(self) -> str:
        return stage_words(self.line.stage)

    @property
    def where(self) -> str:
        return f"{spread_words(self.line)}, {in_a_sentence(self.stage)}"

    @property
    def state(self) -> str:
        return state_words(self.line.state)

    @property
    def days(self) -> DaySum:
        return self.line.days

    @property
    def drawn_late(self) -> str:
        return late_words(self.days.illustrator_late, self.days.illustrator_forgiven)

    @property
    def answered_late(self) -> str:
        return late_words(self.days.publisher_late, self.days.publisher_forgiven)

    @property
    def due(self) -> DueDate:
        return self.line.due

    @property
    def moves(self) -> tuple[Move, ...]:
        return self.line.due.moves

    @property
    def paused(self) -> str:
        """Say how many of its days were nobody's because the work rested."""
        return paused_days_words(self.days.paused) if self.days.paused else ""

    @property
    def silent_on(self) -> date | None:
        """Name the day on which silence counted as approval under the terms, if it did."""
        return next((turn.silent_on for turn in self.line.turns if turn.silent_on), None)

    @property
    def printer_on(self) -> date | None:
        """Name the day from which on a proof that the illustrator was to make is the printer's, if that was told."""
        return next((turn.printer_on for turn in self.line.turns if turn.printer_on), None)

    @property
    def entries(self) -> tuple[int, ...]:
        return tuple(sorted({*self.line.days.entries, *self.line.due.entries}))


@dataclass(frozen=True)
class SpreadRows:
    label: str
    rows: list[PassageRow]


@dataclass(frozen=True)
class PauseRow:
    """A pause that both sides agreed on, in words, and the ledger lines behind it."""

    words: str
    entries: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class StatementPage:
    """A statement for one reader, with the names they have for the ledger's lines and where the ledger stood.

    ``n_hidden`` passages are the illustrator's own and are left out for others. ``n_ledger`` counts the lines of the
    ledger up to that day that this reader may open. To count the others would tell one side how busy the other is with
    drafts and notes that are not its to know.
    """

    book: Book
    statement: Statement
    held: HeldTerms
    today: date
    n_hidden: int
    n_ledger: int
    line_names: dict[int, str] = field(default_factory=dict)
    stand: Stand | None = None
    waiting: str = ""

    @property
    def last_line(self) -> int:
        """Give the number of the last line counted here that both sides read."""
        return shared_before(self.line_names, self.statement.last_seq)

    @property
    def both_words(self) -> str:
        """Say how many days count for both sides, where some do."""
        return both_words(self.statement.days.both) if self.statement.days.both else ""

    @property
    def drawn_late(self) -> str:
        return late_words(self.statement.days.illustrator_late, self.statement.days.illustrator_forgiven)

    @property
    def answered_late(self) -> str:
        return late_words(self.statement.days.publisher_late, self.statement.days.publisher_forgiven)

    @property
    def one_sided(self) -> str:
        """Name who entered the terms this is counted by, where nobody of the other side agreed to them."""
        row = self._row
        if row is None or "proposed" in row.entry.data:
            return ""
        if (line := row.confirmation) and self.book.day_rule.local_date(line.at) <= self.statement.as_of:
            return ""
        return entered_words(row.entry.by, self._day_of(row), None)

    @property
    def restated(self) -> str:
        """Say that the first terms came later than this day, and restate it; with both days."""
        row = self._row
        if row is None or self._day_of(row) <= self.statement.as_of:
            return ""
        if row.number > 1:
            return restated_by_amendment_words(row.number, row.from_on, self._day_of(row))
        return restated_words(row.from_on, self._day_of(row))

    @property
    def about_terms(self) -> list[str]:
        """Say what a reader must know of the terms behind the figures: whose words they have, and since when."""
        one_sided = f"{self.one_sided}." if self.one_sided else ""
        return [words for words in (one_sided, self.restated, self.waiting) if words]

    @property
    def _row(self) -> TermsVersion | None:
        return next((row for row in self.held.rows if row.number == self.statement.terms.version), None)

    def _day_of(self, row: TermsVersion) -> date:
        return self.book.day_rule.local_date(row.entry.at)

    @property
    def pauses(self) -> list[PauseRow]:
        """List the pauses that stood on that day, by their first day."""
        return [PauseRow(pause_words(pause), pause.entries) for pause in self.statement.pauses]

    @property
    def is_past(self) -> bool:
        return self.statement.as_of < self.today

    @property
    def spreads(self) -> list[SpreadRows]:
        found: dict[int, SpreadRows] = {}
        for line in self.statement.every_line:
            rows = found.setdefault(line.spread.spread, SpreadRows(spread_words(line), []))
            rows.rows.append(PassageRow(line))
        return list(found.values())

    @property
    def groups(self) -> list[GroupRow]:
        """List the groups that hold rounds or have used some, in page order."""
        seen = {line.spread.spread: line for line in self.statement.every_line}
        found = []
        for key, rounds in self.statement.rounds.groups.items():
            line = seen.get(key.spread)
            if not (rounds.included or rounds.entries) or (line is None and key.spread):
                continue
            where = spread_words(line) if line is not None else whole_book_words(key.part)
            found.append((line.spread.position if line else 0, GroupRow(f"{where}, {_named(key.group)}", rounds)))
        return [row for _, row in sorted(found, key=lambda pair: pair[0])]

    @property
    def stages(self) -> list[tuple[str, DaySum]]:
        return [
            (stage_words(kind), self.statement.days_by_stage[kind])
            for kind in in_books_order(self.statement.every_line)
        ]

    @property
    def people(self) -> list[tuple[str, str, PersonDays]]:
        return [
            (by, _role(role), found)
            for (role, by), found in sorted(self.statement.days_by_person.items())
            if by and found.working
        ]

    @property
    def unended(self) -> list[tuple[str, PersonDays]]:
        """List by part the days of turns that still run, or that ended without anybody's doing: nobody's yet."""
        rows = sorted(self.statement.days_by_person.items())
        return [(_role(role), found) for (role, by), found in rows if not by and found.working]

    @property
    def distinct_words(self) -> str:
        return distinct_words(self.statement.distinct)

    @property
    def late_words(self) -> str:
        return late_dates_words(self.statement.distinct)

    @cached_property
    def money(self) -> MoneyPage:
        """Give the money of the statement, with each sum's working."""
        where = {line.passage: PassageRow(line).where for line in self.statement.every_line}
        return MoneyPage(self.statement.money, where, self.statement.as_of)


def statement_page(
    book: Book, role: Role, *, at: datetime, as_of: date | None = None, until: datetime | None = None
) -> StatementPage:
    """Draw up the statement for a reader, today's or a past day's (7 queries, 8 where terms are implied).

    ``until``: leave out what happened after this moment, on that day too.

    Raises
    ------
    Refused
        ``statement-day`` for a day to come.
    """
    held = terms_of(book)
    local = book.day_rule.local_date(at)
    today = held.history.on(local).day_rule.local_date(at)
    if as_of is not None and as_of > today:
        raise Refused("statement-day")
    entries, facts = entries_of([book.pk]).get(book.pk, []), facts_of([book.pk])
    if until is not None:
        entries = [entry for entry in entries if entry.at <= until]
    statement = draw_up(entries, held.history, as_of or today, facts, final_on=book.final_on)
    ends = statement.terms.day_rule.end_of(statement.as_of)
    last = min(ends - timedelta.resolution, until or at)
    names = names_of(book.pk, role, until=last)
    # What one side has not said yet is not counted out to the other, though the days may hang on it.
    n_read = sum(entry.seq in names and entry.at < ends for entry in entries)
    page = StatementPage(
        book=book,
        statement=replace(statement, n_entries=n_read),
        held=held,
        today=today,
        n_hidden=0,
        n_ledger=len(names),
        line_names=names,
        stand=last_stand(book.pk, names),
        waiting=_waiting(book) if statement.as_of == today and until is None else "",
    )
    if role == Role.ILLUSTRATOR:
        return page
    passages = tell(entries, facts, until=ends).passages
    lines, dropped = (
        tuple(line for line in some if passages[line.passage].gate != Gate.HIDDEN)
        for some in (statement.lines, statement.dropped)
    )
    seen = replace(page.statement, lines=lines, dropped=dropped)
    shown = {line.stage for line in seen.every_line}
    by_stage = {stage: days for stage, days in statement.days_by_stage.items() if stage in shown}
    n_hidden = len(statement.every_line) - len(seen.every_line)
    return replace(page, statement=replace(seen, days_by_stage=by_stage), n_hidden=n_hidden)


def _waiting(book: Book) -> str:
    """Say that terms wait for the other side's word; nothing where none do (1 query)."""
    found = next(iter(open_proposals([book.pk], matter=Matter.TERMS)), None)
    if found is None or found.terms is None:
        return ""
    on = book.day_rule.local_date(found.at)
    return waiting_words(found.by.person.name, on, is_first=found.terms["version"] == 1)


def _named(group: str) -> str:
    try:
        return stage_in_a_sentence(group)
    except Refused:
        return group


def _role(role: str) -> str:
    return role_words(role) if role in set(Role) else role
