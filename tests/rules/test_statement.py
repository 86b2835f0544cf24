from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.rules.contract.recount import figures
from reviews.rules.contract.rounds import GroupKey
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.contract.terms import RoundGroup, StageDays, TermsHistory
from reviews.rules.contract.turn_sums import PersonDays
from tests.rules.ledgers import CORVIN, Ledger, day, history, ledgers, plain_terms

ENGLISH = TermsHistory((READY_SETS["illustrator"].terms,))


def test_a_statement_names_the_entries_behind_every_figure():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-20"), book.ask(101, due_on="2026-03-30"))
    statement = draw_up(book.entries, history(), date(2026, 3, 23), book.spreads)
    line = statement.lines[0]
    assert line.rounds.entries == (3,)
    assert line.days.entries == (1, 2, 3)
    assert [move.seq for move in line.due.moves] == [3]
    assert statement.days_by_person["art_director", "Corvin Mallowe"] == PersonDays(10, (2, 3))
    assert statement.rounds.groups[GroupKey(1, statement.terms.group_for("", "sketch").name)].used == 1


def test_lines_stand_in_page_order_then_by_stage():
    book = Ledger(n_spreads=3)
    book.spreads[1] = replace(book.spreads[1], position=9)
    statement = draw_up(book.entries, history(), date(2026, 3, 3), book.spreads)
    assert [line.passage for line in statement.lines] == [201, 202, 301, 302, 101, 102]


def test_the_statement_of_a_day_ends_where_that_day_ends_in_the_zone_of_the_terms():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06", hour=23))
    assert draw_up(book.entries, history(zone="UTC"), date(2026, 3, 6)).last_seq == 2
    assert draw_up(book.entries, history(zone="Asia/Tokyo"), date(2026, 3, 6)).last_seq == 1
    assert draw_up(book.entries, history(zone="America/New_York"), date(2026, 3, 5)).last_seq == 1


@given(ledgers(), st.integers(0, 200), st.integers(1, 60))
@settings(max_examples=60)
def test_what_happens_later_never_changes_a_past_statement(book, n_days, later):
    as_of = book.entries[0].at.date() + timedelta(n_days)
    amended = plain_terms(
        version=2,
        from_on=as_of + timedelta(later),
        stages=(StageDays("sketch", 1, 1),),
        groups=(RoundGroup("all", ("sketch",), 9),),
        places=("US",),
        publisher_late_moves=True,
    )
    end = history().versions[0].day_rule.end_of(as_of)
    before = [entry for entry in book.entries if entry.at < end]
    then = draw_up(before, history(), as_of, book.spreads, final_on=date(2026, 9, 1))
    now = draw_up(book.entries, TermsHistory((plain_terms(), amended)), as_of, book.spreads, final_on=date(2026, 9, 1))
    assert figures(now) == figures(then)


@given(ledgers(max_deeds=15), st.integers(0, 30))
@settings(max_examples=40)
def test_every_entry_named_is_one_of_the_ledgers(book, more):
    as_of = book.entries[-1].at.date() + timedelta(more)
    statement = draw_up(book.entries, ENGLISH, as_of, book.spreads)
    seqs = {entry.seq for entry in book.entries}
    named = {seq for line in statement.lines for seq in (*line.rounds.entries, *line.days.entries, *line.due.entries)}
    named |= {seq for part in statement.money.instalments for seq in part.entries}
    assert named <= seqs
    for line in statement.lines:
        # Nothing is counted that no entry accounts for.
        assert bool(line.rounds.used + line.rounds.outside + line.rounds.not_counted) == bool(line.rounds.entries)
        assert not line.days.calendar_days or line.days.entries


def test_a_passage_taken_out_of_the_plan_leaves_the_statement():
    book = Ledger(n_spreads=1)
    book.add(day("2026-03-04"), "change-plan", CORVIN, None, closes=[102], passages=[], opens=[])
    assert [line.passage for line in draw_up(book.entries, history(), date(2026, 3, 5)).lines] == [101]


def test_a_stage_that_needs_no_answer_passes_without_a_publishers_day():
    book = Ledger(n_spreads=1, gate="shown")
    book.add(day("2026-03-06"), "hand-in", ("illustrator", "J"), 101, number=1, to="passed", opens=[102])
    statement = draw_up(book.entries, history(), date(2026, 3, 10), book.spreads)
    assert [(line.days.illustrator, line.days.publisher) for line in statement.lines] == [(4, 0), (2, 0)]
    assert statement.lines[0].state == "passed"
