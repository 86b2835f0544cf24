"""Dates that the terms fix in place of days, counted by hand on a wall calendar of 2026.

"Sketches are due on 1 March, final art on 1 September" is how many publishers' contracts put a period (common practice;
the books are made up). 2026: 7 March and 4 April are Saturdays, 3 April is Good Friday, 6 April Easter Monday.
"""

from dataclasses import replace
from datetime import date

import pytest

from reviews.pages.ready_sets import look_at
from reviews.pages.wording.terms import change_words, rule_lines
from reviews.rules.contract.clauses import clauses_of
from reviews.rules.contract.fixed_dates import dates_set, fixed_on, sets_other_dates
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.recount import count_again, export, figures
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.contract.terms import StageDays, TermsHistory, check_terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.states import Refused, Side
from tests.rules.ledgers import CORVIN, Ledger, day, history, plain_terms, turns

FIXED = (
    StageDays("sketch", 5, 3, redo_days=2, hand_in_on=date(2026, 3, 16), answer_on=date(2026, 3, 25)),
    StageDays("colour", 5, 3, hand_in_on=date(2026, 4, 4)),
)


def test_a_first_version_and_its_first_answer_are_due_on_the_dates_of_the_terms():
    # Begun on Monday 2 March: not the 9th, five days later, but Monday the 16th, ten working days later.
    terms, book = history(stages=FIXED), Ledger(1)
    drawing = turns(book, terms, date(2026, 3, 3))[101][-1]
    assert (drawing.due_on, drawing.allowed) == (date(2026, 3, 16), 10)
    # Handed in on Wednesday the 18th, two working days late; the answer is due on the 25th, five days later.
    book.hand_in(101, day("2026-03-18"))
    drawn, answering = turns(book, terms, date(2026, 3, 18))[101]
    assert (drawn.late, answering.due_on, answering.allowed) == (2, date(2026, 3, 25), 5)
    # Asked on Thursday the 19th: a revision has its two days, and so the second look its three.
    book.letter(day("2026-03-19"), book.ask(101))
    assert turns(book, terms, date(2026, 3, 19))[101][-1].due_on == date(2026, 3, 23)
    book.hand_in(101, day("2026-03-20"))
    assert turns(book, terms, date(2026, 3, 20))[101][-1].due_on == date(2026, 3, 25)
    # Approved on Tuesday the 24th: colour is due on Saturday 4 April, which runs to Monday the 6th.
    book.letter(day("2026-03-24"), book.approve(101))
    assert turns(book, terms, date(2026, 3, 24))[102][-1].due_on == date(2026, 4, 6)


def test_what_opens_or_comes_in_on_the_date_or_later_has_the_days():
    terms, book = history(stages=FIXED), Ledger(1)
    # In on the very day of the answer, Wednesday the 25th: three days, to Monday the 30th.
    book.hand_in(101, day("2026-03-25"))
    assert turns(book, terms, date(2026, 3, 25))[101][-1].due_on == date(2026, 3, 30)
    # Approved on Monday 6 April, the day to which colour's date runs: five days, to Monday the 13th.
    book.letter(day("2026-04-06"), book.approve(101))
    assert turns(book, terms, date(2026, 4, 7))[102][-1].due_on == date(2026, 4, 13)


@pytest.mark.parametrize(
    ("runs_on", "places", "due_on"),
    [
        (True, (), date(2026, 4, 6)),
        (True, ("GB-ENG",), date(2026, 4, 7)),
        (False, ("GB-ENG",), date(2026, 4, 4)),
    ],
)
def test_on_a_closed_day_the_date_runs_on_or_stands_as_the_terms_say(runs_on, places, due_on):
    terms = plain_terms(stages=FIXED, fixed_runs_on=runs_on, places=places)
    assert fixed_on(terms, "", "colour", Side.ILLUSTRATOR) == due_on
    assert fixed_on(terms, "", "sketch", Side.ILLUSTRATOR) == date(2026, 3, 16)
    assert fixed_on(terms, "", "colour", Side.PUBLISHER) is None
    words = rule_lines(terms)["fixed dates"]
    assert ("runs to the next working day" in words, "it holds also" in words) == (runs_on, not runs_on)


def test_a_move_by_two_words_works_on_top():
    terms, book = history(stages=FIXED), Ledger(1)
    book.agree_date(101, day("2026-03-10"), "2026-03-20")
    assert turns(book, terms, date(2026, 3, 10))[101][-1].due_on == date(2026, 3, 20)
    [line, _] = draw_up(book.entries, terms, date(2026, 3, 10), book.spreads).lines
    assert line.due.current_on == date(2026, 3, 20)


def amended_on(text: str, book: Ledger, **changes) -> TermsHistory:
    """Let both sides agree to an amendment, and write into its line the dates that it fixes."""
    first = plain_terms()
    made = replace(first, version=2, from_on=date.fromisoformat(text), **changes)
    story = tell(book.entries, book.spreads)
    running = all_turns(story, Receipts(history(first)), date.fromisoformat(text))
    fixes = [
        {"where": "", "passage": one.passage, "which": one.which, "was_on": "", "due_on": one.due_on.isoformat()}
        for one in dates_set(story, first, made, running)
    ]
    book.add(day(text), "change-terms", CORVIN, None, version=2, from_on=text, terms={}, fixes=fixes)
    return history(first, made)


def test_an_amendment_gives_what_runs_and_what_is_closed_its_dates_from_the_agreement_on():
    # Two spreads; the first was due on Monday 9 March and comes in on Tuesday the 10th, the second is still drawn.
    book = Ledger(2)
    book.hand_in(101, day("2026-03-10"))
    terms = amended_on("2026-03-11", book, stages=FIXED)
    [first, first_colour, second, second_colour] = draw_up(book.entries, terms, date(2026, 3, 11), book.spreads).lines
    # Answered by the 25th rather than the 13th; drawn by the 16th, with two days late until the agreement.
    assert (first.turns[-1].due_on, first.due.answer_on) == (date(2026, 3, 25), date(2026, 3, 25))
    assert (second.turns[-1].due_on, second.due.current_on, second.turns[-1].late) == (
        date(2026, 3, 16), date(2026, 3, 16), 2,
    )  # fmt: skip
    # What is closed was planned for the 20th, and is due on Saturday 4 April, and so Monday the 6th.
    for line in (first_colour, second_colour):
        assert (line.due.planned_on, line.due.current_on) == (date(2026, 3, 20), date(2026, 4, 6))
        assert [move.why for move in line.due.moves] == ["fixed"]
    # A statement of the day before says what held then.
    [before, *_] = draw_up(book.entries, terms, date(2026, 3, 10), book.spreads).lines
    assert before.turns[-1].due_on == date(2026, 3, 13)


def test_what_was_asked_to_change_keeps_the_days_of_its_revision():
    book = Ledger(1)
    book.hand_in(101, day("2026-03-04"))
    book.letter(day("2026-03-05"), book.ask(101))
    terms = amended_on("2026-03-06", book, stages=FIXED)
    assert turns(book, terms, date(2026, 3, 6))[101][-1].due_on == date(2026, 3, 12)


def test_an_amendment_that_says_the_same_dates_moves_none():
    before = plain_terms(stages=FIXED)
    assert not sets_other_dates(before, replace(before, brief_counts=False))
    assert sets_other_dates(before, plain_terms())
    assert sets_other_dates(plain_terms(), before)
    # The rule for closed days touches colour's Saturday alone.
    assert sets_other_dates(before, replace(before, fixed_runs_on=False))
    working = (replace(FIXED[0]), replace(FIXED[1], hand_in_on=date(2026, 4, 1)))
    assert not sets_other_dates(plain_terms(stages=working), plain_terms(stages=working, fixed_runs_on=False))


def test_what_cannot_be_met_waits_for_the_fixed_dates():
    # Sketch by the 16th and answered by the 25th; colour by Monday 6 April and three days to answer: Thursday the 9th.
    for final_on, expected in ((date(2026, 4, 9), []), (date(2026, 4, 8), [date(2026, 4, 9)])):
        found = draw_up(
            Ledger(1).entries, history(stages=FIXED), date(2026, 3, 2), Ledger(1).spreads, final_on=final_on
        )
        assert [told.earliest_on for told in found.cannot_meet] == expected


def test_a_recount_and_its_text_carry_the_dates():
    book = Ledger(1)
    terms = amended_on("2026-03-06", book, stages=FIXED, fixed_runs_on=False)
    file = export("A book", date(2026, 3, 9), None, book.spreads.values(), terms, book.entries)
    assert figures(count_again(file)) == file["figures"]
    dates = [(line["stage"], line["hand_in_on"], line["answer_on"]) for line in file["figures"]["clauses"]["stages"]]
    assert dates == [("sketch", "2026-03-16", "2026-03-25"), ("colour", "2026-04-04", None)]
    assert file["figures"]["clauses"]["fixed_runs_on"] is False
    assert [one["due_on"] for one in file["figures"]["passages"]] == ["2026-03-16", "2026-04-04"]
    assert terms_from_text(terms_to_text(terms.versions[1])) == terms.versions[1]
    old = terms_to_text(plain_terms())
    for line in old["stages"]:
        del line["hand_in_on"], line["answer_on"]
    del old["fixed_runs_on"]
    assert terms_from_text(old) == plain_terms()
    assert "stages" not in clauses_of(plain_terms())


def test_the_page_the_difference_and_the_look_at_a_ready_set_tell_the_dates():
    terms = plain_terms(stages=FIXED)
    words = rule_lines(terms)["fixed dates"]
    assert words.startswith("the first version of sketch is due on 16 March 2026")
    assert "the first answer at sketch is due on 25 March 2026" in words
    assert "fixed dates" not in rule_lines(plain_terms())
    changed = change_words(plain_terms(), terms)
    assert "date of the first version of colour: new, 4 April 2026" in changed
    for ready in READY_SETS.values():
        assert "date of the first version of colour: left out, was 4 April 2026" in look_at(ready, terms).changes


def test_dates_that_run_backwards_are_refused():
    for stages in (
        (replace(FIXED[0], answer_on=date(2026, 3, 13)), FIXED[1]),
        (FIXED[0], replace(FIXED[1], hand_in_on=date(2026, 3, 24))),
    ):
        with pytest.raises(Refused) as refused:
            check_terms(plain_terms(stages=stages))
        assert refused.value.code == "fixed-dates-backwards"
    check_terms(plain_terms(stages=FIXED))


def test_stages_that_a_book_may_order_freely_are_not_held_against_each_other():
    """A book may colour before it inks: only what comes first in every book must be due first."""
    colour = replace(FIXED[1], stage="colour", hand_in_on=date(2026, 4, 4), answer_on=None)
    ink = replace(colour, stage="ink", hand_in_on=date(2026, 4, 20))
    for stages in ((FIXED[0], colour, ink), (FIXED[0], replace(colour, hand_in_on=date(2026, 4, 20)), ink)):
        check_terms(plain_terms(stages=stages))


def test_a_date_over_when_a_turn_began_does_not_bind_it():
    """As a slip of the year would have it; what is closed is told it, and has its days when it opens."""
    book = Ledger(1)
    terms = amended_on("2026-03-04", book, stages=(replace(FIXED[0], hand_in_on=date(2025, 3, 16)), FIXED[1]))
    assert turns(book, terms, date(2026, 3, 5))[101][-1].due_on == date(2026, 3, 9)
