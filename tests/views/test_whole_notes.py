"""A note on the whole spread or book, on every table it concerns; who sees it, and when the desk stops asking."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from reviews.actions import notes, seats
from reviews.actions.book_notes import answer_on_spreads
from reviews.models import AnsweredThere, Notice
from reviews.notices.letter_paper import letter_pdf
from reviews.notices.wording import mail_for
from reviews.pages.letter_pages import letter_page
from reviews.rules.states import Role
from tests.actions.test_whole_notes import whole
from tests.cast import gather, sign_in
from tests.letter_scene import answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in
from tests.notices.test_paper import text_of
from tests.views.test_farewell import archive

pytestmark = pytest.mark.django_db
WORDS = "The scarf is blue throughout."


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def ideas(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [1])
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [2])
    handed_in(cast.passage("Pages 8–9", "ideas"), cast.illustrator, [3])
    return passage


def table(client, cast, role: Role, label: str) -> str:
    sign_in(client, cast.seat(role).person)
    return client.get(reverse("reviews:passage", args=[cast.passage(label, "ideas").pk])).content.decode()


def test_it_is_written_without_a_mark_and_stays_in_the_house_until_the_letter_goes(client, cast, ideas):
    sign_in(client, cast.editor.person)
    picture = ideas.hand_ins.get().pictures.get().pk
    given = {"picture": picture, "reach": "book", "pages": "4-7", "words": WORDS, "cause": "direction"}
    assert client.post(reverse("reviews:pin-note", args=[ideas.pk]), given).status_code == 302
    for label, is_meant in (("Pages 4–5", True), ("Pages 6–7", True), ("Pages 8–9", False)):
        assert (WORDS in table(client, cast, Role.ART_DIRECTOR, label)) == is_meant
        assert WORDS not in table(client, cast, Role.ILLUSTRATOR, label)
        assert WORDS not in table(client, cast, Role.AGENT, label)
    answered(cast, ideas, "ask")
    letter = sent(cast)
    for label, is_meant in (("Pages 4–5", True), ("Pages 6–7", True), ("Pages 8–9", False)):
        assert (WORDS in table(client, cast, Role.ILLUSTRATOR, label)) == is_meant
    sign_in(client, cast.illustrator.person)
    page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert "A new direction, on 2 spreads of the book" in page
    notice = Notice.objects.select_related("person", "entry__book").get(
        person=cast.illustrator.person, entry__deed="send-letter"
    )
    assert "on 2 spreads of the book" in mail_for(notice, lambda letter: b"").text


def test_notes_on_the_book_have_their_own_part_of_the_letter_and_are_answered_once(client, cast, ideas):
    on_book = whole(ideas, cast.editor)
    pinned(ideas, cast.editor, "Turn her head.")
    other = cast.passage("Pages 6–7", "ideas")
    pinned(other, cast.editor, "Lower.")
    sign_in(client, cast.art_director.person)
    waits = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    assert "Waits with" in waits and "which has no answer yet" in waits
    answered(cast, other, "ask")
    draft = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    part = draft[draft.index('id="the-book"') : draft.index(f'id="passage-{ideas.pk}"')]
    assert WORDS in part and "Goes with the answer to" in part and "no answer yet" not in part
    assert draft.count(f'id="weigh-{on_book.pk}"') == 1, "it stands in the book's part and nowhere else"
    answered(cast, ideas, "ask")
    send_page = client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    letter = sent(cast)
    on_book.refresh_from_db()
    assert on_book.number == 1, "what is said to the book is read first"
    sign_in(client, cast.illustrator.person)
    page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    for html in (send_page, page):
        assert html.count(WORDS) == 1
        assert html.index('id="the-book"') < html.index(WORDS) < html.index(f'id="passage-{ideas.pk}"')
    said = " ".join(text_of(letter_pdf(letter_page(letter, Role.ILLUSTRATOR), {})).split())
    assert said.index("The book") < said.index(WORDS) < said.index("Pages 4–5, ideas")
    notice = Notice.objects.get(person=cast.illustrator.person, entry__deed="send-letter")
    mail = mail_for(notice, lambda letter: b"")
    for told in (mail.text, mail.html):
        assert told.count(WORDS) == 1 and told.index(WORDS) < told.index("Turn her head.")
    client.post(reverse("reviews:answer-note", args=[on_book.pk]), {"response": "done"})
    for label in ("Pages 4–5", "Pages 6–7", "Pages 8–9"):
        assert WORDS in table(client, cast, Role.ILLUSTRATOR, label)
    told = desk(client, cast.illustrator)
    assert "Answer the letter, then hand in the ideas again: 2 spreads" in " ".join(strip_tags(told).split())
    assert told.count("1 note without an answer (each)") == 1, "one on each spread, and the book’s is met"


def test_a_note_on_the_spread_comes_along_to_the_next_version_with_its_answer(client, cast, ideas):
    note = whole(ideas, cast.art_director, reach="spread")
    answered(cast, ideas, "ask")
    sent(cast)
    notes.answer_note(note.pk, response="not_done", words="It would hide the moon.", actor=cast.illustrator)
    handed_in(ideas, cast.illustrator, [4])
    for role in (Role.ART_DIRECTOR, Role.ILLUSTRATOR):
        page = table(client, cast, role, "Pages 4–5")
        assert WORDS in page
        assert "It would hide the moon." in page
        assert "on the whole spread" in page
        assert WORDS not in table(client, cast, role, "Pages 6–7")


def test_a_place_of_an_earlier_version_still_lies_there_alone(client, cast, ideas):
    pinned(ideas, cast.art_director, "Only on the first.")
    answered(cast, ideas, "ask")
    sent(cast)
    handed_in(ideas, cast.illustrator, [4])
    assert "Only on the first." not in table(client, cast, Role.ILLUSTRATOR, "Pages 4–5")


def desk(client, seat) -> str:
    sign_in(client, seat.person)
    return client.get(reverse("reviews:desk")).content.decode()


def test_one_press_takes_it_off_the_desk_and_the_illustrator_is_told_nothing(client, cast, ideas):
    assert desk(client, cast.editor).count("Mark the ideas against the text") == 1
    for label in ("Pages 4–5", "Pages 6–7", "Pages 8–9"):
        assert "Looked at, nothing to note" in table(client, cast, Role.EDITOR, label)
        client.post(reverse("reviews:look-over", args=[cast.passage(label, "ideas").pk]))
    assert "Mark the ideas against the text" not in desk(client, cast.editor)
    assert "nothing to note" not in table(client, cast, Role.ILLUSTRATOR, "Pages 4–5")
    handed = cast.passage("Pages 4–5", "ideas")
    pinned(handed, cast.art_director)
    answered(cast, handed, "ask")
    sent(cast)
    handed_in(handed, cast.illustrator, [9])
    assert "Mark the ideas against the text" in desk(client, cast.editor), "a new version is asked about anew"


def test_what_was_looked_at_says_so_to_whoever_looked_and_asks_no_more(client, cast, ideas):
    address = reverse("reviews:look-over", args=[ideas.pk])
    assert address in table(client, cast, Role.EDITOR, "Pages 4–5")
    client.post(address)
    page = table(client, cast, Role.EDITOR, "Pages 4–5")
    assert address not in page
    assert "You looked at it" in page
    other = table(client, cast, Role.ART_DIRECTOR, "Pages 4–5")
    assert address in other and "You looked at it" not in other, "a look is one person’s own"
    for role in (Role.ILLUSTRATOR, Role.AGENT):
        assert "You looked at it" not in table(client, cast, role, "Pages 4–5")


def test_marking_the_options_is_having_looked(client, cast):
    cover = cast.passage("Cover", "ideas")
    handed = handed_in(cover, cast.illustrator, [1, 2])
    assert "Mark the ideas against the text" in desk(client, cast.editor)
    notes.mark_option(handed.pictures.first().pk, verdict="this", actor=cast.editor)
    assert "Mark the ideas against the text" not in desk(client, cast.editor)


def test_praise_shows_no_answer_form_and_is_not_counted_as_open(client, cast, ideas):
    pinned(ideas, cast.art_director, "His cap is wonderful.", cause="praise")
    pinned(ideas, cast.art_director, "Turn her.", cause="direction")
    answered(cast, ideas, "ask")
    letter = sent(cast)
    sign_in(client, cast.illustrator.person)
    page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert "Nothing to answer" in page
    assert page.count('name="response"') == 3, "one note has its three answers to choose from"
    assert "1 note without an answer" in desk(client, cast.illustrator)


def test_each_spread_shows_its_own_answer_and_takes_one(client, cast, ideas):
    """The illustrator answers on the table or in the letter; the art director reads each spread's own standing."""
    note, other = whole(ideas, cast.art_director), cast.passage("Pages 6–7", "ideas")
    answered(cast, ideas, "ask")
    letter = sent(cast)
    address, page = reverse("reviews:answer-note", args=[note.pk]), reverse("reviews:passage", args=[other.pk])
    asked = table(client, cast, Role.ILLUSTRATOR, "Pages 6–7")
    assert "Not answered for this spread yet" in asked and "Your answer for this spread" in asked
    given = {"by_spread": "yes", "spread": other.spread_id, "response": "done", "back": page}
    assert client.post(address, given).headers["Location"] == page
    for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR):
        assert "Done, on this spread" in table(client, cast, role, "Pages 6–7")
        assert "Not answered for this spread yet" in table(client, cast, role, "Pages 8–9")
    assert "Your answer for this spread" not in table(client, cast, Role.ART_DIRECTOR, "Pages 8–9")
    sign_in(client, cast.illustrator.person)
    read = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    told = " ".join(strip_tags(read).split())
    assert "Pages 6–7: Done" in told and "Pages 8–9: not answered yet" in told
    unticked = client.post(address, {"by_spread": "yes", "response": "done"}, follow=True).content.decode()
    assert "Tick the spreads that your answer is for" in unticked
    client.post(address, {"response": "not_done", "words": "It is night throughout."})
    assert "Not done, throughout" in table(client, cast, Role.ART_DIRECTOR, "Pages 6–7"), "the newer word holds"


def test_it_is_asked_before_handing_in_wherever_it_is_not_answered(client, cast, ideas):
    note, other = whole(ideas, cast.art_director), cast.passage("Pages 6–7", "ideas")
    pinned(other, cast.art_director, "Lower.")
    for passage in (ideas, other):
        answered(cast, passage, "ask")
    sent(cast)
    sign_in(client, cast.illustrator.person)
    page = reverse("reviews:draft-hand-in", args=[other.pk])
    assert "2 notes of the last letter" in " ".join(client.get(page).content.decode().split())
    given = {"by_spread": "yes", "spread": other.spread_id, "response": "done"}
    client.post(reverse("reviews:answer-note", args=[note.pk]), given)
    assert "1 note of the last letter" in " ".join(client.get(page).content.decode().split())
    assert "1 note without an answer (each)" in desk(client, cast.illustrator), "one on each of the two spreads"


def test_an_answer_for_one_spread_is_read_with_its_own_words_and_kept_by_whoever_gave_it(client, cast, ideas):
    note, other = whole(ideas, cast.art_director), cast.passage("Pages 6–7", "ideas")
    pinned(other, cast.art_director, "Lower.")
    for passage in (ideas, other):
        answered(cast, passage, "ask")
    sent(cast)
    notes.answer_note(note.pk, response="question", words="Which blue?", actor=cast.illustrator)
    given = {"response": "not_done", "words": "It is night here."}
    answer_on_spreads(note.pk, **given, spreads=[other.spread_id], actor=cast.illustrator)
    for seed, passage in enumerate((ideas, other), start=4):
        handed_in(passage, cast.illustrator, [seed])
    sign_in(client, cast.art_director.person)
    page = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    told = " ".join(strip_tags(page).split())
    assert "Not done, on this spread: It is night here." in told and "on this spread: Which blue?" not in told
    assert "throughout: Which blue?" in told
    seats.end_seat(cast.illustrator.pk, actor=cast.agent)
    AnsweredThere.objects.create(note=note, spread=ideas.spread, response="done", at=timezone.now())
    sign_in(client, cast.illustrator.person)
    kept = archive(client, cast).read("letters/letter 1.txt").decode()
    assert "Answered for Pages 6–7: Not done: It is night here." in kept
    assert "Answered for Pages 4–5" not in kept, "what was said once the seat had ended is not theirs"
