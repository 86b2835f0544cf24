"""A letter sent by mistake is taken back while nobody has answered it."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pypdfium2
import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import hand_ins, invoices, notes
from reviews.actions.clock import as_if_at
from reviews.actions.taking_back import take_back_letter
from reviews.models import LedgerEntry, Letter, Note, Notice, OverConsent
from reviews.notices.letter_paper import letter_pdf
from reviews.pages.letter_pages import letter_page
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.ledger import sentence
from reviews.queries.ledger import stored_state
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.queries.statement import export_of
from reviews.rules.contract.fees import Instalment, Milestone, Money
from reviews.rules.contract.recount import count_again, differences, figures
from reviews.rules.replay import folded
from reviews.rules.states import NoteState, PassageState, Refused, Role
from reviews.tasks.paper import paper_of
from tests.actions.signed import enter
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, answered, approved, pinned, sent
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db

WHY = "It went to the wrong book."


@pytest.fixture
def cast():
    return gather(a_book())


def asked(cast, label="Pages 4–5"):
    """Send a letter that asks for changes on one spread and approves another."""
    passage, other = cast.passage(label, "ideas"), cast.passage("Pages 6–7", "ideas")
    for one in (passage, other):
        handed_in(one, cast.illustrator, [one.pk])
    pinned(passage, cast.art_director)
    answered(cast, passage, "ask")
    answered(cast, other, "approve")
    return passage, other, sent(cast)


def rows(cast):
    return {row.pk: (row.state, row.due_on, row.answer_due_on, row.approved_sha256) for row in cast.book.passages.all()}


def replayed(cast):
    entries = LedgerEntry.objects.filter(book=cast.book).order_by("seq")
    return folded(row.as_entry() for row in entries)


@pytest.mark.parametrize("has_terms", [False, True])
def test_everything_stands_again_as_before_the_letter(cast, has_terms):
    if has_terms:
        enter(cast)
    passage, other = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 6–7", "ideas")
    for one in (passage, other):
        handed_in(one, cast.illustrator, [one.pk])
    before = rows(cast)
    pinned(passage, cast.art_director)
    answered(cast, passage, "ask")
    answered(cast, other, "approve")
    letter = sent(cast)
    assert rows(cast) != before
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    assert rows(cast) == before
    assert replayed(cast) == stored_state(cast.book)
    assert not list(ledger_faults(cast.book))


@pytest.mark.parametrize("has_terms", [False, True])
def test_it_counts_no_round(cast, has_terms):
    if has_terms:
        enter(cast)
    passage, _, letter = asked(cast)
    allowed = allowances_for([passage])
    assert rounds_in([cast.book.pk], allowed)[passage.pk].used == 1
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    assert rounds_in([cast.book.pk], allowed)[passage.pk].used == 0


def test_a_recount_of_the_export_agrees(cast):
    _, _, letter = asked(cast)
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    taken = LedgerEntry.objects.get(deed="take-back-letter")
    file = export_of(cast.book, None, at=taken.at)
    again = figures(count_again(file))
    assert differences(file["figures"], again) == []
    assert again["rounds"]["used"] == 0
    assert {line["state"] for line in again["passages"] if line["days"]["publisher_allowed"]} == {"answering"}


def test_the_ledger_tells_it_and_the_illustrator_is_written_to(cast):
    _, _, letter = asked(cast)
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    entry = LedgerEntry.objects.get(deed="take-back-letter")
    assert sentence(entry.as_entry()) == (
        f"{cast.art_director.person.name} took letter 1 back before anybody had answered it; it counts no round: {WHY}"
    )
    told = set(Notice.objects.filter(entry=entry).values_list("person", flat=True))
    assert {cast.illustrator.person_id, cast.agent.person_id} <= told


def test_the_letter_stays_readable_and_says_that_it_was_taken_back(cast, client):
    _, _, letter = asked(cast)
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    sign_in(client, cast.illustrator.person)
    body = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert "Taken back" in body and WHY in body and "Turn her head." in body
    letter.refresh_from_db()
    assert letter.paper == ""
    page = letter_page(letter, Role.ILLUSTRATOR)
    assert page.notes and letter_pdf(page, {}) != b""


def test_its_notes_lie_unsent_in_the_draft_and_the_right_letter_can_go(cast):
    passage, other, letter = asked(cast)
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    first = Note.objects.get(letter=letter)
    again = Note.objects.exclude(pk=first.pk).get()
    assert first.state == NoteState.TAKEN_BACK
    assert (again.state, again.words, again.letter) == (NoteState.UNSENT, first.words, None)
    draft_letter = Letter.objects.get(book=cast.book, sent_at=None)
    assert {answer.passage_id for answer in draft_letter.answers.all()} == {passage.pk, other.pk}
    right = sent(cast)
    assert right.number == 2
    passage.refresh_from_db()
    assert passage.state == PassageState.DRAWING
    assert replayed(cast) == stored_state(cast.book)
    assert not list(ledger_faults(cast.book))


def test_what_the_illustrator_has_in_a_draft_stays_theirs_and_is_not_betrayed(cast):
    passage, _, letter = asked(cast)
    kept = draft(passage, cast.illustrator, [77])
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    assert kept.pictures.filter(removed_at=None).count() == 1


def test_a_letter_that_was_answered_stands(cast):
    passage, _, letter = asked(cast)
    note = Note.objects.get(letter=letter)
    point = LedgerEntry.objects.count()
    notes.answer_note(note.pk, response="done", words="", actor=cast.illustrator)
    with pytest.raises(Refused) as refused:
        take_back_letter(letter.pk, WHY, actor=cast.art_director)
    assert (refused.value.code, refused.value.values["where"]) == ("letter-answered", passage.where)
    assert LedgerEntry.objects.count() == point + 1


@pytest.mark.parametrize("opened", [False, True])
def test_a_hand_in_on_it_or_on_what_it_opened_is_an_answer(cast, opened):
    passage, _other, letter = asked(cast)
    answering = cast.passage("Pages 6–7", "sketch") if opened else passage
    made = draft(answering, cast.illustrator, [31])
    hand_ins.hand_in(made.pk, actor=cast.illustrator)
    with pytest.raises(Refused, match="letter-answered"):
        take_back_letter(letter.pk, WHY, actor=cast.art_director)


def test_it_is_taken_back_once_with_a_reason_and_by_the_art_director_alone(cast):
    _, _, letter = asked(cast)
    with pytest.raises(Refused, match="take-back-reason"):
        take_back_letter(letter.pk, "  ", actor=cast.art_director)
    for role in (Role.ILLUSTRATOR, Role.AGENT, Role.EDITOR, Role.PRODUCTION):
        with pytest.raises(Refused, match="not-yours"):
            take_back_letter(letter.pk, WHY, actor=cast.seat(role))
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    with pytest.raises(Refused, match="letter-taken-back"):
        take_back_letter(letter.pk, WHY, actor=cast.art_director)


def test_a_letter_before_the_last_can_be_taken_back_if_nothing_of_it_was_answered(cast):
    _, _, first = asked(cast)
    a_round(cast, cast.passage("Cover", "ideas"), 5)
    take_back_letter(first.pk, WHY, actor=cast.art_director)
    assert replayed(cast) == stored_state(cast.book)
    assert not OverConsent.objects.exists()


def test_a_note_about_the_whole_book_is_about_the_whole_book_in_the_draft_too(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    picture = handed_in(passage, cast.illustrator, [1]).pictures.get()
    about = {"region": None, "words": "The scarf is blue.", "cause": "direction", "reach": "book", "pages": "4–7"}
    notes.pin_note(passage.pk, picture.pk, **about, actor=cast.art_director)
    answered(cast, passage, "ask")
    letter = sent(cast)
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    first, again = Note.objects.get(letter=letter), Note.objects.get(letter=None)
    assert (again.reach, again.concerns) == (first.reach, first.concerns)
    assert again.concerns


def test_a_look_inside_the_house_is_no_answer(cast):
    """That production looked, while an approval waits for the second voice, is the publisher's own affair."""
    approved(cast, cast.passage("Pages 4–5", "ideas"), 2)
    sketch = cast.passage("Pages 4–5", "sketch")
    letter = approved(cast, sketch, 1)
    notes.look_over(sketch.pk, actor=cast.production)
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    sketch.refresh_from_db()
    assert (sketch.state, sketch.pending) == (PassageState.ANSWERING, None)


@pytest.mark.parametrize("is_withdrawn", [False, True])
def test_an_invoice_for_what_it_made_due_is_an_answer(is_withdrawn):
    cast = gather(a_book())
    part = Instalment(name="Ideas", falls=Milestone.APPROVAL, stage="ideas", share=Decimal(100), of_spreads=1)
    enter(cast, instalments=(part,))
    passage = cast.passage("Pages 4–5", "ideas")
    letter = approved(cast, passage, 3)
    money = Money(Decimal(9000), "GBP")
    told = invoices.tell_invoice(
        cast.book.pk, number="J-1", name="Ideas", money=money, on=timezone.localdate(), actor=cast.illustrator
    )
    if is_withdrawn:
        invoices.withdraw_invoice(told.pk, "A slip.", actor=cast.illustrator)
        take_back_letter(letter.pk, WHY, actor=cast.art_director)
        return
    with pytest.raises(Refused, match="letter-invoiced"):
        take_back_letter(letter.pk, WHY, actor=cast.art_director)


def test_a_paper_begun_before_it_was_taken_back_is_not_kept_after(cast):
    _, _, letter = asked(cast)
    read_before = Letter.objects.select_related("book", "sent_by__person").get(pk=letter.pk)
    take_back_letter(letter.pk, WHY, actor=cast.art_director)
    paper_of(read_before)
    letter.refresh_from_db()
    assert letter.paper == ""


def text_of(pdf: bytes) -> str:
    pages = (page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))
    return " ".join(" ".join(pages).split())


def test_the_list_and_the_paper_say_so_and_only_once_it_was(cast, client):
    """The day is the book's own: in Auckland the evening in London is the next morning."""
    cast.book.zone = "Pacific/Auckland"
    cast.book.save(update_fields=["zone"])
    _, _, letter = asked(cast)
    sign_in(client, cast.illustrator.person)

    def seen() -> tuple[str, str, str]:
        now = Letter.objects.select_related("book", "sent_by__person").get(pk=letter.pk)
        listed = client.get(reverse("reviews:letters", args=[cast.book.pk])).content.decode()
        page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
        return listed, page, text_of(paper_of(now))

    assert not any("taken back" in words.casefold() for words in seen())
    evening = (timezone.now() + timedelta(days=1)).replace(hour=20, minute=0)
    with as_if_at(evening):
        take_back_letter(letter.pk, "Not <this> & that.", actor=cast.art_director)
    day = day_words(evening.date() + timedelta(days=1))
    listed, page, paper = seen()
    assert "Letter 1, taken back" in listed
    assert f"Taken back</b> on {day}" in page
    assert f"TAKEN BACK on {day}: Not <this> & that. Nothing in this letter holds; it counts no round." in paper
