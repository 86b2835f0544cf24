"""Five hundred random books under random terms: what must hold of every contract and every history."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from unittest.mock import patch

import pytest
from django.template.loader import render_to_string
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from reportlab.platypus import Spacer

from reviews.models import Book
from reviews.notices import statement_paper
from reviews.pages.statement import StatementPage
from reviews.pages.statement_figures import statement_json, statement_rows
from reviews.pages.statement_money import BillRow
from reviews.queries.terms import HeldTerms
from reviews.rules.contract.amounts import Step, in_purse
from reviews.rules.contract.final_date import final_on_at
from reviews.rules.contract.recount import count_again, differences, export, figures
from reviews.rules.contract.statement import Statement, draw_up
from reviews.rules.contract.turn_sums import DaySum
from reviews.rules.entries import Entry
from reviews.rules.states import Deed, Side
from tests.rules.random_books import RandomBook, random_books

pytestmark = pytest.mark.slow

#: A book is drawn anew for each property; a failure is not made smaller, since that takes longer than reading it.
many = settings(
    max_examples=500, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate]
)

#: Both sides agreed on what these deeds do; every other is the act of one side alone.
AGREED = {Deed.MOVE_DUE_DATE, Deed.CHANGE_TERMS, Deed.AGREE_PAUSE, Deed.REPAGE}

#: The columns of the table, which has that of pauses only where there are some.
DAY_FIELDS = (
    "illustrator",
    "illustrator_late",
    "publisher",
    "publisher_late",
    "weekend",
    "holiday",
    "paused",
    "calendar_days",
)


def drawn_up(book: RandomBook, as_of: date) -> Statement:
    return draw_up(book.ledger.entries, book.terms, as_of, book.ledger.spreads, final_on=book.final_on)


def some_day(book: RandomBook, more: int) -> date:
    return book.at.date() + timedelta(more)


@many
@given(random_books(), st.integers(0, 60))
def test_the_sum_of_days_is_the_calendar(book, more):
    """Of each passage: from the day after which its first turn counts to its last day, but for what was approved."""
    as_of = some_day(book, more)
    for line in drawn_up(book, as_of).every_line:
        turns, days = line.turns, line.days
        held = sum((turn.until_on - turn.since_on).days for turn in turns)
        assert days.illustrator + days.publisher - days.both + days.weekend + days.holiday + days.paused == held
        for turn in turns:
            assert turn.since_on <= turn.until_on <= max(as_of, turn.since_on)
            own = turn.working - turn.both + turn.weekend + turn.holiday + turn.paused
            assert own == (turn.until_on - turn.since_on).days
            assert sum(part.working for part in turn.parts) == turn.working
            assert min(turn.working, turn.weekend, turn.holiday, turn.paused) >= 0
        for earlier, later in pairwise(turns):
            handed_over = earlier.entries[-1] == later.entries[0]
            follows = later.since_on == earlier.until_on if handed_over else later.since_on >= earlier.until_on
            assert follows, (earlier, later)


@many
@given(random_books(), st.data())
def test_no_later_entry_changes_the_statement_of_a_day(book, data):
    """Neither a deed nor an amendment that came after its end; only first terms entered late would."""
    days = (book.at.date() - book.ledger.entries[0].at.date()).days
    as_of = book.ledger.entries[0].at.date() + timedelta(data.draw(st.integers(0, days)))
    ends = book.terms.known_on(as_of).on(as_of).day_rule.end_of(as_of)
    then = [entry for entry in book.ledger.entries if entry.at < ends]
    final_on = final_on_at(book.ledger.entries, book.final_on, ends)
    at_the_time = draw_up(then, book.terms_by(ends), as_of, book.ledger.spreads, final_on=final_on)
    assert differences(figures(at_the_time), figures(drawn_up(book, as_of))) == []


def _side(entry: Entry) -> Side:
    return Side.ILLUSTRATOR if entry.role == "illustrator" else Side.PUBLISHER


def _before_and_after(book: RandomBook, entry: Entry) -> tuple[Statement, Statement]:
    """Draw the account up at the end of the day of an entry, without it and with it."""
    until = [one for one in book.ledger.entries if one.seq <= entry.seq]
    terms = book.terms_by(entry.at)
    as_of = terms.at(entry.at).day_rule.local_date(entry.at)
    before, after = (draw_up(some, terms, as_of, book.ledger.spreads) for some in (until[:-1], until))
    return before, after


def _figures_of(side: Side, days: DaySum) -> tuple[int, int]:
    if side == Side.ILLUSTRATOR:
        return days.illustrator, days.illustrator_late
    return days.publisher, days.publisher_late


@many
@given(random_books())
def test_nobodys_figure_changes_by_the_other_sides_act_alone(book):
    """Neither days used nor days late, and no date that runs becomes earlier; what is owed to her never falls."""
    for entry in book.ledger.entries[1:]:
        if entry.deed in AGREED:
            continue
        before, after = _before_and_after(book, entry)
        other = _side(entry).other
        for line, now in zip(before.lines, after.lines, strict=True):
            used, late = _figures_of(other, line.days)
            used_now, late_now = _figures_of(other, now.days)
            if entry.deed == Deed.TAKE_BACK_LETTER:
                # The days since the letter were given to the illustrator by mistake, and go back.
                assert used_now <= used and late_now <= late, (entry, line.turns, now.turns)
                continue
            # Where the day of receipt counts, what is given to them today begins today.
            began = sum(turn.working for turn in now.turns if turn.side == other and turn.entries[0] == entry.seq)
            assert (used_now - began, late_now) == (used, late), (entry, line.turns, now.turns)
            turn = line.turns[-1] if line.turns and line.turns[-1].is_open else None
            now_turn = now.turns[-1] if now.turns else None
            if turn and now_turn and turn.side == other and now_turn.is_open and turn.entries[0] == now_turn.entries[0]:
                assert turn.due_on is None or now_turn.due_on >= turn.due_on
        if other == Side.PUBLISHER:
            assert _rounds_told(after) == _rounds_told(before), entry
        _money_moves_by_the_one_who_may(entry, before, after)


@many
@given(random_books())
def test_a_change_of_the_pages_takes_back_nothing_that_was_used_or_earned(book):
    """Dropped, added or back: days used and late, rounds used and what fell due stand; only what is to come changes."""
    for entry in book.ledger.entries[1:]:
        if entry.deed != Deed.REPAGE:
            continue
        before, after = _before_and_after(book, entry)
        began = [turn for line in after.every_line for turn in line.turns if turn.entries[0] == entry.seq]
        for side in Side:
            used, late = _figures_of(side, before.days)
            used_now, late_now = _figures_of(side, after.days)
            today = sum(turn.working for turn in began if turn.side == side)
            assert (used_now - today, late_now) == (used, late), entry
        used_before, used_after = ((one.rounds.book.used, one.rounds.book.outside) for one in (before, after))
        assert used_before == used_after, entry
        for purse in ("fallen_due", "extra_fees", "received"):
            owed, now = getattr(before.money, purse), getattr(after.money, purse)
            assert all(now.get(currency, 0) >= amount for currency, amount in owed.items()), (entry, purse)


def _rounds_told(statement: Statement) -> list[tuple[int, int, int, int]]:
    return [(one.in_fee, one.over, one.outside, one.left) for one in statement.rounds.groups.values()]


#: What one side alone says of money, and which sums may move by it. A letter taken back takes what only it had made.
MAY_MOVE: dict[str, set[str]] = {
    Deed.INVOICE: {"invoiced"},
    Deed.WITHDRAW_INVOICE: {"invoiced"},
    Deed.SAY_PAID: set(),
    Deed.CONFIRM_PAYMENT: {"received", "balance"},
    Deed.WITHDRAW_PAYMENT: {"received", "balance"},
    Deed.TELL_HOURS: set(),
    Deed.AGREE_HOURS: {"extra_fees", "extra_owed", "balance"},
    Deed.CHANGE_BOOK: set(),
    Deed.PROPOSE: set(),
    Deed.WITHDRAW_HAND_IN: {"fallen_due", "not_yet", "balance"},
    Deed.OBJECT: set(),
    Deed.ANNOUNCE_SILENCE: set(),
}
SUMS = ("fallen_due", "not_yet", "extra_fees", "extra_owed", "invoiced", "received", "balance")


def _money_moves_by_the_one_who_may(entry: Entry, before: Statement, after: Statement) -> None:
    sums = {name: (getattr(before.money, name), getattr(after.money, name)) for name in SUMS}
    moved = {name for name, (was, now) in sums.items() if was != now}
    if entry.deed in MAY_MOVE:
        assert moved <= MAY_MOVE[entry.deed], (entry, sums)
    if entry.deed == Deed.WITHDRAW_PAYMENT:
        # What is owed stands again as before the word that is taken back, and never above all that is due.
        assert moved <= (set() if entry.data["said"] == "paid" else {"received", "balance"}), (entry, sums)
        due = in_purse(line.money for line in after.money.balance_working if line.step != Step.PAID)
        assert all(amount <= due.get(currency, 0) for currency, amount in after.money.balance.items())
    if _side(entry) == Side.ILLUSTRATOR or entry.deed == Deed.TAKE_BACK_LETTER:
        return
    for purse in ("fallen_due", "extra_fees"):
        owed, now = sums[purse]
        assert all(now.get(currency, 0) >= amount for currency, amount in owed.items()), (entry, purse)


@many
@given(random_books())
def test_a_letter_taken_back_counts_for_nothing(book):
    """Right after it, every figure is what it were had the letter never gone."""
    for entry in book.ledger.entries:
        if entry.deed != Deed.TAKE_BACK_LETTER:
            continue
        terms = book.terms_by(entry.at)
        as_of = terms.at(entry.at).day_rule.local_date(entry.at)
        until = [one for one in book.ledger.entries if one.seq <= entry.seq]
        never = [one for one in until if one.seq not in (entry.seq, entry.data["sent"])]
        back, gone = (draw_up(some, terms, as_of, book.ledger.spreads) for some in (until, never))
        assert _rounds_told(back) == _rounds_told(gone)
        assert [replace(line.days, entries=()) for line in back.lines] == [
            replace(line.days, entries=()) for line in gone.lines
        ]
        assert [line.due.current_on for line in back.lines] == [line.due.current_on for line in gone.lines]
        assert all(getattr(back.money, name) == getattr(gone.money, name) for name in SUMS)


def _page(book: RandomBook, statement: Statement) -> StatementPage:
    names = {entry.seq: str(entry.seq) for entry in book.ledger.entries}
    row = Book(pk=1, title="The Otter Who Kept Time", final_on=None)
    held = HeldTerms(book.terms, ())
    return StatementPage(
        book=row, statement=statement, held=held, today=statement.as_of, n_hidden=0, n_ledger=0, line_names=names
    )


def _on_screen(page: StatementPage) -> dict[str, list[int]]:
    """Read the table of days off the page: the figures of each row, in the order of `DAY_FIELDS`."""
    told = {"page": page, "statement": page.statement, "ledger_url": "/", "line_names": page.line_names}
    html = render_to_string("reviews/statement/_days.html", told)
    table = html[html.index("<thead>") : html.index("</table>")]
    found = {}
    for row in re.findall(r"<tr>(.*?)</tr>", table, re.S):
        name = re.search(r'<th scope="row">\s*(.*?)\s*</th>', row, re.S)
        if name:
            found[name[1]] = [int(figure) for figure in re.findall(r'<td class="number"[^>]*>\s*(\d+)\s*</td>', row)]
    return found


def _on_paper(page: StatementPage) -> Iterator[list[str]]:
    """Catch every row of every table that the paper sets."""
    rows: list[list[str]] = []

    def caught(headings, body, shares):
        rows.extend([str(cell) for cell in row] for row in body)
        return Spacer(1, 1)

    with patch.object(statement_paper, "_table", caught):
        statement_paper.statement_pdf(page)
    yield from rows


@many
@given(random_books(), st.integers(0, 60))
def test_page_paper_table_data_and_recount_say_the_same(book, more):
    statement = drawn_up(book, some_day(book, more))
    page = _page(book, statement)
    exported = export(
        page.book.title, statement.as_of, book.final_on, book.ledger.spreads.values(), book.terms, book.ledger.entries
    )
    file = json.loads(json.dumps(exported))
    counted = json.loads(json.dumps(figures(count_again(file))))
    assert differences(file["figures"], counted) == []
    told = json.loads(json.dumps(statement_json(page)["figures"]))
    sums = {"The whole book": counted["days"]} | {
        name: counted["days_by_stage"][name.lower()] for name, _ in page.stages
    }
    table = {(row[0], row[1], row[2]): row[3] for row in statement_rows(page)}
    rested = bool(statement.pauses)
    width = 8 + rested
    screen, papers = _on_screen(page), list(_on_paper(page))
    paper = {row[0]: row[1:] for row in papers if row[0] in sums and len(row) == width}
    for name, days in sums.items():
        expected = [days.get(field, 0) for field in DAY_FIELDS[:-1]]
        kinds = ("illustrator", "publisher", "weekend", "holiday", "paused")
        expected.append(sum(days.get(key, 0) for key in kinds) - days.get("both", 0))
        where = "the book" if name == "The whole book" else f"all {name.lower()}"
        shown = [figure for figure, field in zip(expected, DAY_FIELDS, strict=True) if rested or field != "paused"]
        assert screen[name] == shown, name
        assert paper[name] == [str(figure) for figure in shown], name
        assert [table["Days", where, field.replace("_", " ")] for field in DAY_FIELDS] == expected, name
    for line, again in zip(told["passages"], counted["passages"], strict=True):
        assert {**line, "entries": []} | _without(line) == {**again, "entries": []} | _without(again)
    _rounds_and_dates(statement, table, counted)
    _sums_of_money(page, table, papers, told["money"], counted["money"])


def _sums_of_money(page: StatementPage, table: dict, papers: list[list[str]], told: dict, counted: dict) -> None:
    """Hold each sum on the page, on paper, in the table and in the data against what was counted again."""
    named = ["fallen_due", "not_yet", "extra_owed", "balance"]
    named += ["unconfirmed"] if counted.get("unconfirmed") else []
    assert bool(counted.get("unconfirmed")) == bool(page.statement.money.unconfirmed)
    html = render_to_string(
        "reviews/statement/_sums.html",
        {"sums": page.money.sums, "title": "Sums", "line_names": page.line_names, "ledger_url": "/"},
    )
    on_screen = {
        re.sub(r"\s*<details.*", "", name, flags=re.S).strip(): amount.strip()
        for name, amount in re.findall(r'<th scope="row">(.*?)</th>\s*<td class="number"[^>]*>(.*?)</td>', html, re.S)
    }
    over = {currency: amount for currency, amount in counted["balance"]["amounts"].items() if Decimal(amount) < 0}
    assert len(page.money.sums) == len(named) + bool(over)
    if over:
        assert page.money.sums[-1].amounts == {currency: -Decimal(amount) for currency, amount in over.items()}
    for key, row in zip(named, page.money.sums, strict=False):
        amounts = counted[key]["amounts"]
        assert told[key]["amounts"] == amounts
        shown = " and ".join(f"{currency} {Decimal(amount):,f}" for currency, amount in amounts.items()) or "nothing"
        assert on_screen[row.name] == shown
        assert next(line[2] for line in papers if line[0] == row.name and len(line) == 4) == shown
        on_table = {currency: str(table_value) for currency, table_value in _told(page, "Sums", row.name)}
        assert on_table == amounts
        working = [Decimal(amount) for line in counted[key]["working"] for amount in line["money"].values()]
        assert not working or sum(working, Decimal(0)) == sum(map(Decimal, amounts.values()), Decimal(0))
    for bill, again in zip(page.money.bills, counted["invoices"], strict=True):
        where = f"{bill.bill.number}, {bill.bill.name or 'extra fees'}"
        assert str(table["Invoices", where, "amount"]) in again["money"].values()
        assert table["Invoices", where, "said to be paid on"] == (again["said_paid_on"] or "")
        assert table["Invoices", where, "received on"] == (again["received_on"] or "")
        _payments_told(bill, papers, table, again)


def _payments_told(bill: BillRow, papers: list[list[str]], table: dict, again: dict) -> None:
    """Hold each part of an invoice against what was counted again; one that was paid whole has no parts to tell."""
    row = next(line for line in papers if line[0] == bill.bill.number and len(line) == 8)
    assert row[4:7] == [bill.said_paid, bill.received, bill.status]
    for said, told in (("said to be paid", again.get("said_paid", ())), ("received", again.get("received", ()))):
        days = {one["on"] for one in told}
        for day in days:
            sums = [Decimal(amount) for one in told if one["on"] == day for amount in one["money"].values()]
            assert table["Payments", f"{bill.bill.number}, {said} on {day}", said] in sums
    open_sum = bill.bill.money.amount - bill.bill.received_sum.amount
    assert (bill.bill.still_open.amount, bill.bill.over.amount) == (max(open_sum, 0), max(-open_sum, 0))


def _told(page: StatementPage, about: str, name: str) -> list[tuple[str, object]]:
    """Find a sum in the table: its currencies and amounts."""
    return [(row[4], row[3]) for row in statement_rows(page) if row[0] == about and row[2] == name]


def _without(passage: dict) -> dict:
    """Leave out the lines that are cited: a reader's names of them are words, the recount's are places."""
    cleared = {}
    for name, value in passage.items():
        if isinstance(value, dict):
            cleared[name] = {key: inner for key, inner in value.items() if key not in ("entries", "included_by")}
        elif name == "moves":
            cleared[name] = [{key: inner for key, inner in move.items() if key != "entry"} for move in value]
    return cleared


def _rounds_and_dates(statement: Statement, table: dict, counted: dict) -> None:
    for name, field in (("used", "used"), ("over", "over"), ("outside", "outside")):
        assert table["Rounds", "the book", name] == counted["rounds"][field]
    for line, again in zip(statement.lines, counted["passages"], strict=True):
        where = f"{line.spread.label}, {line.stage}"
        assert table["Dates", where, "due"] == (again["due_on"] or "")
        assert table["Dates", where, "planned"] == (again["planned_on"] or "")


def test_an_earlier_statement_that_did_change_is_found():
    """The second property is worth something only if it can fail: first terms entered late restate the past."""
    from tests.rules.ledgers import Ledger, day, history, plain_terms

    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    implied, entered = history(), history(counts_receipt=True)
    before = draw_up(book.entries, implied, date(2026, 3, 9), book.spreads)
    after = draw_up(book.entries, entered, date(2026, 3, 9), book.spreads)
    assert differences(figures(before), figures(after)) != []
    assert replace(plain_terms(), counts_receipt=True) == entered.versions[0]
    assert isinstance(book.entries[0].at, datetime)
