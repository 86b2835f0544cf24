"""Folding single entries; the walk over random deeds is in tests/actions."""

from datetime import UTC, datetime

import pytest

from reviews.rules.entries import Entry
from reviews.rules.replay import folded
from reviews.rules.states import Deed, PassageState

AT = datetime(2026, 11, 2, 9, tzinfo=UTC)
PLANNED = {
    "passages": [
        {"passage": 1, "spread": 1, "stage": "sketch", "gate": "answers", "position": 1, "due_on": "2026-12-01"},
        {"passage": 2, "spread": 1, "stage": "colour", "gate": "answers", "position": 2, "due_on": "2027-01-15"},
    ],
    "opens": [1],
    "dues": {"1": "2026-12-01"},
}
HANDED = {"number": 1, "to": "answering", "answer_due_on": "2026-12-08", "opens": [], "dues": {}}


def entry(deed, data, passage=1):
    return Entry(seq=0, at=AT, deed=deed, role="art_director", by="Corvin Mallowe", passage=passage, data=data)


def answer(**more):
    base = {"passage": 1, "hand_in": 1, "answer": "approve", "sha256": "ab", "waits_for_second": False}
    return entry(Deed.SEND_LETTER, {"answers": [{**base, "opens": [], "dues": {}, **more}]}, None)


SO_FAR = [entry(Deed.MAKE_BOOK, PLANNED, None), entry(Deed.HAND_IN, HANDED)]


def test_a_new_book_has_its_first_stages_open_and_dated():
    told = folded(SO_FAR[:1])
    assert (told[1].state, told[1].due_on) == (PassageState.DRAWING, "2026-12-01")
    assert told[2].state == PassageState.CLOSED


def test_a_hand_in_waits_for_its_answer_by_a_date():
    told = folded(SO_FAR)[1]
    assert (told.state, told.hand_in, told.answer_due_on) == (PassageState.ANSWERING, 1, "2026-12-08")


def test_a_withdrawn_hand_in_leaves_the_one_before():
    again = entry(Deed.HAND_IN, HANDED | {"number": 2})
    told = folded([*SO_FAR, again, entry(Deed.WITHDRAW_HAND_IN, {"number": 2, "to": "drawing"})])[1]
    assert (told.state, told.hand_in, told.answer_due_on) == (PassageState.DRAWING, 1, None)


def test_an_approval_keeps_the_fingerprint_and_opens_the_next_stage():
    told = folded([*SO_FAR, answer(to="approved", opens=[2], dues={"2": "2027-01-20"})])
    assert (told[1].state, told[1].approved_sha256) == (PassageState.APPROVED, "ab")
    assert (told[2].state, told[2].due_on) == (PassageState.DRAWING, "2027-01-20")


def test_an_approval_that_waits_is_completed_by_agreement_or_dropped_by_objection():
    waits = answer(to="answering", waits_for_second=True)
    assert folded([*SO_FAR, waits])[1].pending == 1
    opened = {"opens": [2], "dues": {"2": "2027-01-15"}}
    agreed = entry(Deed.AGREE, {"completes": True, "sha256": "ab", "to": "approved", **opened})
    told = folded([*SO_FAR, waits, agreed])
    assert (told[1].state, told[1].pending, told[2].state) == (PassageState.APPROVED, None, PassageState.DRAWING)
    assert folded([*SO_FAR, waits, entry(Deed.OBJECT, {"to": "answering"})])[1].pending is None


@pytest.mark.parametrize(("which", "field"), [("hand-in", "due_on"), ("answer", "answer_due_on")])
def test_a_moved_date_moves_the_one_that_was_named(which, field):
    told = folded([*SO_FAR, entry(Deed.MOVE_DUE_DATE, {"which": which, "to": "2027-02-01"})])[1]
    assert getattr(told, field) == "2027-02-01"


def test_an_entry_that_names_what_is_not_there_is_not_passed_over():
    with pytest.raises(KeyError):
        folded([entry(Deed.HAND_IN, HANDED, passage=99)])
