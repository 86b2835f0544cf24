"""Answers on the screen: the illustrator's to notes, the second voice's, and moved dates."""

import re

import pytest
from django.urls import reverse

from reviews.models import LedgerEntry, Passage, Proposal
from reviews.rules.contract.days import add_working_days
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.letter_scene import ELSEWHERE, answered, approved, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

JSON = {"accept": "application/json"}


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def ideas(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    return ideas


@pytest.fixture
def letter(cast, ideas):
    pinned(ideas, cast.editor, "Turn her head.")
    pinned(ideas, cast.production, "Less dark.", region=ELSEWHERE)
    answered(cast, ideas, "ask")
    return sent(cast)


def enter(client, cast, role):
    sign_in(client, cast.seat(role).person)
    return client


def test_the_illustrator_works_down_the_letter_and_sees_how_far(client, cast, letter):
    enter(client, cast, Role.ILLUSTRATOR)
    url = reverse("reviews:letter", args=[letter.pk])
    assert "<b>0 of 2</b> notes answered" in client.get(url).content.decode()
    first = letter.notes.get(number=1)
    page = client.post(reverse("reviews:answer-note", args=[first.pk]), {"response": "done"}, follow=True)
    assert page.redirect_chain[-1][0].endswith(f"#note-{first.pk}")
    assert "<b>1 of 2</b> notes answered" in page.content.decode()
    assert "Hand in the next version" in page.content.decode()


@pytest.mark.parametrize("asked", ["note=x&response=not_done", "note=1", "note=99&response=question", "response=odd"])
def test_an_odd_address_of_a_letter_chooses_nothing(client, cast, letter, asked):
    page = enter(client, cast, Role.ILLUSTRATOR).get(reverse("reviews:letter", args=[letter.pk]) + "?" + asked)
    assert page.status_code == 200
    assert 'aria-pressed="true"' not in page.content.decode()


@pytest.mark.parametrize("response", ["not_done", "question"])
def test_not_done_and_a_question_need_words(client, cast, letter, response):
    enter(client, cast, Role.ILLUSTRATOR)
    note = letter.notes.get(number=1)
    url = reverse("reviews:answer-note", args=[note.pk])
    assert client.post(url, {"response": response}, headers=JSON).status_code == 409
    refused = client.post(url, {"response": response}, follow=True)
    assert refused.redirect_chain[-1][0].endswith(f"#note-{note.pk}")
    assert "Note 1: " in refused.content.decode()
    kept = re.findall(r'value="(\w+)" aria-pressed="true"', refused.content.decode())
    assert kept == [response], "what was chosen is still chosen, on this note and no other"
    assert "This answer needs words" in refused.content.decode()
    note.refresh_from_db()
    assert note.response == ""
    client.post(url, {"response": response, "words": "The path must reach the door."})
    note.refresh_from_db()
    assert (note.response, note.response_words) == (response, "The path must reach the door.")


def test_everybody_on_the_book_reads_the_answer_and_only_the_illustrator_gives_it(client, cast, letter):
    note = letter.notes.get(number=1)
    url = reverse("reviews:answer-note", args=[note.pk])
    for role in (Role.EDITOR, Role.AGENT):
        assert enter(client, cast, role).post(url, {"response": "done"}).status_code == 403
    for role in (Role.ART_DIRECTOR, Role.PRODUCTION):  # who may answer on proofs, and there alone
        assert enter(client, cast, role).post(url, {"response": "done"}, headers=JSON).status_code == 409
    note.refresh_from_db()
    assert note.response == ""
    enter(client, cast, Role.ILLUSTRATOR).post(url, {"response": "not_done", "words": "It would hide the moon."})
    for role in (Role.ART_DIRECTOR, Role.AGENT):
        page = enter(client, cast, role).get(reverse("reviews:letter", args=[letter.pk])).content.decode()
        assert "It would hide the moon." in page
        assert "answer/" not in page


def test_the_illustrator_cannot_answer_what_was_not_sent(client, cast, ideas):
    unsent = pinned(ideas, cast.editor, "Not for you yet.")
    answer = enter(client, cast, Role.ILLUSTRATOR).post(
        reverse("reviews:answer-note", args=[unsent.pk]), {"response": "done"}
    )
    assert answer.status_code == 404, "what is not sent is not there for the other side"
    assert "Not for you yet." not in answer.content.decode()


@pytest.fixture
def sketch(cast):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    sketch = cast.passage("Pages 4–5", "sketch")
    handed_in(sketch, cast.illustrator, [2])
    sketch.refresh_from_db()
    return sketch


def test_where_nothing_was_said_and_nothing_is_asked_there_is_no_card_of_the_second_voice(client, cast, sketch):
    url = reverse("reviews:passage", args=[sketch.pk])
    assert "The second sign-off" in enter(client, cast, Role.ILLUSTRATOR).get(url).content.decode()
    pinned(sketch, cast.art_director)
    answered(cast, sketch, "ask")
    sent(cast)
    assert "The second sign-off" not in enter(client, cast, Role.ILLUSTRATOR).get(url).content.decode()


def test_the_head_of_the_table_leads_the_editor_to_the_answer_that_waits(client, cast, sketch):
    answered(cast, sketch, "approve")
    sent(cast)
    url = reverse("reviews:passage", args=[sketch.pk])
    shown = {role: enter(client, cast, role).get(url).content.decode() for role in (Role.EDITOR, Role.PRODUCTION)}
    assert f'href="{url}#second-voice"' in shown[Role.EDITOR] and 'id="second-voice"' in shown[Role.EDITOR]
    assert "Agree or object" not in shown[Role.PRODUCTION], "whoever has no second voice is not led to it"


def test_the_editor_agrees_and_the_waiting_approval_takes_effect(client, cast, sketch):
    answered(cast, sketch, "approve")
    sent(cast)
    page = enter(client, cast, Role.EDITOR).post(reverse("reviews:agree", args=[sketch.hand_in_id]), follow=True)
    assert "With both sign-offs Pages 4–5, sketch is approved." in page.content.decode()
    assert Passage.objects.get(pk=sketch.pk).state == "approved"


def test_the_editor_objects_with_words(client, cast, sketch):
    enter(client, cast, Role.EDITOR)
    url = reverse("reviews:object", args=[sketch.hand_in_id])
    assert client.post(url, {"words": " "}, headers=JSON).status_code == 409
    page = client.post(url, {"words": "Her scarf is blue in the text."}, follow=True)
    assert "The art director is told why you do not agree." in page.content.decode()


@pytest.mark.parametrize("name", ["agree", "object"])
def test_no_other_seat_is_the_second_voice(client, cast, sketch, name):
    for role in (Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION):
        url = reverse(f"reviews:{name}", args=[sketch.hand_in_id])
        assert enter(client, cast, role).post(url, {"words": "No."}).status_code == 403
    sign_in(client, cast.stranger)
    assert client.post(reverse(f"reviews:{name}", args=[sketch.hand_in_id])).status_code == 404


def test_a_date_moves_with_a_reason_both_sides_read(client, cast, ideas):
    enter(client, cast, Role.ILLUSTRATOR)
    passage = cast.passage("Pages 6–7", "ideas")
    before, to = passage.due_on, add_working_days(passage.due_on, 30, cast.book.calendar)
    posted = {"which": "hand-in", "to": to.isoformat(), "reason": "The text came late."}
    client.post(reverse("reviews:move-due-date", args=[passage.pk]), posted)
    passage.refresh_from_db()
    assert passage.due_on == before, "one side's word moves no date later"
    accept = reverse("reviews:accept-proposal", args=[Proposal.objects.get().pk])
    enter(client, cast, Role.ART_DIRECTOR).post(accept)
    passage.refresh_from_db()
    assert passage.due_on == to
    entry = LedgerEntry.objects.get(deed="move-due-date")
    assert (entry.sight, entry.data["reason"]) == ("all", "The text came late.")


@pytest.mark.parametrize(
    "change", [{"to": "soon"}, {"reason": ""}, {"which": "another"}, {"to": "2020-01-06"}, {"to": "2031-01-05"}]
)
def test_a_date_that_cannot_be_is_refused_in_a_sentence(client, cast, ideas, change):
    enter(client, cast, Role.ART_DIRECTOR)
    before = ideas.due_on
    posted = {"which": "hand-in", "to": "2031-01-06", "reason": "Because.", **change}
    said = client.post(reverse("reviews:move-due-date", args=[ideas.pk]), posted, headers=JSON)
    assert said.status_code == 409
    assert said.json()["sentence"].endswith(".")
    ideas.refresh_from_db()
    assert ideas.due_on == before


def test_the_agent_moves_no_dates(client, cast, ideas):
    url = reverse("reviews:move-due-date", args=[ideas.pk])
    posted = {"which": "hand-in", "to": "2031-01-06", "reason": "Because."}
    before = ideas.due_on
    assert enter(client, cast, Role.AGENT).post(url, posted, headers=JSON).status_code == 409
    ideas.refresh_from_db()
    assert ideas.due_on == before
    assert not Proposal.objects.exists()
