"""The letter on the screen: written, looked at, sent, read; and who sees what of it."""

import re

import pytest
from django.urls import reverse

from reviews.actions import hand_ins, letters, notes
from reviews.models import Letter, Note, Passage, Picture
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.letter_scene import ELSEWHERE, a_round, answered, approved, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def ideas(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    return ideas


@pytest.fixture
def as_role(client, cast):
    def enter(role: Role):
        sign_in(client, cast.seat(role).person)
        return client

    return enter


def draft_url(cast):
    return reverse("reviews:draft-letter", args=[cast.book.pk])


def fields(page: str, name: str) -> list[str]:
    """Read the values of the page's hidden fields of this name."""
    return re.findall(rf'<input type="hidden" name="{name}" value="([^"]*)"', page)


def test_notes_stand_with_their_spread_numbered_as_they_will_be_sent(as_role, cast, ideas):
    low = pinned(ideas, cast.editor, "The lower one.", region=ELSEWHERE)
    high = pinned(ideas, cast.production, "The upper one.")
    answered(cast, ideas, "ask")
    [waiting] = as_role(Role.ART_DIRECTOR).get(draft_url(cast)).context["draft"].waiting
    shown = [(note.row.pk, note.number) for group in waiting.groups for note in group.notes]
    assert shown == [(high.pk, 1), (low.pk, 2)]
    letter = sent(cast)
    assert list(Note.objects.filter(letter=letter).order_by("number").values_list("pk", flat=True)) == [high.pk, low.pk]


def test_a_letter_about_many_spreads_begins_with_ways_to_each(as_role, cast, ideas):
    others = [cast.passage(label, "ideas") for label in ("Pages 6–7", "Pages 8–9")]
    for seed, passage in enumerate(others, start=2):
        handed_in(passage, cast.illustrator, [seed])
    answered(cast, others[0], "approve")
    page = as_role(Role.ART_DIRECTOR).get(draft_url(cast)).content.decode()
    ways = page.partition('aria-label="Spreads of this letter"')[2].partition("</nav>")[0]
    targets = re.findall(r'href="#(passage-\d+)"', ways)
    assert targets == [f"passage-{passage.pk}" for passage in (ideas, *others)]
    assert all(f'id="{target}"' in page for target in targets)
    assert ways.count("No answer yet") == 2 and ways.count("Approved") == 1


def test_two_peoples_notes_on_one_place_stand_together_until_they_are_weighed(as_role, cast, ideas):
    one, other = pinned(ideas, cast.editor, "Longer."), pinned(ideas, cast.production, "Shorter.")
    client = as_role(Role.ART_DIRECTOR)
    page = client.get(draft_url(cast))
    assert page.context["draft"].n_clashes == 1
    assert "2 people marked the same place. Decide, or both go." in page.content.decode()
    url = reverse("reviews:weigh-note", args=[one.pk])
    client.post(url, {"others": "held", "letter_words": "Longer."})
    one.refresh_from_db(), other.refresh_from_db()
    assert (one.weighing, other.weighing) == ("through", "held")
    client.post(url, {"others": "through", "letter_words": "Longer."})
    other.refresh_from_db()
    assert other.weighing == "through"
    assert client.get(draft_url(cast)).context["draft"].n_clashes == 0


def test_a_note_is_reworded_and_its_authors_words_stay_beside(as_role, cast, ideas):
    note = pinned(ideas, cast.editor, "Wrong way round!")
    client = as_role(Role.ART_DIRECTOR)
    client.post(
        reverse("reviews:weigh-note", args=[note.pk]),
        {"weighing": "through", "letter_words": "Could she look the other way?"},
    )
    page = client.get(draft_url(cast)).content.decode()
    assert "Could she look the other way?" in page
    assert "Petra Innisfold wrote: “Wrong way round!”" in page


def test_an_answer_is_given_changed_and_taken_out(as_role, cast, ideas):
    client = as_role(Role.ART_DIRECTOR)
    url = reverse("reviews:set-answer", args=[ideas.pk])
    client.post(url, {"answer": "approve"})
    assert draft_of(cast).answers.get().answer == "approve"
    client.post(url, {"answer": "ask"})
    assert draft_of(cast).answers.get().answer == "ask"
    client.post(reverse("reviews:drop-answer", args=[ideas.pk]))
    assert not draft_of(cast).answers.exists()


@pytest.mark.parametrize("posted", [{}, {"answer": "perhaps"}, {"answer": "approve", "picture": "first"}])
def test_an_answer_that_cannot_be_read_is_refused_in_a_sentence(as_role, cast, ideas, posted):
    client = as_role(Role.ART_DIRECTOR)
    url = reverse("reviews:set-answer", args=[ideas.pk])
    said = client.post(url, posted, headers={"accept": "application/json"})
    assert said.status_code == 409
    assert said.json()["sentence"].startswith("Choose an answer")
    assert not Letter.objects.exists()


def test_approving_all_that_wait_takes_one_press(as_role, cast, ideas):
    client = as_role(Role.ART_DIRECTOR)
    assert "Approve it in this letter" not in client.get(draft_url(cast)).content.decode(), "nobody has opened it"
    client.get(reverse("reviews:passage", args=[ideas.pk]))
    assert "Approve it in this letter" in client.get(draft_url(cast)).content.decode()
    url = reverse("reviews:approve-waiting", args=[cast.book.pk])
    page = client.post(url, {"passage": [ideas.pk]}, follow=True)
    assert "1 spread is approved in the letter. Nothing is sent yet." in page.content.decode()
    ideas.refresh_from_db()
    assert ideas.state == "answering"


def test_what_sending_does_is_told_before_it_is_done(as_role, cast, ideas):
    second = cast.passage("Pages 6–7", "ideas")
    handed_in(second, cast.illustrator, [4])
    pinned(ideas, cast.editor)
    answered(cast, ideas, "ask")
    answered(cast, second, "approve")
    page = as_role(Role.ART_DIRECTOR).get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    for words in ("Uses round 1 of the 1 in the fee.", "The next version is due on", "Opens sketch, due on"):
        assert words in page
    for name in ("Juniper Aldersea", "Desmond Rookley", "Petra Innisfold", "Tamsin Garrick"):
        assert name in page
    assert "signed contract decides" in page
    assert "over_is_agreed" not in page
    assert not Letter.objects.filter(sent_at__isnull=False).exists()


def test_what_the_page_says_opens_is_what_opens_with_that_date(as_role, cast, ideas):
    answered(cast, ideas, "approve")
    page = as_role(Role.ART_DIRECTOR).get(reverse("reviews:send-letter", args=[draft_of(cast).pk]))
    [one] = page.context["sending"].consequences
    sent(cast)
    opened = Passage.objects.get(pk=one.opens.pk)
    assert (opened.state, opened.due_on) == ("drawing", one.following_due_on)


def test_going_beyond_the_fee_needs_an_explicit_yes(as_role, cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    a_round(cast, ideas, 1)
    handed_in(ideas, cast.illustrator, [2])
    pinned(ideas, cast.editor)
    answered(cast, ideas, "ask")
    client = as_role(Role.ART_DIRECTOR)
    url = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    page = client.get(url).content.decode()
    assert "Extra round: this is round 2; the fee covers 1." in page
    assert 'type="checkbox" name="over_is_agreed" value="yes" required' in page
    [looked_at] = fields(page, "looked_at")
    refused = client.post(url, {"looked_at": looked_at}, headers={"accept": "application/json"})
    assert refused.json()["sentence"].startswith("This letter asks for extra rounds.")
    client.post(url, {"looked_at": looked_at, "over_is_agreed": "yes"})
    assert Letter.objects.filter(number=2).exists()


def test_a_change_to_something_approved_is_told_as_outside_the_fee(as_role, cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    approved(cast, ideas, 1)
    pinned(ideas, cast.editor, "The door is blue now.", cause="text")
    client = as_role(Role.ART_DIRECTOR)
    assert "outside the rounds in the fee" in client.get(draft_url(cast)).content.decode()
    answered(cast, ideas, "ask")
    page = client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    assert "Outside the fee: this was approved" in page
    assert 'name="over_is_agreed"' in page


def test_an_approval_by_one_of_two_voices_is_told_to_wait(as_role, cast, ideas):
    answered(cast, ideas, "approve")
    sent(cast)
    sketch = cast.passage("Pages 4–5", "sketch")
    handed_in(sketch, cast.illustrator, [2])
    answered(cast, sketch, "approve")
    page = as_role(Role.ART_DIRECTOR).get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    assert "Waits for the editor: approved only once both have signed off." in page
    assert "Opens" not in page


def test_an_answer_that_cannot_go_stops_the_letter_and_says_why(as_role, cast, ideas):
    answered(cast, ideas, "ask")
    page = as_role(Role.ART_DIRECTOR).get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    assert "You ask for changes but include no note." in page
    assert re.search(r'<button class="button main" disabled>.*Send the letter', page, re.DOTALL)


def test_a_letter_that_changed_since_it_was_looked_at_is_not_sent(as_role, cast, ideas):
    pinned(ideas, cast.editor)
    answered(cast, ideas, "ask")
    client = as_role(Role.ART_DIRECTOR)
    url = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    read = client.get(url).context["sending"]
    late = pinned(ideas, cast.production, "One more.", region=ELSEWHERE)
    letters.word_letter(cast.book.pk, "Dear Juniper,", actor=cast.art_director)
    page = client.post(url, {"looked_at": read.looked_at, "marks": read.marks})
    words = page.content.decode()
    assert "The letter changed since you looked at what it will do." in words
    assert "The opening lines are different now." in words
    assert "1 note came since." in words and "“One more.”" in words
    assert not Letter.objects.filter(sent_at__isnull=False).exists()
    # What came late stays for a later letter, unless it is read first.
    now = page.context["sending"]
    assert "Send the letter without the late notes" in words
    client.post(url, {"looked_at": now.looked_at, "marks": now.marks, "leave": [late.pk]})
    letter = Letter.objects.get(sent_at__isnull=False)
    assert [note.words for note in letter.notes.all()] == ["Turn her head."]
    late.refresh_from_db()
    assert (late.state, late.letter) == ("unsent", None)


@pytest.mark.parametrize("marks", ["", "[]", "nonsense", '{"answers": 3, "notes": [1]}'])
def test_marks_that_no_page_of_ours_wrote_are_read_as_nothing(as_role, cast, ideas, marks):
    pinned(ideas, cast.editor)
    answered(cast, ideas, "ask")
    url = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    page = as_role(Role.ART_DIRECTOR).post(url, {"looked_at": "0" * 64, "marks": marks})
    assert page.status_code == 409 and "What changed since you read it" in page.content.decode()


def test_the_letter_is_read_with_its_pictures_and_objection_before_it_goes(as_role, cast, ideas):
    second = cast.passage("Pages 6–7", "ideas")
    handed_in(second, cast.illustrator, [4, 5])
    Picture.objects.update(has_preview=True)
    pinned(ideas, cast.editor, "Turn her head.")
    answered(cast, ideas, "ask")
    chosen = second.hand_ins.get().pictures.get(position=2)
    letters.set_answer(second.pk, answer="approve", picture_id=chosen.pk, actor=cast.art_director)
    letters.word_letter(cast.book.pk, "Dear Juniper, well begun.", actor=cast.art_director)
    url = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    page = as_role(Role.ART_DIRECTOR).get(url).content.decode()
    for words in ("Dear Juniper, well begun.", "Turn her head.", "option 2", chosen.sha256):
        assert words in page
    assert reverse("reviews:picture-preview", args=[chosen.pk]) in page
    letter = sent(cast)
    read = as_role(Role.ILLUSTRATOR).get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    for words in ("Dear Juniper, well begun.", "Turn her head.", "option 2", chosen.sha256):
        assert words in read
    desk = as_role(Role.ILLUSTRATOR).get("/").content.decode()
    assert desk.index("Approved lately") < desk.index("What waits on you") and "option 2" in desk
    assert chosen.sha256 in desk


def test_small_notes_of_what_is_approved_wait_on_the_illustrator_until_answered(as_role, cast, ideas):
    note = pinned(ideas, cast.editor, "A darker reed.")
    answered(cast, ideas, "approve_small")
    sent(cast)
    client = as_role(Role.ILLUSTRATOR)
    assert "Approved: answer the small notes on the ideas" in client.get("/").content.decode()
    url = reverse("reviews:answer-note", args=[note.pk])
    said = client.post(url, {"response": "done"}, headers={"Accept": "application/json"})
    assert said.json()["sentence"] == "Note 1: done."
    assert "answer the small notes" not in client.get("/").content.decode()


def test_an_answer_is_given_on_the_table_and_leads_back_to_it(as_role, cast, ideas):
    other = cast.passage("Pages 6–7", "ideas")
    handed_in(other, cast.illustrator, [4])
    client, table = as_role(Role.ART_DIRECTOR), reverse("reviews:passage", args=[ideas.pk])
    page = client.get(table).content.decode()
    assert f'href="{reverse("reviews:passage", args=[other.pk])}" rel="next"' in page
    answer = {"answer": "approve", "back": table}
    back = client.post(reverse("reviews:set-answer", args=[ideas.pk]), answer)
    assert back.url == table
    assert "In the letter: approve" in client.get(table).content.decode()
    assert "data-answer-here" not in as_role(Role.EDITOR).get(table).content.decode()


def test_a_sent_letter_shows_the_illustrator_what_went_and_nothing_else(as_role, cast, ideas):
    going = pinned(ideas, cast.editor, "Turn her head.")
    notes.reply(going.pk, "I would have left it.", actor=cast.production)
    held = pinned(ideas, cast.production, "Frankly dull.", region=ELSEWHERE)
    letters.weigh_note(held.pk, weighing="held", actor=cast.art_director)
    answered(cast, ideas, "ask")
    letter = sent(cast)
    url = reverse("reviews:letter", args=[letter.pk])
    for role in (Role.ILLUSTRATOR, Role.AGENT):
        page = as_role(role).get(url).content.decode()
        assert "Turn her head." in page
        assert "Frankly dull." not in page
        assert "I would have left it." not in page
    for role in (Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION):
        page = as_role(role).get(url).content.decode()
        assert "Frankly dull." in page
        assert "I would have left it." in page


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION])
def test_the_draft_is_not_shown_to_those_it_is_not_for(as_role, cast, ideas, role):
    pinned(ideas, cast.editor, "A secret so far.")
    answered(cast, ideas, "ask")
    client = as_role(role)
    draft = draft_of(cast).pk
    # The page of the draft is the publisher's; that one is being written is not told either.
    for name, pk, status in (("draft-letter", cast.book.pk, 403), ("letter", draft, 404), ("send-letter", draft, 404)):
        answer = client.get(reverse(f"reviews:{name}", args=[pk]))
        assert answer.status_code == status
        assert "A secret so far." not in answer.content.decode()
    assert "being written" not in client.get(reverse("reviews:letters", args=[cast.book.pk])).content.decode()


def test_the_editor_reads_the_draft_and_has_no_buttons_on_it(as_role, cast, ideas):
    pinned(ideas, cast.editor)
    page = as_role(Role.EDITOR).get(draft_url(cast)).content.decode()
    assert "Turn her head." in page
    assert "weigh/" not in page
    assert "Ask for changes" not in page


def test_the_list_of_letters_counts_what_was_asked_and_answered(as_role, cast, ideas):
    note = pinned(ideas, cast.editor)
    pinned(ideas, cast.production, "And this.", region=ELSEWHERE)
    answered(cast, ideas, "ask")
    sent(cast)
    notes.answer_note(note.pk, response="done", actor=cast.illustrator)
    [line] = as_role(Role.AGENT).get(reverse("reviews:letters", args=[cast.book.pk])).context["letters"]
    assert (line.number, line.n_asked, line.n_approved, line.n_notes, line.n_answered) == (1, 1, 0, 2, 1)


def test_the_paper_says_that_it_is_being_made_until_it_is(as_role, cast, ideas):
    from reviews.tasks.paper import paper_of

    answered(cast, ideas, "approve")
    letter = sent(cast)
    client = as_role(Role.ILLUSTRATOR)
    url = reverse("reviews:letter-paper", args=[letter.pk])
    waits = client.get(url)
    assert waits.status_code == 202
    assert "The PDF is being made" in waits.content.decode()
    paper_of(letter)
    ready = client.get(url)
    assert ready["Content-Type"] == "application/pdf"
    assert b"".join(ready.streaming_content).startswith(b"%PDF-")


def test_a_stranger_finds_no_letter(client, cast, ideas):
    answered(cast, ideas, "approve")
    letter = sent(cast)
    sign_in(client, cast.stranger)
    for name in ("letter", "letter-paper", "send-letter"):
        assert client.get(reverse(f"reviews:{name}", args=[letter.pk])).status_code == 404


def fill(cast, labels) -> None:
    for seed, label in enumerate(labels):
        passage = cast.passage(label, "ideas")
        handed_in(passage, cast.illustrator, [seed])
        Picture.objects.update(has_preview=True)
        for n, region in enumerate((ELSEWHERE, {"kind": "point", "points": [[0.5, 0.1]]})):
            note = pinned(passage, cast.editor, f"Note {n}.", region=region)
            notes.reply(note.pk, "Yes.", actor=cast.art_director)
        answered(cast, passage, "ask")


@pytest.mark.parametrize("labels", [["Pages 4–5"], ["Pages 4–5", "Pages 6–7", "Pages 8–9", "Cover"]])
def test_the_pages_ask_as_many_queries_for_four_spreads_as_for_one(
    as_role, cast, django_assert_max_num_queries, labels
):
    fill(cast, labels)
    client = as_role(Role.ART_DIRECTOR)
    send_url = reverse("reviews:send-letter", args=[draft_of(cast).pk])
    with django_assert_max_num_queries(12):
        client.get(draft_url(cast))
    with django_assert_max_num_queries(12):
        client.get(send_url)
    letter = sent(cast)
    with django_assert_max_num_queries(12):
        client.get(reverse("reviews:letter", args=[letter.pk]))
    with django_assert_max_num_queries(4):
        client.get(reverse("reviews:letters", args=[cast.book.pk]))


def test_a_withdrawn_hand_in_leaves_a_stale_answer_that_says_so(as_role, cast, ideas):
    answered(cast, ideas, "approve")
    ideas.refresh_from_db()
    hand_ins.withdraw_hand_in(ideas.hand_in_id, "The wrong file.", actor=cast.illustrator)
    handed_in(ideas, cast.illustrator, [9])
    page = as_role(Role.ART_DIRECTOR).get(draft_url(cast)).content.decode()
    assert "A newer hand-in came after this answer." in page
