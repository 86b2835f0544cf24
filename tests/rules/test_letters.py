"""What stands in a letter, in which order, and what sending it will do."""

from datetime import date

import pytest

from reviews.geometry import Box
from reviews.rules.letters import PlacedNote, PlannedAnswer, clusters, effects, number_notes, overlapping
from reviews.rules.rounds import RoundCount
from reviews.rules.states import Answer, Cause


def placed(note, box=(0.1, 0.1, 0.3, 0.3), *, passage=1, picture=1, author=1):
    bounds = Box(*box)
    return PlacedNote(note, passage, picture, author, bounds, (bounds.centre.x, bounds.centre.y))


def planned(passage=1, answer=Answer.ASK, *, causes=(Cause.BRIEF,), reopens=False):
    return PlannedAnswer(passage, f"passage {passage}", answer, causes, reopens, False, date(2026, 12, 1))


def count(used, included, *, pool_used=None):
    return RoundCount(used=used, pool_used=used if pool_used is None else pool_used, included=included, outside=0)


def test_notes_are_numbered_by_passage_in_page_order_then_picture_then_from_the_top():
    notes = [
        placed(1, (0, 0.8, 0.1, 0.9), passage=20),
        placed(2, (0, 0.1, 0.1, 0.2), passage=20),
        placed(3, passage=10, picture=2),
        placed(4, (0, 0.7, 0.1, 0.8), passage=10),
    ]
    assert number_notes(notes, [10, 20]) == {4: 1, 3: 2, 2: 3, 1: 4}


def test_notes_by_two_people_about_one_place_are_paired():
    assert overlapping([placed(1), placed(2, (0.15, 0.12, 0.32, 0.3), author=2)]) == [(1, 2)]


@pytest.mark.parametrize(
    "other",
    [
        placed(2, (0.15, 0.12, 0.32, 0.3)),  # the same person may say two things about a place
        placed(2, (0.29, 0.29, 0.6, 0.6), author=2),  # neighbours that barely touch
        placed(2, author=2, picture=2),
        placed(2, author=2, passage=2),  # picture 1 of another passage is another picture
    ],
)
def test_notes_that_are_not_about_one_place_by_two_people_are_left_alone(other):
    assert overlapping([placed(1), other]) == []


def test_a_point_inside_a_box_is_about_the_same_place():
    assert overlapping([placed(1), placed(2, (0.2, 0.2, 0.2, 0.2), author=2)]) == [(1, 2)]


def test_a_note_that_meets_two_others_brings_all_three_together():
    left, right = placed(1, (0.0, 0.0, 0.4, 0.4)), placed(2, (0.5, 0.0, 0.9, 0.4), author=2)
    bridge = placed(3, (0.25, 0.0, 0.65, 0.4), author=3)
    apart = placed(4, (0.0, 0.8, 0.1, 0.9), author=2)
    assert clusters([apart, left, right, bridge]) == [[4], [1, 2, 3]]


def test_asking_within_the_fee_uses_the_next_round():
    [effect] = effects([planned()], {1: count(1, 2)}, pools={1: "a"})
    assert (effect.uses_round, effect.round_number, effect.is_over, effect.outside_fee) == (True, 2, False, False)
    assert effect.due_on == date(2026, 12, 1)


def test_asking_once_more_than_the_fee_includes_is_told_as_over():
    [effect] = effects([planned()], {1: count(2, 2)}, pools={1: "a"})
    assert (effect.round_number, effect.is_over) == (3, True)


def test_two_answers_that_share_a_pool_use_it_up_one_after_the_other():
    rounds = {1: count(0, 1), 2: count(0, 1)}
    first, second = effects([planned(1), planned(2)], rounds, pools={1: "a", 2: "a"})
    assert (first.is_over, second.is_over) == (False, True)


def test_a_change_to_something_approved_is_outside_the_fee_and_uses_no_round():
    [effect] = effects([planned(reopens=True, causes=(Cause.TEXT,))], {1: count(2, 2)}, pools={1: "a"})
    assert (effect.outside_fee, effect.uses_round, effect.is_over) == (True, False, False)


def test_an_approval_uses_no_round():
    [effect] = effects([planned(answer=Answer.APPROVE, causes=())], {1: count(2, 2)}, pools={1: "a"})
    assert (effect.uses_round, effect.is_over, effect.outside_fee) == (False, False, False)


def test_terms_may_leave_out_a_letter_that_only_asks_for_the_brief():
    [effect] = effects([planned()], {1: count(2, 2)}, pools={1: "a"}, brief_counts=False)
    assert (effect.uses_round, effect.is_over) == (False, False)
    [mixed] = effects(
        [planned(causes=(Cause.BRIEF, Cause.TEXT))], {1: count(2, 2)}, pools={1: "a"}, brief_counts=False
    )
    assert mixed.is_over
