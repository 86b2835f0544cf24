"""Clauses about time, each counted by hand on a wall calendar of 2026: revisions, second looks, calendar days, grace,
silence stage by stage.

Proofs that are passed by 14 days of silence are a clause of publishers' contracts in the United Kingdom (30 days in the
United States), and fewer days for a second look are common practice. The books are made up.
"""

from datetime import UTC, date, datetime, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.pages.wording.terms import change_words, rule_lines
from reviews.rules.contract.clauses import clauses_of
from reviews.rules.contract.date_moves import check_moves, times_moved
from reviews.rules.contract.letter_cost import PlannedAsk, cost_of_letter
from reviews.rules.contract.periods import DayUnit, StageSilence
from reviews.rules.contract.recount import count_again, export, figures
from reviews.rules.contract.silence import silences
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import RoundGroup, StageDays, TermsHistory, check_terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from reviews.rules.contract.timeline import tell
from reviews.rules.states import Cause, Refused
from tests.rules.ledgers import Ledger, day, history, plain_terms, turns
from tests.rules.random_terms import CLAUSES

QUICKER = (StageDays("sketch", 5, 3, redo_days=2, second_look_days=1), StageDays("colour", 5, 3))
CALENDAR = (StageDays("sketch", 21, 14, redo_days=7, unit=DayUnit.CALENDAR), StageDays("colour", 5, 3))


def test_a_revision_and_a_second_look_have_days_of_their_own():
    # Begun on Monday 2 March: five days end on the 9th. Handed in on Thursday the 5th, three days end on the 10th.
    terms = history(stages=QUICKER)
    book = Ledger(1)
    assert turns(book, terms, date(2026, 3, 3))[101][-1].due_on == date(2026, 3, 9)
    book.hand_in(101, day("2026-03-05"))
    assert turns(book, terms, date(2026, 3, 6))[101][-1].due_on == date(2026, 3, 10)
    # Asked on Friday the 6th: a revision has Monday and Tuesday. Handed in on Tuesday the 10th: Wednesday to answer.
    book.letter(day("2026-03-06"), book.ask(101))
    assert turns(book, terms, date(2026, 3, 6))[101][-1].due_on == date(2026, 3, 10)
    book.hand_in(101, day("2026-03-10"))
    assert turns(book, terms, date(2026, 3, 10))[101][-1].due_on == date(2026, 3, 11)
    # Approved on Wednesday the 11th: colour is a first version again, five days from then, or its plan's later date.
    book.letter(day("2026-03-11"), book.approve(101))
    drawing = turns(book, terms, date(2026, 3, 12))[102][-1]
    assert (drawing.allowed, drawing.due_on) == (5, date(2026, 3, 18))
    # What each side had in all: 5 + 2 to draw the sketch, 3 + 1 to answer it.
    days = draw_up(book.entries, terms, date(2026, 3, 12), book.spreads).days_by_stage["sketch"]
    assert (days.illustrator_allowed, days.publisher_allowed) == (7, 4)


def test_the_letter_names_the_date_of_the_revision_before_it_goes():
    terms, today = history(stages=QUICKER), date(2026, 3, 6)
    book = Ledger(1)
    book.hand_in(101, day("2026-03-05"))
    statement = draw_up(book.entries, terms, today, book.spreads)
    at = datetime.combine(today, time(12), UTC)
    [told] = cost_of_letter(tell(book.entries, book.spreads), statement, [PlannedAsk(101, (Cause.DIRECTION,))], at).asks
    assert told.due_on == date(2026, 3, 10)


def test_calendar_days_run_through_weekends_and_end_on_a_working_day():
    # Three weeks from Monday 2 March: Monday 23 March. Handed in on Tuesday 10 March: two weeks end on the 24th.
    # A week from Friday 3 April (Good Friday in England) is the 10th; from Saturday the 4th it would be the 11th, so
    # Monday the 13th.
    terms = history(stages=CALENDAR, places=("GB-ENG",))
    book = Ledger(1, due_on=("2026-03-02", "2026-03-20"))
    drawing = turns(book, terms, date(2026, 3, 3))[101][-1]
    assert (drawing.due_on, drawing.allowed) == (date(2026, 3, 23), 15)
    book.hand_in(101, day("2026-03-10"))
    answering = turns(book, terms, date(2026, 3, 11))[101][-1]
    assert (answering.due_on, answering.allowed) == (date(2026, 3, 24), 10)
    for asked, due_on, allowed in (("2026-04-03", date(2026, 4, 10), 4), ("2026-04-04", date(2026, 4, 13), 5)):
        again = Ledger(1, due_on=("2026-03-02", "2026-03-20"))
        again.hand_in(101, day("2026-03-10"))
        again.letter(day(asked), again.ask(101))
        drawing = turns(again, terms, date(2026, 4, 7))[101][-1]
        assert (drawing.due_on, drawing.allowed) == (due_on, allowed)


def test_a_day_of_receipt_that_counts_is_the_first_of_the_calendar_days():
    terms = history(stages=CALENDAR, counts_receipt=True)
    book = Ledger(1, due_on=("2026-03-02", "2026-03-20"))
    book.hand_in(101, day("2026-03-10"))
    assert turns(book, terms, date(2026, 3, 11))[101][-1].due_on == date(2026, 3, 23)


def test_what_cannot_be_met_steps_through_calendar_days():
    # From Monday 2 March: 21 days to draw (23 March), 14 to answer (6 April), then 5 and 3 working days (16 April).
    book = Ledger(1, due_on=("2026-03-02", "2026-03-20"))
    for final_on, expected in ((date(2026, 4, 16), []), (date(2026, 4, 15), [date(2026, 4, 16)])):
        found = draw_up(book.entries, history(stages=CALENDAR), date(2026, 3, 2), book.spreads, final_on=final_on)
        assert [told.earliest_on for told in found.cannot_meet] == expected


FORTNIGHT = StageSilence("proof", 14, DayUnit.CALENDAR)


def proof(silence=FORTNIGHT, **changes):
    """Proofs within 14 days or passed; a sketch is never approved by silence, whatever the rest says."""
    return plain_terms(
        stages=(StageDays("sketch", 5, 3), StageDays("proof", 5, 10)),
        groups=(RoundGroup("sketch", ("sketch",), 2),),
        silences=(silence, StageSilence("sketch", None)),
        places=("GB-ENG",),
        **changes,
    )


def test_proofs_within_14_days_or_passed():
    # Handed in on Friday 10 April 2026: 14 days end on Friday the 24th; ten working days end there too.
    book = Ledger(1, stages=("proof",), due_on=("2026-04-10",))
    book.hand_in(101, day("2026-04-10"))
    terms = TermsHistory((proof(),))
    assert turns(book, terms, date(2026, 4, 13))[101][-1].silence_on == date(2026, 4, 24)
    # Three working days before: Tuesday the 21st, and not on Monday the 20th.
    warned = [
        [one.silent_on for one in silences(draw_up(book.entries, terms, on, book.spreads))]
        for on in (date(2026, 4, 20), date(2026, 4, 21))
    ]
    assert warned == [[], [date(2026, 4, 24)]]
    book.announce(101, day("2026-04-21"), "2026-04-24")
    due = [silences(draw_up(book.entries, terms, date(2026, 4, on), book.spreads)) for on in (24, 25)]
    assert [[one.deed for one in found] for found in due] == [[], ["approve-by-silence"]]


@pytest.mark.parametrize("general", [None, 20])
def test_silence_never_approves_a_stage_that_is_left_out_of_it(general):
    book = Ledger(1, stages=("sketch", "proof"))
    book.hand_in(101, day("2026-04-10"))
    terms = TermsHistory((proof(silence_approves_after=general),))
    assert turns(book, terms, date(2026, 4, 13))[101][-1].silence_on is None


def test_silence_never_comes_before_the_last_day_of_the_answer():
    # Seven calendar days from 10 April are the 17th; the answer itself is due on the 24th.
    book = Ledger(1, stages=("proof",), due_on=("2026-04-10",))
    book.hand_in(101, day("2026-04-10"))
    terms = TermsHistory((proof(StageSilence("proof", 7, DayUnit.CALENDAR)),))
    assert turns(book, terms, date(2026, 4, 13))[101][-1].silence_on == date(2026, 4, 24)


@pytest.mark.parametrize(
    ("grace", "answered", "late"),
    [(0, "2026-03-12", 2), (2, "2026-03-12", 0), (2, "2026-03-13", 1), (2, "2026-03-16", 2), (0, "2026-03-10", 0)],
)
def test_only_the_days_beyond_the_grace_are_late(grace, answered, late):
    # Handed in on Thursday 5 March, due on Tuesday the 10th.
    book = Ledger(1)
    book.hand_in(101, day("2026-03-05"))
    book.letter(day(answered), book.ask(101))
    statement = draw_up(book.entries, history(answer_grace=grace), date(2026, 3, 20), book.spreads)
    assert (statement.days.publisher_late, statement.lines[0].turns[1].due_on) == (late, date(2026, 3, 10))


def test_the_illustrators_grace_is_the_illustrators_own():
    # Due on Monday 9 March, handed in on Thursday the 12th: three days over, one of them beyond a grace of two.
    book = Ledger(1)
    book.hand_in(101, day("2026-03-12"))
    for changes, late in (({"hand_in_grace": 2}, 1), ({"answer_grace": 2}, 3), ({}, 3)):
        statement = draw_up(book.entries, history(**changes), date(2026, 3, 12), book.spreads)
        assert (statement.days.illustrator_late, statement.lines[0].due.late) == (late, late)


def test_days_of_grace_move_no_date():
    # Answered on Friday the 13th, three days over; of these one is beyond a grace of two and moves the colour by one.
    book = Ledger(1)
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-13"), book.approve_first_voice(101))
    moved = [
        draw_up(book.entries, history(answer_grace=grace, publisher_late_moves=True), date(2026, 3, 13), book.spreads)
        .lines[1]
        .due.current_on
        for grace in (0, 2, 3)
    ]
    assert moved == [date(2026, 3, 25), date(2026, 3, 23), date(2026, 3, 20)]


def test_a_date_is_moved_later_only_so_often():
    moves = [
        {"which": "hand-in", "from": "2026-03-09", "to": "2026-03-16"},
        {"which": "hand-in", "from": "2026-03-16", "to": "2026-03-13"},  # brought forward: no move
        {"which": "answer", "from": "2026-03-20", "to": "2026-03-24"},
        {"which": "hand-in", "from": "", "to": "2026-03-24"},  # there was no date before
        {"from": "2026-03-13", "to": "2026-03-20"},  # as entries of before told a hand-in's
    ]
    assert (times_moved(moves, "hand-in"), times_moved(moves, "answer")) == (2, 1)
    check_moves(moves, "hand-in", plain_terms(moves_at_most=3))
    check_moves(moves, "hand-in", plain_terms())
    check_moves(moves, "hand-in", None)
    with pytest.raises(Refused) as refused:
        check_moves(moves, "hand-in", plain_terms(moves_at_most=2))
    assert refused.value.code == "moves-used-up"
    assert rule_lines(plain_terms(moves_at_most=2))["moves of a date"] == (
        "each date is moved later by agreement at most 2 times; what a late answer or a pause moves does not count"
    )
    assert clauses_of(plain_terms(moves_at_most=0)) == {"moves_at_most": 0}


#: What every contract says, so that a recount counts by it without naming it as a clause of its own.
ORDINARY = {
    "brief_counts", "cancellation", "counts_receipt", "cut_off", "fee", "groups", "hour_fee", "instalments",
    "late_receipt", "own_places", "places", "publisher_late_moves", "redo_from_letter", "round_fee", "shut",
    "silence_approves_after", "stages", "when_over", "zone",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(CLAUSES.keys() - ORDINARY))
@settings(max_examples=20, deadline=None)
@given(data=st.data())
def test_every_clause_that_not_all_contracts_have_is_named_by_a_recount(name, data):
    """A new clause is found here unless it is one of those that every contract has."""
    value, plain = data.draw(CLAUSES[name]), plain_terms()
    is_named = name in clauses_of(plain_terms(**{name: value}))
    assert is_named == (value != getattr(plain, name))


def test_the_clauses_are_said_and_stand_in_the_recount():
    terms = plain_terms(
        stages=(StageDays("sketch", 20, 10, redo_days=10, second_look_days=5), *CALENDAR[1:]),
        silences=(StageSilence("sketch", None), StageSilence("colour", 14, DayUnit.CALENDAR)),
        answer_grace=3,
    )
    assert terms_from_text(terms_to_text(terms)) == terms
    changes = change_words(plain_terms(), terms)
    assert "days for a revision of sketch: new, 10" in changes
    assert "days for a second look at sketch: new, 5" in changes
    lines = rule_lines(terms)
    assert "at sketch, it never approves; at colour, it counts as approval after 14 calendar days" in lines["silence"]
    assert lines["days of grace"].startswith("no working days for the illustrator, 3 for the publisher")
    book = Ledger(1)
    counted = figures(draw_up(book.entries, TermsHistory((terms,)), date(2026, 3, 3), book.spreads))
    assert set(counted["clauses"]) == {"silences", "answer_grace", "stages"}
    assert [line["stage"] for line in counted["clauses"]["stages"]] == ["sketch"]
    assert "clauses" not in figures(draw_up(book.entries, history(), date(2026, 3, 3), book.spreads))


def test_an_exported_book_with_these_clauses_recounts_to_the_same_figures():
    book = Ledger(2)
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-16"), book.ask(101))
    book.hand_in(201, day("2026-03-17"))
    terms = TermsHistory((plain_terms(stages=QUICKER, answer_grace=2, silences=(StageSilence("sketch", 9),)),))
    file = export("A book", date(2026, 3, 25), None, book.spreads.values(), terms, book.entries)
    assert figures(count_again(file)) == file["figures"]
    assert file["figures"]["clauses"]["answer_grace"] == 2


def test_terms_of_before_read_as_they_stood():
    text = terms_to_text(plain_terms())
    for name in ("silences", "hand_in_grace", "answer_grace", "moves_at_most"):
        del text[name]
    for line in text["stages"]:
        for name in ("redo_days", "second_look_days", "unit"):
            del line[name]
    assert terms_from_text(text) == plain_terms()


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"stages": (StageDays("sketch", 5, 3, redo_days=401), *QUICKER[1:])}, "negative-days-hand-in"),
        ({"stages": (StageDays("sketch", 5, 3, second_look_days=-1), *QUICKER[1:])}, "negative-days-answer"),
        ({"hand_in_grace": -1}, "negative-days-grace"),
        ({"silences": (StageSilence("ink", 5),)}, "silence-without-days"),
        ({"silences": (StageSilence("sketch", 5), StageSilence("sketch", None))}, "terms-stage-twice"),
        ({"silences": (StageSilence("sketch", 2),)}, "silence-too-short"),
        ({"silences": (StageSilence("sketch", 401),)}, "negative-days-silence"),
    ],
)
def test_clauses_that_nobody_could_keep_are_refused(changes, code):
    with pytest.raises(Refused) as refused:
        check_terms(plain_terms(**changes))
    assert refused.value.code == code
