"""A pause or a late answer moves the date of a proof by the printer's days, counted by hand on a wall calendar of 2026.

The pause is the week of Monday 20 April. England works on 1 May and on Ascension Day (14 May) and rests on Monday
4 May; Germany the other way about. The books are made up.
"""

from datetime import date

import pytest

from reviews.rules.contract.pause_moves import dates_moved
from reviews.rules.contract.pauses import PauseWord
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import RoundGroup, StageDays
from reviews.rules.contract.timeline import tell
from tests.rules.ledgers import Ledger, day, history

STAGES = {
    "stages": (StageDays("sketch", 5, 3), StageDays("proof", 5, 3)),
    "groups": (RoundGroup("sketch", ("sketch",), 2),),
}
#: From 20 April to 7 May lie 13 days worked in either place; from 27 April on the 13th is 14 May in England, 15 May in
#: Germany.
CASES = (
    ({"places": ("GB-ENG",), "printer_place": "DE"}, date(2026, 5, 15)),
    ({"places": ("GB-ENG", "DE"), "own_places": True}, date(2026, 5, 15)),
    ({"places": ("DE", "GB-ENG"), "own_places": True, "printer_place": ""}, date(2026, 5, 14)),
    ({"places": ("DE",), "printer_place": "GB-ENG"}, date(2026, 5, 14)),
)


def book(terms) -> Ledger:
    made = Ledger(1, stages=("sketch", "proof"), due_on=("2026-03-09", "2026-05-07"))
    made.hand_in(101, day("2026-03-05"))
    return made


@pytest.mark.parametrize(("places", "due_on"), CASES)
def test_a_proof_with_the_printer_is_moved_by_the_days_of_whoever_makes_it(places, due_on):
    terms = history(**STAGES, **places)
    made = book(terms)
    made.letter(day("2026-03-06"), made.approve(101) | {"printers": [102], "dues": {"102": "2026-05-07"}})
    word = PauseWord(pause=1, seq=len(made.entries) + 1, first=date(2026, 4, 20), last=date(2026, 4, 24))
    stands = {(102, "hand-in"): date(2026, 5, 7)}
    [moved] = dates_moved(tell(made.entries, made.spreads), terms, word, stands, date(2026, 4, 10))
    assert (moved.was_on, moved.due_on) == (date(2026, 5, 7), due_on)


@pytest.mark.parametrize(("places", "due_on"), CASES)
def test_a_proof_that_is_not_open_yet_is_moved_alike(places, due_on):
    terms = history(**STAGES, **places)
    made = book(terms)
    made.pause(day("2026-04-10"), "2026-04-20", "2026-04-24", terms)
    [_, proof] = draw_up(made.entries, terms, date(2026, 4, 13), made.spreads).lines
    assert (proof.due.planned_on, proof.due.current_on) == (date(2026, 5, 7), due_on)


@pytest.mark.parametrize(
    ("places", "due_on"),
    [
        ({"places": ("GB-ENG",), "printer_place": "DE"}, date(2026, 5, 4)),
        ({"places": ("DE",), "printer_place": "GB-ENG"}, date(2026, 5, 1)),
        ({"places": ("GB-ENG",)}, date(2026, 5, 1)),
    ],
)
@pytest.mark.parametrize("answers", [False, True])
def test_a_late_answer_moves_a_proof_by_the_days_of_whoever_makes_it(places, due_on, answers):
    """Sketches of Thursday 5 March are answered by the 10th; a day late moves the proof from Thursday 30 April."""
    terms = history(**STAGES, **places, publisher_late_moves=True)
    made = Ledger(1, stages=("sketch", "proof"), due_on=("2026-03-09", "2026-04-30"))
    made.hand_in(101, day("2026-03-05"))
    if answers:
        made.letter(day("2026-03-11"), made.ask(101))
    [_, proof] = draw_up(made.entries, terms, date(2026, 3, 11), made.spreads).lines
    assert [(move.why, move.late, move.to_on) for move in proof.due.moves] == [("publisher-late", 1, due_on)]
