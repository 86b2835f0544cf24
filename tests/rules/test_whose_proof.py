"""Whose a proof is, as its ledger says it: the printer's where the opening entry says so, else the illustrator's."""

from dataclasses import replace
from datetime import date

import pytest

from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import RoundGroup, StageDays
from reviews.rules.schedule import schedule_of
from reviews.rules.states import Side
from tests.rules.ledgers import Ledger, day, history, turns

PRODUCTION = ("production", "Wren Tollgate")
TERMS = history(
    stages=(StageDays("colour", 5, 3), StageDays("proof", 5, 3)), groups=(RoundGroup("proof", ("proof",), 2),)
)


def opened_proof(*, is_told=True):
    """Colour is approved on Tuesday 10 March, which opens the proof (102)."""
    book = Ledger(n_spreads=1, stages=("colour", "proof"))
    book.hand_in(101, day("2026-03-06"))
    letter = book.letter(day("2026-03-10"), book.approve(101))
    if is_told:
        letter.data["answers"][0]["printers"] = [102]
    return book


def handed_in(book, at, who):
    """Hand in the proof as a seat of this role."""
    book.hand_in(102, at)
    book.entries[-1] = replace(book.entries[-1], role=who[0], by=who[1])


def sides(book, as_of):
    return [(turn.side, turn.until_on) for turn in turns(book, TERMS, as_of)[102]]


def test_a_proof_told_as_the_printers_is_in_nobodys_hands():
    assert sides(opened_proof(), date(2026, 3, 20)) == []


def test_a_proof_opened_before_that_was_told_is_the_illustrators_as_it_was_counted():
    book = opened_proof(is_told=False)
    as_told = sides(book, date(2026, 3, 20))
    assert as_told == [(Side.ILLUSTRATOR, date(2026, 3, 20))]
    handed_in(book, day("2026-03-26"), PRODUCTION)
    assert sides(book, date(2026, 3, 30))[0] == (Side.ILLUSTRATOR, date(2026, 3, 26)), "what came since changes nothing"


@pytest.mark.parametrize(("who", "later"), [(PRODUCTION, []), (("illustrator", "Juniper"), [Side.ILLUSTRATOR])])
@pytest.mark.parametrize("is_told", [True, False])
def test_a_proof_goes_back_to_whoever_handed_it_in(who, later, is_told):
    book = opened_proof(is_told=is_told)
    handed_in(book, day("2026-03-17"), who)
    ask = book.ask(102) | {"handed_in_by": who[0]}
    book.letter(day("2026-03-19"), ask)
    first = [] if is_told else [Side.ILLUSTRATOR]
    assert [side for side, _ in sides(book, date(2026, 4, 1))] == [*first, Side.PUBLISHER, *later]
    statement = draw_up(book.entries, TERMS, date(2026, 4, 1), book.spreads)
    (line,) = (line for line in statement.lines if line.passage == 102)
    assert line.rounds.used == len(later)
    standings = {item.standing for item in statement.rounds.rounds if item.passage == 102}
    assert standings == ({RoundStanding.IN_FEE} if later else {RoundStanding.NOT_COUNTED})


def test_what_production_takes_back_is_with_the_printer_again():
    book = opened_proof()
    handed_in(book, day("2026-03-17"), PRODUCTION)
    book.withdraw(102, day("2026-03-18"))
    assert [side for side, _ in sides(book, date(2026, 4, 1))] == [Side.PUBLISHER]


def test_an_old_round_on_a_proof_stays_one_when_production_hands_in_the_next():
    """An ask on the illustrator's own proof was a round, and stays one whoever hands in after it."""
    book = opened_proof(is_told=False)
    book.hand_in(102, day("2026-03-13"))
    book.letter(day("2026-03-16"), book.ask(102))
    handed_in(book, day("2026-03-20"), PRODUCTION)
    book.letter(day("2026-03-24"), book.ask(102) | {"handed_in_by": "production"})
    assert [side for side, _ in sides(book, date(2026, 4, 1))] == [
        Side.ILLUSTRATOR, Side.PUBLISHER, Side.ILLUSTRATOR, Side.PUBLISHER,
    ]  # fmt: skip
    statement = draw_up(book.entries, TERMS, date(2026, 4, 1), book.spreads)
    (line,) = (line for line in statement.lines if line.passage == 102)
    assert line.rounds.used == 1


def test_what_cannot_be_met_waits_for_the_publisher_while_the_printer_has_it():
    book = opened_proof()
    statement = draw_up(book.entries, TERMS, date(2026, 3, 12), book.spreads, final_on=date(2026, 3, 13))
    assert [told.waits_for for told in statement.cannot_meet] == [Side.PUBLISHER]


def test_the_schedule_says_that_a_proof_at_the_printer_is_with_the_publisher():
    book = opened_proof()
    told = schedule_of(draw_up(book.entries, TERMS, date(2026, 3, 12), book.spreads))
    assert [(row.now.stage, row.now.side) for row in told.rows] == [("proof", Side.PUBLISHER)]
    assert told.rows[0].now.due_on is not None
