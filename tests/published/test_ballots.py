"""Ranked ballots against elections that are published with their result."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.rules.ballot import Ballot, check_ballot, count, shuffled
from reviews.rules.states import Refused


def ballots(**tally: int) -> list[Ballot]:
    return [Ballot(tuple((letter,) for letter in order), n) for order, n in tally.items()]


# Schulze's own first example: 45 voters, five options.
FORTY_FIVE = ballots(ACBED=5, ADECB=5, BEDAC=8, CABED=3, CAEBD=7, CBADE=2, DCEBA=7, EBADC=8)


def test_the_45_voters_of_schulze():
    """Schulze 2011, example of 45 voters: E wins, the order is E, A, C, B, D; pairwise and path figures as printed."""
    result = count("ABCDE", FORTY_FIVE)
    assert result.n_ballots == 45
    assert result.winners == ("E",)
    assert result.order == (("E",), ("A",), ("C",), ("B",), ("D",))
    assert {pair: result.prefer[pair] for pair in [("A", "B"), ("A", "C"), ("B", "D"), ("D", "C"), ("E", "D")]} == {
        ("A", "B"): 20, ("A", "C"): 26, ("B", "D"): 33, ("D", "C"): 28, ("E", "D"): 31,
    }  # fmt: skip
    assert [result.strength["A", other] for other in "BCDE"] == [28, 28, 30, 24]
    assert [result.strength["E", other] for other in "ABCD"] == [25, 28, 28, 31]


def test_the_capital_of_tennessee():
    """The textbook vote on a capital: Nashville beats each other city; plurality would choose Memphis (42 of 100)."""
    cities = ["Memphis", "Nashville", "Chattanooga", "Knoxville"]
    votes = [
        Ballot((("Memphis",), ("Nashville",), ("Chattanooga",), ("Knoxville",)), 42),
        Ballot((("Nashville",), ("Chattanooga",), ("Knoxville",), ("Memphis",)), 26),
        Ballot((("Chattanooga",), ("Knoxville",), ("Nashville",), ("Memphis",)), 15),
        Ballot((("Knoxville",), ("Chattanooga",), ("Nashville",), ("Memphis",)), 17),
    ]
    result = count(cities, votes)
    assert result.winners == ("Nashville",) and result.condorcet_winner == "Nashville"
    assert result.order[-1] == ("Memphis",)
    assert result.prefer["Nashville", "Memphis"] == 58
    # Borda's points of the same textbook example.
    assert result.borda == {"Memphis": 126.0, "Nashville": 194.0, "Chattanooga": 173.0, "Knoxville": 107.0}


def test_a_tie_is_told_as_one():
    result = count("AB", ballots(AB=3, BA=3))
    assert result.is_tied and set(result.winners) == {"A", "B"} and result.order == (("A", "B"),)
    assert result.condorcet_winner is None


def test_nobody_voting_is_a_tie_of_all():
    assert count("ABC", []).winners == ("A", "B", "C")


def test_what_is_left_out_is_ranked_last_together():
    result = count("ABC", [Ballot((("C",),))])
    assert result.prefer["C", "A"] == 1 and result.prefer["A", "B"] == result.prefer["B", "A"] == 0


def test_equals_take_half_a_point_each():
    assert count("ABC", [Ballot((("A", "B"), ("C",)))]).borda == {"A": 1.5, "B": 1.5, "C": 0.0}


@pytest.mark.parametrize(
    ("ranks", "code"),
    [((), "ballot-empty"), ((("A",), ("A",)), "ballot-names-twice"), ((("Z",),), "ballot-names-unknown")],
)
def test_a_ballot_that_says_nothing_sure_is_refused(ranks, code):
    with pytest.raises(Refused) as refused:
        check_ballot(Ballot(ranks), "ABC")
    assert refused.value.code == code


ORDERS = st.permutations(list("ABCD")).map(lambda order: Ballot(tuple((letter,) for letter in order)))


@given(st.lists(ORDERS, min_size=1, max_size=12))
def test_whoever_beats_everybody_wins_alone_and_names_do_not_matter(cast):
    result = count("ABCD", cast)
    if result.condorcet_winner is not None:
        assert result.winners == (result.condorcet_winner,)
    assert set(result.order[0]) == set(result.winners)
    turned = count("DCBA", list(reversed(cast)))
    assert set(turned.winners) == set(result.winners)


@given(st.lists(ORDERS, min_size=1, max_size=9))
def test_turning_every_ballot_round_never_leaves_a_lone_winner_winning(cast):
    """Reversal symmetry (Schulze 2011, 4.4)."""
    result = count("ABCD", cast)
    round_about = count("ABCD", [Ballot(tuple(reversed(ballot.ranks))) for ballot in cast])
    if len(result.winners) == 1 and len(result.order) > 1:
        assert round_about.winners != result.winners


def test_each_person_sees_an_order_of_their_own_and_always_the_same():
    options = list(range(8))
    seen = {person: tuple(shuffled(options, person)) for person in map(str, range(50))}
    assert all(sorted(order) == options for order in seen.values())
    assert len(set(seen.values())) > 45
    assert all(tuple(shuffled(list(reversed(options)), person)) == order for person, order in seen.items())
    first = [order[0] for order in seen.values()]
    assert set(first) == set(options)
