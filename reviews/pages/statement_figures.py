"""The statement as plain rows and as JSON values, for a spreadsheet or for another program."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from reviews.pages.statement import StatementPage
from reviews.pages.statement_money import SumRow
from reviews.pages.wording.term_sets import CAUTION
from reviews.queries.line_names import named, with_names
from reviews.rules.contract.recount import figures
from reviews.rules.contract.rounds import RoundSum
from reviews.rules.contract.statement import Statement
from reviews.rules.contract.terms_text import terms_to_text
from reviews.rules.contract.turn_sums import DaySum
from reviews.rules.states import in_a_sentence

HEADINGS = ("About", "Where", "Figure", "Value", "Unit", "Ledger entries")

#: Told where they can be used: a round left on one spread is no help to another.
_BY_GROUP = ("included", "left")

Row = tuple[str, str, str, str | int | Decimal, str, str]


def statement_json(page: StatementPage) -> dict[str, Any]:
    """Write the statement with its terms and every figure's ledger lines."""
    return {
        "format": "roughproof-statement-1",
        "book": page.book.title,
        "terms_are_implied": page.held.is_implied,
        "about_terms": page.about_terms,
        "terms": [terms_to_text(version) for version in page.statement.versions],
        "last_ledger_line": page.last_line,
        "ledger_stands_at": {"line": page.stand.line, "code": page.stand.code} if page.stand else None,
        "passages_left_out": page.n_hidden,
        # Lines are cited by the names the reader has for them, as on the ledger's page.
        "figures": with_names(figures(page.statement), page.line_names),
        "caution": str(CAUTION),
    }


def statement_rows(page: StatementPage) -> list[Row]:
    """Write every figure as one row, with the ledger lines that made it; the caution stands first."""
    statement = page.statement
    rows: list[Row] = [("Caution", page.book.title, str(CAUTION), statement.as_of.isoformat(), "day", "")]
    if page.stand:
        rows.append(("Ledger", page.book.title, "was at", str(page.stand), "line and code", ""))
    rows += [row for row in _rounds("Rounds", "the book", statement.rounds.book) if row[2] not in _BY_GROUP]
    for group in page.groups:
        rows += _rounds("Rounds", group.where, group.rounds)
    rows += _distinct(statement)
    rows += _days("the book", statement.days)
    for stage, days in page.stages:
        rows += _days(f"all {in_a_sentence(stage)}", days)
    for spread in page.spreads:
        for row in spread.rows:
            rows += _days(row.where, row.days)
            rows += [
                _row("Dates", row.where, name, day.isoformat() if day else "", "day", row.due.entries)
                for name, day in (
                    ("planned", row.due.planned_on),
                    ("due", row.due.current_on),
                    ("handed in", row.due.met_on),
                )
            ]
    for pause in statement.pauses:
        where = f"{pause.reason} (proposed by {pause.proposed_by}, agreed by {pause.by})"
        rows.append(_row("Pauses", where, "first day", pause.first.isoformat(), "day", pause.entries))
        rows.append(_row("Pauses", where, "last day", pause.last.isoformat(), "day", pause.entries))
    for by, role, found in page.people:
        rows.append(_row("Days by person", f"{by}, {role}", "working days", found.working, "days", found.entries))
    for role, found in page.unended:
        rows.append(_row("Days of turns that nobody ended", role, "working days", found.working, "days", found.entries))
    return [(*row[:5], _by_name(row[5], page)) for row in (*rows, *_money(page))]


def _by_name(entries: str, page: StatementPage) -> str:
    return " ".join(named(map(int, entries.split()), page.line_names))


def _row(about: str, where: str, name: str, value: object, unit: str, entries: tuple[int, ...]) -> Row:
    figure = value if isinstance(value, int | Decimal) else str(value)
    return (about, where, name, figure, unit, " ".join(map(str, entries)))


def _rounds(about: str, where: str, found: RoundSum) -> Iterator[Row]:
    # The words and figures of the page: "used" is what is used of the fee, and rounds beyond it stand in their own row.
    told = {
        "included": found.included,
        "used": found.in_fee,
        "left": found.left,
        "over": found.over,
        "outside": found.outside,
        "not counted": found.not_counted,
    }
    for name, n in told.items():
        # What the fee holds was set by the terms or the plan; what is left hangs on both.
        entries = {"included": found.included_by, "left": found.made_by}.get(name, found.entries)
        yield _row(about, where, name, n, "rounds", entries)


def _distinct(statement: Statement) -> Iterator[Row]:
    """Write the days of the calendar, each counted once."""
    found = statement.distinct
    told = {
        "working": found.working,
        "waited on drawing": found.drawing,
        "waited on an answer": found.answering,
        "waited on both": found.both,
        "of them with a late hand-in": found.illustrator_late,
        "of them with a late answer": found.publisher_late,
        "weekends, holidays and days on which nothing waited": found.nobody,
        "of a pause, nobody's": found.paused,
    }
    for name, n in told.items():
        yield _row("Days of the calendar", "the book", name, n, "days", statement.days.entries)


def _days(where: str, found: DaySum) -> Iterator[Row]:
    names = (
        "illustrator", "illustrator_allowed", "illustrator_late", "publisher", "publisher_allowed", "publisher_late",
        "illustrator_forgiven", "publisher_forgiven", "weekend", "holiday", "paused", "both", "calendar_days",
    )  # fmt: skip
    for name in names:
        words = "of both sides" if name == "both" else name.replace("_", " ")
        yield _row("Days", where, words, getattr(found, name), "spread-days", found.entries)


def _money(page: StatementPage) -> Iterator[Row]:
    money = page.money
    for part in page.statement.money.instalments:
        amount, currency = (str(part.money.amount), part.money.currency) if part.money else ("", "")
        yield _row("Instalments", part.name, "amount", amount, currency, part.entries)
        yield _row("Instalments", part.name, "met on", part.met_on or "", "day", part.entries)
        yield _row("Instalments", part.name, "to be paid by", part.pay_by_on or "", "day", part.entries)
    for extra in money.extras:
        yield _row("Extra rounds", extra.where, extra.why, extra.money, "", extra.entries)
    for bill in page.statement.money.bills:
        what, own = bill.name or "extra fees", bill.entries
        yield _row("Invoices", f"{bill.number}, {what}", "amount", bill.money.amount, bill.money.currency, own)
        for name, day in (
            ("invoiced on", bill.invoiced_on),
            ("said to be paid on", bill.paid_on),
            ("received on", bill.received_on),
        ):
            yield _row("Invoices", f"{bill.number}, {what}", name, day or "", "day", own)
        for said, payments in (("said to be paid", bill.said_paid), ("received", bill.received)):
            for one in payments:
                where = f"{bill.number}, {said} on {one.on.isoformat()}"
                yield _row("Payments", where, said, one.money.amount, one.money.currency, (one.seq,))
    for about, sums in (("Sums", money.sums), ("If stopped", money.stopped), ("If rejected", money.rejected)):
        for row in sums:
            yield from _sum(about, row)


def _sum(about: str, row: SumRow) -> Iterator[Row]:
    """Write a sum, each currency for itself, and under it the lines that add up to it."""
    for currency, amount in row.amounts.items():
        yield _row(about, "the book", row.name, amount, currency, row.entries)
    for line in row.working:
        money = line.line.money
        yield _row(f"{about}: working", row.name, line.words, money.amount, money.currency, line.line.entries)
