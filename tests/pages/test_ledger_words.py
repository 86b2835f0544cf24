"""Every deed has its sentence, and says who is told."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from reviews.pages.wording.ledger import SENTENCES, sentence
from reviews.rules.audiences import AUDIENCES
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.contract.terms_text import terms_to_text
from reviews.rules.entries import Entry
from reviews.rules.states import Deed

AT = datetime(2026, 11, 2, 9, tzinfo=UTC)
WHERE = "Pages 4–5, sketch"


def told(deed, **data):
    return sentence(
        Entry(
            seq=1, at=AT, deed=deed, role="art_director", by="Corvin Mallowe", passage=1, data={"where": WHERE, **data}
        )
    )


def test_every_deed_has_a_sentence_and_says_who_is_told():
    assert set(SENTENCES) == set(Deed)
    assert set(AUDIENCES) == set(Deed)


def test_a_letter_tells_each_answer_and_what_is_special_about_it():
    answers = [
        {"where": "Cover, ideas", "answer": "approve", "reopened": False, "waits_for_second": True},
        {"where": WHERE, "answer": "ask", "reopened": True, "waits_for_second": False},
    ]
    assert told(Deed.SEND_LETTER, number=2, answers=answers) == (
        "Corvin Mallowe sent letter 2: Cover, ideas – approved, waiting for the editor’s agreement; "
        "Pages 4–5, sketch – changes asked for to an approved picture."
    )


@pytest.mark.parametrize(
    ("pictures", "due", "words"),
    [
        ([{}], None, "Corvin Mallowe handed in number 1 of Pages 4–5, sketch: 1 picture."),
        (
            [{}, {}],
            "2026-12-09",
            "Corvin Mallowe handed in number 1 of Pages 4–5, sketch: 2 pictures. "
            "The publisher answers by 9 December 2026.",
        ),
    ],
)
def test_a_hand_in_counts_its_pictures_and_names_the_date(pictures, due, words):
    assert told(Deed.HAND_IN, number=1, pictures=pictures, answer_due_on=due) == words


def test_a_moved_date_tells_from_when_to_when_and_why():
    words = told(
        Deed.MOVE_DUE_DATE, which="answer", to="2027-01-18", reason="The text came late.", **{"from": "2026-12-16"}
    )
    assert words == (
        "Corvin Mallowe moved the answer date of Pages 4–5, sketch from 16 December 2026 to 18 January 2027: "
        "The text came late."
    )


def test_an_agreement_says_when_it_completes_the_approval():
    assert told(Deed.AGREE, number=2, to="answering").endswith("hand-in 2 of Pages 4–5, sketch.")
    assert told(Deed.AGREE, number=2, to="approved").endswith("With both sign-offs it is approved.")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (
            {"words": "The hill.", "number": 4, "included": 3, "price": "GBP 180.00"},
            f"Corvin Mallowe asked for consent to round 4 on {WHERE} (3 in the fee; one more: GBP 180.00): The hill.",
        ),
        (
            {"words": "The hill.", "number": 1, "included": 0, "price": "no fee is agreed for it"},
            f"Corvin Mallowe asked for consent to round 1 on {WHERE} (none in the fee; one more: no fee is agreed "
            "for it): The hill.",
        ),
        (
            {
                "words": "The hill.",
                "number": 4,
                "included": 3,
                "round_fee": {"amount": "180.00", "currency": "GBP"},
                "hour_fee": None,
            },
            f"Corvin Mallowe asked for consent to round 4 on {WHERE} (3 in the fee; one more: GBP 180.00): The hill.",
        ),
        (
            {
                "words": "The hill.",
                "number": 4,
                "included": 3,
                "round_fee": None,
                "hour_fee": {"amount": "60.00", "currency": "EUR"},
            },
            f"Corvin Mallowe asked for consent to round 4 on {WHERE} (3 in the fee; one more: EUR 60.00 an hour, "
            "for the hours it takes): The hill.",
        ),
        ({"words": "The hill."}, f"Corvin Mallowe asked for consent to one extra round on {WHERE}: The hill."),
        ({"words": ""}, f"Corvin Mallowe asked for consent to one extra round on {WHERE}."),
    ],
)
def test_asked_consent_names_the_round_and_its_price_where_its_entry_has_them(data, words):
    assert told(Deed.ASK_CONSENT, **data) == words


STAGE = {"gate": "answers", "hand_in_days": 10, "answer_days": 5, "rounds": 2, "group": "", "two_voices": False}


def test_a_changed_plan_names_every_stage_and_all_that_is_other_about_it():
    changed = [
        {"was": {"kind": "sketch", **STAGE}, "now": {"kind": "sketch", **STAGE}},
        {"was": None, "now": {"kind": "line", **STAGE}},
        {
            "was": {"kind": "colour", **STAGE},
            "now": {"kind": "colour", **STAGE, "gate": "shown", "hand_in_days": 20, "two_voices": True, "group": "all"},
        },
    ]
    words = (
        "sketch, line, colour (20 instead of 10 days to hand in, the publisher is shown it, two sign-offs instead of "
        "one, rounds shared as “all”)"
    )
    whole = f"Corvin Mallowe changed the stage plan “Inside”: {words}."
    assert told(Deed.CHANGE_PLAN, plan="Inside", changed=changed) == whole
    assert told(Deed.CHANGE_PLAN, plan="Inside", words=words) == whole, "as older entries have it"


def test_a_changed_layout_says_what_became_of_what():
    whole = "Corvin Mallowe changed the page layout: Pages 4–5 became Page 4 and Page 5."
    assert told(Deed.LAY_OUT, were=["Pages 4–5"], are=["Page 4", "Page 5"]) == whole
    assert told(Deed.LAY_OUT, words="Pages 4–5 became Page 4 and Page 5") == whole, "as older entries have it"


def test_changed_terms_say_what_differs_from_the_version_before():
    first = replace(READY_SETS["illustrator"].terms, from_on=date(2026, 1, 5))
    second = replace(first, version=2, brief_counts=True, from_on=date(2026, 3, 1))
    entered = told(Deed.CHANGE_TERMS, version=1, from_on="2026-01-05", before=None, terms=terms_to_text(first))
    assert entered == (
        "Corvin Mallowe entered version 1 of the terms: rounds in the fee: ideas 1, sketches 2, line and ink 1, "
        "colour 1, finish and proof 1; fee GBP 9,000.00."
    )
    texts = {"before": terms_to_text(first), "terms": terms_to_text(second)}
    amended = told(Deed.CHANGE_TERMS, version=2, from_on="2026-03-01", **texts)
    assert amended == (
        "Corvin Mallowe entered version 2 of the terms, which holds from 1 March 2026: a brief that was not met: uses "
        "a round, was uses no round."
    )
    old = {"words": "a brief that was not met: uses a round, was uses no round"}
    assert told(Deed.CHANGE_TERMS, version=2, from_on="2026-03-01", **old) == amended, "as older entries have it"


def test_no_date_is_said_as_such():
    words = told(Deed.MOVE_DUE_DATE, which="hand-in", to="2027-01-18", reason="Late.", **{"from": None})
    assert "from no date to 18 January 2027" in words
