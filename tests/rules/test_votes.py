"""What a ballot says, how it is sealed, and what all of them come to in words."""

from __future__ import annotations

import pytest

from reviews.pages.wording.votes import lead_words, order_words
from reviews.rules.states import Refused
from reviews.rules.votes import as_ballot, count_votes, other_leaders, places_of, ranks_of, seal_of, seen_by

NUMBERS = {10: 1, 20: 2, 30: 3}


def test_places_become_groups_and_are_read_back():
    ranks = ranks_of({30: 2, 10: 5, 20: 2})
    assert ranks == [[20, 30], [10]], "equals stand together, and places close up"
    assert places_of(ranks) == {20: 1, 30: 1, 10: 2}


@pytest.mark.parametrize(
    ("ranks", "code"),
    [([], "ballot-empty"), ([[10], [10]], "ballot-names-twice"), ([[99]], "ballot-names-unknown")],
)
def test_a_ballot_that_is_none_is_refused(ranks, code):
    with pytest.raises(Refused) as refused:
        as_ballot(ranks, [10, 20, 30])
    assert refused.value.code == code


def test_a_seal_fits_its_ballot_alone():
    assert seal_of([[1], [2]], "salt") == seal_of(((1,), (2,)), "salt")
    assert len({seal_of(ranks, salt) for ranks in ([[1], [2]], [[2], [1]], [[1, 2]]) for salt in "ab"}) == 6


def test_each_person_has_an_order_of_their_own_and_keeps_it():
    options = list(range(1, 9))
    orders = {person: seen_by(options, "seed", person) for person in range(20)}
    assert all(sorted(order) == options for order in orders.values())
    assert orders == {person: seen_by(options, "seed", person) for person in range(20)}
    assert len({tuple(order) for order in orders.values()}) == 20
    assert len({order[0] for order in orders.values()}) > 4, "nothing is first for everybody"


def test_what_is_placed_is_approved_and_what_is_not_counts_below_it():
    result = count_votes([10, 20, 30], [[[10]], [[10], [20]], [[20]]])
    assert result.approvals == {10: 2, 20: 2, 30: 0}
    assert result.winners == (10,) or result.is_tied
    assert result.prefer[10, 30] == 2 and result.prefer[30, 10] == 0


def test_one_that_beats_every_other_is_said_to():
    lines = lead_words(count_votes([10, 20, 30], [[[10], [20]], [[10]], [[20], [10]]]), NUMBERS)
    assert lines[:2] == ["Option 1 is first.", "More ballots rank it above each of the others than below."]


def test_a_tie_is_called_one_and_nothing_is_first():
    lines = lead_words(count_votes([10, 20, 30], [[[10], [20]], [[20], [10]]]), NUMBERS)
    assert lines[0] == "A tie: options 1 and 2 are level. The ballots do not tell them apart, so nothing is first."
    assert not any(line.startswith("Option") for line in lines)
    everything = lead_words(count_votes([10, 20, 30], [[[10, 20, 30]]]), NUMBERS)
    assert everything[0] == "A tie between all of them: the ballots put nothing first."


def test_a_circle_says_that_nothing_beats_each_of_the_others():
    circle = [[[10], [20], [30]]] * 4 + [[[20], [30], [10]]] * 3 + [[[30], [10], [20]]] * 2
    result = count_votes([10, 20, 30], circle)
    assert result.condorcet_winner is None and result.winners == (10,)
    assert "No option beats each of the others" in lead_words(result, NUMBERS)[1]


def test_another_way_of_counting_that_says_something_else_is_told():
    """By pairs 10 wins with three first places of five; by points 20 does, which everybody ranks high."""
    ballots = [[[10], [20], [30]]] * 3 + [[[20], [30], [10]]] * 2
    result = count_votes([10, 20, 30], ballots)
    assert result.winners == (10,)
    assert other_leaders(result).by_points == (20,)
    lines = lead_words(result, NUMBERS)
    assert "By points option 2 would lead." in lines
    assert "Points and approvals say the same." not in lines


def test_the_same_is_said_only_where_it_is_so():
    result = count_votes([10, 20], [[[10]], [[10]]])
    assert lead_words(result, NUMBERS)[-1] == "Points and approvals say the same."


def test_an_order_in_words():
    assert order_words([[3], [4, 1]]) == "3, then 1 and 4 level"
    assert order_words([]) == "none"
