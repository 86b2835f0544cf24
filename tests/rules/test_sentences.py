"""Every deed has its sentence, and says who is told."""

from datetime import UTC, datetime

import pytest

from reviews.rules.entries import Entry
from reviews.rules.sentences import SENTENCES, TOLD, day_words, sentence
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
    assert set(TOLD) == set(Deed)


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
    assert told(Deed.AGREE, number=2, to="approved").endswith("With both voices it is approved.")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (
            {"words": "The hill.", "number": 4, "included": 3, "price": "GBP 180.00"},
            f"Corvin Mallowe asked for consent to round 4 on {WHERE} (the fee holds 3; one more: GBP 180.00): "
            "The hill.",
        ),
        (
            {"words": "The hill.", "number": 1, "included": 0, "price": "no fee is agreed for it"},
            f"Corvin Mallowe asked for consent to round 1 on {WHERE} (the fee holds none; one more: no fee is agreed "
            "for it): The hill.",
        ),
        ({"words": "The hill."}, f"Corvin Mallowe asked for consent to one round beyond the fee on {WHERE}: The hill."),
        ({"words": ""}, f"Corvin Mallowe asked for consent to one round beyond the fee on {WHERE}."),
    ],
)
def test_asked_consent_names_the_round_and_its_price_where_its_entry_has_them(data, words):
    assert told(Deed.ASK_CONSENT, **data) == words


def test_no_date_is_said_as_such():
    assert day_words(None) == "no date"


@pytest.mark.parametrize(
    ("data", "what"),
    [
        ({"work": "reading", "name": "owl.png"}, "the reading of owl.png"),
        ({"work": "comparison"}, "the comparison with what came before"),
        ({"work": "letter", "number": 3}, "the PDF or the mails of letter 3"),
        ({"work": "invitation", "name": "Wren"}, "the mail that invites Wren"),
    ],
)
def test_what_was_tried_again_is_named(data, what):
    assert told(Deed.TRY_AGAIN, **data) == f"Corvin Mallowe had {what} tried again."
