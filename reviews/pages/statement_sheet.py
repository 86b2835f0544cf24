"""The statement on one sheet: ten lines that an agent can send on, each with the ledger lines behind it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.statement import StatementPage
from reviews.pages.statement_money import InstalmentRow, SumRow
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.fees import money_words
from reviews.pages.wording.pauses import short_pause_words
from reviews.pages.wording.terms import group_name
from reviews.queries.line_names import named
from reviews.rules.contract.turn import Turn
from reviews.rules.states import PassageState, Side

_DONE = (PassageState.APPROVED, PassageState.PASSED)

#: A line names this many ledger lines at most; the statement behind the sheet names them all.
MOST_LINES = 12


@dataclass(frozen=True)
class SheetLine:
    """One of the ten lines; ``lines`` are the names of the ledger lines behind it, as this reader has them."""

    about: str
    words: str
    lines: tuple[str, ...]

    @property
    def cited(self) -> str:
        """Name the ledger lines, and how many more there are."""
        shown = ", ".join(self.lines[:MOST_LINES])
        more = len(self.lines) - MOST_LINES
        return _("{shown} and {n} more").format(shown=shown, n=more) if more > 0 else shown


@dataclass(frozen=True)
class TenLines:
    """The ten lines of one statement."""

    page: StatementPage

    @property
    def rows(self) -> list[SheetLine]:
        money = self.page.money
        found = [
            self._terms(),
            self._rounds_agreed(),
            self._rounds_used(),
            self._days(),
            self._late(),
            self._waiting(),
            self._fallen_due(),
            self._sum(money.extra_owed, _("Extra fees for changes"), _rounds_priced(len(money.extras))),
            self._balance(),
            self._stopped(),
        ]
        return [SheetLine(about, words, tuple(named(entries, self.page.line_names))) for about, words, entries in found]

    def _terms(self) -> tuple[str, str, tuple[int, ...]]:
        terms = self.page.statement.terms
        if self.page.held.is_implied:
            return _("Agreed"), _("no terms are entered; counted by the stage plans"), ()
        row = next(row for row in self.page.held.rows if row.number == terms.version)
        told = _("version {n} of the terms, in force since {day}; fee {fee}").format(
            n=terms.version, day=day_words(terms.from_on), fee=money_words(terms.fee)
        )
        return _("Agreed"), told, (row.entry.seq,)

    def _rounds_agreed(self) -> tuple[str, str, tuple[int, ...]]:
        groups = self.page.statement.terms.groups
        told = ", ".join(f"{group_name(group)} {group.rounds}" for group in groups) or _("none")
        return _("Rounds in the fee"), told, self.page.statement.rounds.book.included_by

    def _rounds_used(self) -> tuple[str, str, tuple[int, ...]]:
        book = self.page.statement.rounds.book
        told = _("{used} of those in the fee, {over} extra, {outside} outside the fee, {none} not counted").format(
            used=book.in_fee, over=book.over, outside=book.outside, none=book.not_counted
        )
        return _("Rounds used"), told, book.entries

    def _days(self) -> tuple[str, str, tuple[int, ...]]:
        pauses = self.page.statement.pauses
        told = [self.page.distinct_words]
        told += [short_pause_words(pause.first, pause.last, pause.reason) for pause in pauses]
        return _("Days, each counted once"), "; ".join(told), tuple(seq for pause in pauses for seq in pause.entries)

    def _late(self) -> tuple[str, str, tuple[int, ...]]:
        turns = [turn for line in self.page.statement.every_line for turn in line.turns if turn.late]
        return _("Late"), self.page.late_words or _("nothing was late"), _behind(turns)

    def _waiting(self) -> tuple[str, str, tuple[int, ...]]:
        lines = self.page.statement.lines
        n_done = sum(line.state in _DONE for line in lines)
        held = [turn for line in lines for turn in line.turns if turn.is_open]
        told = [_("{n} of {all} stages done").format(n=n_done, all=len(lines))]
        told += [
            words.format(n=len(theirs), day=day_words(min(turn.from_on for turn in theirs)))
            for side, words in (
                (Side.ILLUSTRATOR, _("{n} being drawn, the first since {day}")),
                (Side.PUBLISHER, _("{n} waiting for an answer, the first since {day}")),
            )
            if (theirs := [turn for turn in held if turn.side == side])
        ]
        return _("Status"), "; ".join(told), _behind(held)

    def _fallen_due(self) -> tuple[str, str, tuple[int, ...]]:
        met = [part for part in self.page.money.instalments if part.state.met_on]
        told = self.page.money.fallen_due.money
        if met:
            last = max(part.state.met_on for part in met if part.state.met_on)
            told = _("{sum}, the last since {day}; not yet due: {rest}").format(
                sum=told, day=day_words(last), rest=self.page.money.not_yet.money
            )
        return _("Fallen due by instalments"), told, self.page.money.fallen_due.entries

    def _balance(self) -> tuple[str, str, tuple[int, ...]]:
        row = self.page.money.balance
        told = row.money
        overdue = _overdue_since(self.page.money.instalments)
        if overdue is not None:
            told = _("{sum}; the first of it was to be paid by {day}").format(sum=told, day=day_words(overdue))
        return _("Owed, and not told as received"), told, row.entries

    def _stopped(self) -> tuple[str, str, tuple[int, ...]]:
        found = self.page.statement.money.cancellation
        told = _("the terms do not say") if found.owed is None else money_words(found.owed)
        return _("Owed in all if the book were cancelled"), told, found.entries

    def _sum(self, row: SumRow, about: str, more: str) -> tuple[str, str, tuple[int, ...]]:
        return about, f"{row.money}{more}", row.entries


def _rounds_priced(n: int) -> str:
    return ngettext(" for {n} round", " for {n} rounds", n).format(n=n) if n else ""


def _behind(turns: list[Turn]) -> tuple[int, ...]:
    return tuple(sorted({seq for turn in turns for seq in turn.entries}))


def _overdue_since(parts: list[InstalmentRow]) -> date | None:
    """Find the first day by which something was to be paid that nobody has told as received."""
    days = (part.state.pay_by_on for part in parts if part.is_overdue)
    return min((day for day in days if day is not None), default=None)
