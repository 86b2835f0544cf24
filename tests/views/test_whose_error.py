"""A mark on a proof carries whose error it is: the printer's, the file's, the art's, the text's, or nobody's."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions import notes
from reviews.models import LedgerEntry, LetterAnswer, Note, Notice
from reviews.notices.letter_paper import letter_pdf
from reviews.notices.wording import mail_for
from reviews.pages.letter_pages import letter_page
from reviews.pages.print_sheet import sheet_of
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.letter_answers import error_counts
from reviews.queries.held_check import check_held
from reviews.queries.ledger_check import ledger_faults
from reviews.rules.states import ERROR_BY_CAUSE, Cause, Deed, ErrorOf, Refused, Role
from tests.cast import gather, sign_in
from tests.letter_scene import BOX, answered, approved, sent
from tests.makers import a_book, handed_in
from tests.notices.test_paper import text_of
from tests.views.test_stoppers import STAGES

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    cast = gather(a_book(inside=STAGES))
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    handed_in(proof(cast), cast.production, [2])
    return cast


def proof(cast):
    return cast.passage("Pages 4–5", "proof")


def marked(cast, cause: str, error: str = "", passage=None) -> Note:
    passage = passage or proof(cast)
    picture = passage.hand_in.pictures.first()
    words = f"Look at this: {cause}."
    return notes.pin_note(
        passage.pk, picture.pk, region=BOX, words=words, cause=cause, error=error, actor=cast.art_director
    )


@pytest.mark.parametrize("cause", list(Cause))
def test_a_mark_that_does_not_say_takes_what_its_reason_says(cast, cause):
    if cause == Cause.BRIEF:
        return  # no brief stands here; the table below holds what it would be
    told = ERROR_BY_CAUSE.get(cause)
    assert marked(cast, cause.value).error == (told.value if told else "")


def test_every_reason_that_asks_for_a_change_says_whose_error_it_would_be():
    asks = set(Cause) - {Cause.QUESTION, Cause.PRAISE}
    assert set(ERROR_BY_CAUSE) == asks and set(ERROR_BY_CAUSE.values()) == set(ErrorOf)


@pytest.mark.parametrize(
    ("cause", "error", "code"),
    [
        ("text", "somebody", "bad-error"),
        ("text", "printer", "error-and-cause"),
        ("printer", "art", "error-and-cause"),
    ],
)
def test_whose_error_and_why_must_not_say_different_things_of_the_printer(cast, cause, error, code):
    with pytest.raises(Refused, match=code):
        marked(cast, cause, error)


def test_at_another_stage_nothing_is_anybodys_error(client, cast):
    colour = cast.passage("Pages 6–7", "colour")
    handed_in(colour, cast.illustrator, [4])
    colour.refresh_from_db()
    assert marked(cast, "direction", "art", passage=colour).error == ""
    sign_in(client, cast.art_director.person)
    assert "Whose error it is" not in client.get(reverse("reviews:passage", args=[colour.pk])).content.decode()
    assert "Whose error it is" in client.get(reverse("reviews:passage", args=[proof(cast).pk])).content.decode()


def test_it_is_written_and_changed_in_the_form(client, cast):
    sign_in(client, cast.art_director.person)
    picture = proof(cast).hand_in.pictures.get()
    data = {"picture": picture.pk, "region": '{"kind": "point", "points": [[0.5, 0.5]]}', "words": "Soft.",
            "cause": "production", "error": "art"}  # fmt: skip
    client.post(reverse("reviews:pin-note", args=[proof(cast).pk]), data)
    note = Note.objects.get()
    assert note.error == "art"
    client.post(reverse("reviews:edit-note", args=[note.pk]), data | {"error": "file", "seen": note.seen_own})
    note.refresh_from_db()
    assert note.error == "file"
    page = client.get(reverse("reviews:passage", args=[proof(cast).pk])).content.decode()
    assert "an error of the file" in page
    refused = client.post(reverse("reviews:edit-note", args=[note.pk]), data | {"error": "printer"}, follow=True)
    assert "has “The printer’s error” as its reason" in refused.content.decode()


def test_letter_mail_paper_sheet_and_ledger_say_whose_error_each_mark_is(client, cast):
    marked(cast, "printer")
    marked(cast, "production")
    marked(cast, "text")
    marked(cast, "text", "art")
    marked(cast, "direction")
    marked(cast, "question")
    answered(cast, proof(cast), "approve_small")
    letter = sent(cast)
    told = ("an error of the file", "an error of the text", "an error of the art", "nobody’s error: an alteration")
    sign_in(client, cast.illustrator.person)
    page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    for words in told:
        assert words in page
    assert "The printer’s error" in page and page.count("an error of") == 3
    paper = " ".join(text_of(letter_pdf(letter_page(letter, Role.ILLUSTRATOR), {})).split())
    notice = Notice.objects.filter(entry__deed=Deed.SEND_LETTER, person=cast.illustrator.person).latest("pk")
    mail = mail_for(notice, lambda _letter: b"")
    for words in told:
        assert words in paper and words in " ".join(mail.text.split()) and words in mail.html
    counts = "1 error of the printer, 1 error of the file, 1 error of the art, 1 error of the text, 1 alteration"
    entry = LedgerEntry.objects.filter(deed=Deed.SEND_LETTER).latest("seq").as_entry()
    assert f"OK with corrections ({counts})" in sentence(entry)
    said = " ".join(line for piece in sheet_of(cast.book, [], with_letters=True).pieces for line in piece.said)
    assert f"marks: {counts}" in said
    assert not check_held(cast.book).faults and list(ledger_faults(cast.book)) == []
    assert LetterAnswer.objects.filter(letter=letter).count() == 1


def test_an_entry_of_before_still_reads(cast):
    entry = LedgerEntry.objects.filter(deed=Deed.SEND_LETTER).latest("seq").as_entry()
    for answer in entry.data["answers"]:
        assert answer.pop("errors") == {}
    assert "(" not in sentence(entry)
    assert error_counts({"printer": 2, "text": 3}) == "2 errors of the printer, 3 errors of the text"


def test_a_held_note_that_is_changed_behind_the_ledger_is_found(cast):
    note = marked(cast, "text")
    Note.objects.filter(pk=note.pk).update(error="printer")
    assert any(fault.values.get("column") == "error" for fault in check_held(cast.book).faults)
