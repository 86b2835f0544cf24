"""Rounds are counted from the ledger alone."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.rules.contract.rounds_implied import Allowance, count_rounds
from reviews.rules.entries import Entry
from reviews.rules.states import Deed

AT = datetime(2026, 11, 2, 9, tzinfo=UTC)


def letter(seq, *answers):
    data = {"letter": seq, "number": seq, "answers": list(answers)}
    return Entry(
        seq=seq, at=AT, deed=Deed.SEND_LETTER, role="art_director", by="Corvin Mallowe", passage=None, data=data
    )


def asks(passage, *, causes=("brief",), reopened=False):
    return {"passage": passage, "answer": "ask", "causes": list(causes), "reopened": reopened}


def approves(passage):
    return {"passage": passage, "answer": "approve", "causes": [], "reopened": False}


def counted(entries, allowances=None, **how):
    return count_rounds(entries, allowances or {1: Allowance("1/sketch", 2)}, **how)


def test_one_letter_is_one_round_however_many_notes_it_carries():
    [count] = counted([letter(1, asks(1, causes=("brief", "direction", "text")))]).values()
    assert (count.used, count.left, count.over) == (1, 1, 0)


def test_approvals_and_other_deeds_count_nothing():
    other = Entry(
        seq=2, at=AT, deed=Deed.HAND_IN, role="illustrator", by="Juniper Aldersea", passage=1, data={"number": 1}
    )
    [count] = counted([letter(1, approves(1)), other]).values()
    assert (count.used, count.entries) == (0, ())


def test_the_round_after_the_last_in_the_fee_is_over():
    [count] = counted([letter(seq, asks(1)) for seq in (1, 2, 3)]).values()
    assert (count.used, count.left, count.over, count.entries) == (3, 0, 1, (1, 2, 3))


def test_a_change_to_something_approved_is_counted_apart():
    [count] = counted([letter(1, asks(1)), letter(2, asks(1, causes=("text",), reopened=True))]).values()
    assert (count.used, count.outside, count.entries) == (1, 1, (1, 2))


def test_the_next_change_to_what_was_reopened_is_counted_apart_as_well():
    [count] = counted([letter(1, asks(1, causes=("text",), reopened=True)), letter(2, asks(1))]).values()
    assert (count.used, count.outside, count.left) == (0, 2, 2)


def test_stages_of_a_group_share_their_rounds():
    allowances = {1: Allowance("9/line and ink", 1), 2: Allowance("9/line and ink", 1), 3: Allowance("9/colour", 1)}
    counts = counted([letter(1, asks(1)), letter(2, asks(2))], allowances)
    assert [(counts[p].used, counts[p].pool_used, counts[p].over) for p in (1, 2, 3)] == [
        (1, 2, 1), (1, 2, 1), (0, 0, 0),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("causes", "used"),
    [(("brief",), 0), (("brief", "direction"), 1), ((), 1), (("printer",), 0), (("brief", "production", "praise"), 0)],
)
def test_a_letter_that_only_asks_for_the_brief_may_be_left_out_by_the_terms(causes, used):
    [count] = counted([letter(1, asks(1, causes=causes))], brief_counts=False).values()
    assert count.used == used


@pytest.mark.parametrize("brief_counts", [True, False])
@pytest.mark.parametrize(
    ("causes", "used"),
    [
        (("question",), (0, 0)),
        (("brief", "question"), (1, 0)),
        (("text", "question"), (1, 1)),
        (("brief", "direction", "question"), (1, 1)),
    ],
)
def test_a_question_is_no_change_and_makes_no_round(causes, used, brief_counts):
    [count] = counted([letter(1, asks(1, causes=causes))], brief_counts=brief_counts).values()
    assert count.used == used[0 if brief_counts else 1]


@given(st.lists(st.tuples(st.sampled_from([1, 2, 3]), st.booleans(), st.booleans()), max_size=30))
def test_used_rounds_of_a_pool_are_the_sum_of_its_passages_and_left_and_over_never_meet(history):
    allowances = {1: Allowance("a", 2), 2: Allowance("a", 2), 3: Allowance("b", 1)}
    entries = [letter(n, asks(p, reopened=r) if ask else approves(p)) for n, (p, ask, r) in enumerate(history, 1)]
    counts = counted(entries, allowances)
    assert counts[1].pool_used == counts[2].pool_used == counts[1].used + counts[2].used
    assert sum(c.used + c.outside for c in counts.values()) == sum(ask for _, ask, _ in history)
    for count in counts.values():
        assert count.left == 0 or count.over == 0
        assert count.left - count.over == count.included - count.pool_used
