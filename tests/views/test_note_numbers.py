"""One note has one number: on the table, in the letter being written, and once it is sent."""

import pytest
from django.urls import reverse

from reviews.actions import hand_ins, letters
from reviews.models import Note
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.letter_scene import ELSEWHERE, a_round, answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    cast = gather(a_book())
    for seed, label in enumerate(("Pages 4–5", "Pages 6–7", "Pages 8–9")):
        handed_in(cast.passage(label, "ideas"), cast.illustrator, [seed])
    return cast


def on_table(client, cast, label: str, role: Role = Role.ART_DIRECTOR) -> dict[str, str]:
    """Read the flags on one spread's table, in the order of its list: words and mark."""
    sign_in(client, cast.seat(role).person)
    page = client.get(reverse("reviews:passage", args=[cast.passage(label, "ideas").pk]))
    return {note["words"]: note["mark"] for note in page.context["table_data"]["notes"]}


def in_draft(client, cast) -> dict[str, int | None]:
    sign_in(client, cast.art_director.person)
    draft = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).context["draft"]
    return {note.row.words: note.number for note in draft.notes}


def three_notes(cast) -> None:
    """Made in another order than they are read in, on two spreads of which only the later has its answer."""
    pinned(cast.passage("Pages 8–9", "ideas"), cast.editor, "Last.")
    pinned(cast.passage("Pages 6–7", "ideas"), cast.production, "Low.", region=ELSEWHERE)
    pinned(cast.passage("Pages 6–7", "ideas"), cast.editor, "High.")


def test_the_table_numbers_unsent_notes_as_the_letter_will(client, cast):
    three_notes(cast)
    answered(cast, cast.passage("Pages 8–9", "ideas"), "ask")
    assert in_draft(client, cast) == {"High.": 1, "Low.": 2, "Last.": 3}
    assert list(on_table(client, cast, "Pages 6–7").items()) == [("High.", "1"), ("Low.", "2")]
    assert on_table(client, cast, "Pages 8–9", Role.EDITOR) == {"Last.": "3"}


def test_a_note_on_an_earlier_page_moves_the_numbers_on_everywhere(client, cast):
    three_notes(cast)
    pinned(cast.passage("Pages 4–5", "ideas"), cast.editor, "First.")
    assert in_draft(client, cast) == {"First.": 1, "High.": 2, "Low.": 3, "Last.": 4}
    assert on_table(client, cast, "Pages 6–7") == {"High.": "2", "Low.": "3"}


def test_giving_an_answer_moves_no_number_and_sending_keeps_them(client, cast):
    three_notes(cast)
    before = in_draft(client, cast)
    for label in ("Pages 6–7", "Pages 8–9"):
        answered(cast, cast.passage(label, "ideas"), "ask")
    assert in_draft(client, cast) == before
    letter = sent(cast)
    assert dict(Note.objects.filter(letter=letter).values_list("words", "number")) == before


def test_what_is_held_back_has_no_number_and_lets_the_others_close_up(client, cast):
    three_notes(cast)
    letters.weigh_note(Note.objects.get(words="High.").pk, weighing="held", actor=cast.art_director)
    assert in_draft(client, cast) == {"High.": None, "Low.": 1, "Last.": 2}
    assert list(on_table(client, cast, "Pages 6–7").items()) == [("Low.", "1"), ("High.", "×")]


def test_before_it_goes_the_letter_says_that_numbers_close_up_over_what_stays(client, cast):
    three_notes(cast)
    answered(cast, cast.passage("Pages 8–9", "ideas"), "ask")
    sign_in(client, cast.art_director.person)
    send_url = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    page = client.get(send_url).content.decode()
    assert "<b>2</b> stay for a later letter: their spreads have no answer yet; the numbers after them close up" in page
    answered(cast, cast.passage("Pages 6–7", "ideas"), "ask")
    assert "stay for a later letter" not in client.get(send_url).content.decode()
    pinned(cast.passage("Pages 4–5", "ideas"), cast.editor, "First.")
    assert "<b>1</b> stays for a later letter" in client.get(send_url).content.decode()


def test_notes_on_a_hand_in_that_was_taken_back_are_no_part_of_this_count(client, cast):
    three_notes(cast)
    taken = cast.passage("Pages 6–7", "ideas")
    hand_ins.withdraw_hand_in(taken.hand_in_id, "The wrong file.", actor=cast.illustrator)
    answered(cast, cast.passage("Pages 8–9", "ideas"), "ask")
    assert in_draft(client, cast) == {"Last.": 1}
    page = client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    assert "for a later letter" not in page and "close up" not in page


def test_notes_that_stay_behind_what_goes_change_no_number(client, cast):
    three_notes(cast)
    answered(cast, cast.passage("Pages 6–7", "ideas"), "ask")
    sign_in(client, cast.art_director.person)
    page = client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    assert "<b>1</b> stays for a later letter" in page
    assert "close up" not in page
    assert dict(sent(cast).notes.values_list("words", "number")) == {"High.": 1, "Low.": 2}


def test_a_sent_note_takes_its_letters_number_along(client, cast):
    ideas = cast.passage("Pages 6–7", "ideas")
    pinned(ideas, cast.editor, "Turn her.")
    answered(cast, ideas, "ask")
    sent(cast)
    a_round(cast, ideas, 12, over=True)
    handed_in(ideas, cast.illustrator, [13])
    pinned(ideas, cast.editor, "Now the pail.")
    assert on_table(client, cast, "Pages 6–7") == {"Now the pail.": "1"}
    sign_in(client, cast.illustrator.person)
    page = client.get(reverse("reviews:passage", args=[ideas.pk]) + "?hand_in=2")
    assert [note["name"] for note in page.context["table_data"]["notes"]] == ["note 2.1"]
    assert "2.1 is note 1 of letter 2." in page.content.decode()
    letter = client.get(page.context["table_data"]["notes"][0]["letter_url"]).content.decode()
    assert "On the pictures, 2.1 is note 1 of letter 2." in letter


def test_sent_and_unsent_notes_on_one_picture_cannot_be_taken_for_each_other(client, cast):
    ideas = cast.passage("Pages 6–7", "ideas")
    pinned(ideas, cast.editor, "Small.", cause="direction")
    answered(cast, ideas, "approve_small")
    sent(cast)
    pinned(ideas, cast.editor, "After all.", cause="direction", region=ELSEWHERE)
    assert list(on_table(client, cast, "Pages 6–7").items()) == [("Small.", "1.1"), ("After all.", "1")]


def test_the_table_gives_the_letters_words_and_says_whose_were_first(client, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    note = pinned(passage, cast.editor, "She looks odd.")
    letters.weigh_note(note.pk, weighing="through", letter_words="Turn her to the moon.", actor=cast.art_director)
    for role, own in ((Role.ART_DIRECTOR, ""), (Role.EDITOR, "She looks odd.")):
        sign_in(client, cast.seat(role).person)
        page = client.get(reverse("reviews:passage", args=[passage.pk]))
        [shown] = page.context["table_data"]["notes"]
        assert (shown["words"], shown["own_words"]) == ("Turn her to the moon.", own), "one edits one's own words"
        told = "Worded for the letter by the art director; Petra Innisfold wrote: “She looks odd.”"
        assert told in page.content.decode()
    answered(cast, passage, "ask")
    sent(cast)
    sign_in(client, cast.illustrator.person)
    assert "She looks odd." not in client.get(reverse("reviews:passage", args=[passage.pk])).content.decode()
