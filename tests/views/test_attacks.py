"""Ways round the access table that were open once, each tried again here."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone

from reviews import uploads
from reviews.actions import hand_ins, layout, seats, second_voice
from reviews.actions.books import make_book
from reviews.models import Book, LedgerEntry, Passage, Picture, Seat
from reviews.pages.wording.ledger import sentence
from reviews.queries.reckoning import reckon_one
from reviews.rules.states import Deed, Gate, PassageState, Refused, Role, StageKind
from reviews.views.responses import came_from
from tests.cast import PASSWORD, gather, sign_in
from tests.letter_scene import answered, approved, pinned, sent
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db

OBJECTION = "owlglass-objection"
WHERE = "Pages 4–5"


@pytest.fixture
def cast():
    return gather(a_book())


def as_role(cast, role) -> Client:
    client = Client()
    sign_in(client, cast.seat(role).person)
    return client


def at_sketch(cast) -> Passage:
    approved(cast, cast.passage(WHERE, "ideas"), 1)
    return cast.passage(WHERE, "sketch")


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION])
def test_what_was_taken_out_of_a_draft_stays_out_once_the_rest_is_handed_in(cast, role):
    passage = cast.passage(WHERE, "ideas")
    made = draft(passage, cast.illustrator, (1, 2))
    out, kept = made.pictures.order_by("position")
    hand_ins.remove_picture(out.pk, actor=cast.illustrator)
    hand_ins.hand_in(made.pk, actor=cast.illustrator)
    client = as_role(cast, role)
    assert client.get(reverse("reviews:picture-state", args=[kept.pk])).status_code == 200
    for name in ("picture-state", "picture-preview", "picture-thumb", "picture-original"):
        assert client.get(reverse(f"reviews:{name}", args=[out.pk])).status_code == 404, name
    own = as_role(cast, Role.ILLUSTRATOR).get(reverse("reviews:picture-state", args=[out.pk]))
    assert own.status_code == 200


def test_why_the_second_voice_objects_is_the_publishers_own_affair(cast):
    passage = at_sketch(cast)
    handed = handed_in(passage, cast.illustrator, [2])
    second_voice.object_to(handed.pk, OBJECTION, actor=cast.editor)
    url = reverse("reviews:passage", args=[passage.pk])
    assert OBJECTION in as_role(cast, Role.ART_DIRECTOR).get(url).content.decode()
    for role in (Role.ILLUSTRATOR, Role.AGENT):
        page = as_role(cast, role).get(url).content.decode()
        assert "The second sign-off" in page, role
        assert OBJECTION not in page, role
        assert "does not agree" not in page, role


def test_an_agreement_is_told_once_it_has_made_an_approval_complete(cast):
    passage = at_sketch(cast)
    handed = handed_in(passage, cast.illustrator, [2])
    url = reverse("reviews:passage", args=[passage.pk])
    second_voice.agree(handed.pk, actor=cast.editor)
    client, told = as_role(cast, Role.ILLUSTRATOR), f"agrees to hand-in {handed.number}"
    assert told not in client.get(url).content.decode()
    answered(cast, passage, "approve")
    sent(cast)
    passage.refresh_from_db()
    assert passage.state == PassageState.APPROVED
    assert told in client.get(url).content.decode()


def planned(cast, **gates):
    """The plan of the inside as it stands, with other gates."""
    stages = cast.passage(WHERE, "ideas").stage.plan.stages.order_by("position")
    for stage in stages:
        stage.gate = gates.get(stage.kind, stage.gate)
    return stages[0].plan_id, [stage.as_planned() for stage in stages]


def test_a_hidden_stage_that_was_drawn_is_not_opened_by_changing_the_plan(cast):
    passage = at_sketch(cast)
    handed = handed_in(passage, cast.illustrator, [2])
    second_voice.agree(handed.pk, actor=cast.editor)
    answered(cast, passage, "approve")
    sent(cast)
    handed_in(cast.passage(WHERE, "line"), cast.illustrator, [3])
    hidden = cast.passage(WHERE, "ink")
    assert hidden.stage.gate == Gate.HIDDEN
    picture = handed_in(hidden, cast.illustrator, [4]).pictures.get()
    plan_id, stages = planned(cast, ink=Gate.SHOWN)
    with pytest.raises(Refused, match="gate-begun"):
        layout.change_plan(plan_id, stages, actor=cast.art_director)
    state = reverse("reviews:picture-state", args=[picture.pk])
    assert as_role(cast, Role.ART_DIRECTOR).get(state).status_code == 404


def test_a_gate_changed_before_anybody_drew_is_told_by_the_ledger_too(cast):
    passage = cast.passage(WHERE, "ink")
    plan_id, stages = planned(cast, ink=Gate.SHOWN, line=Gate.HIDDEN)
    layout.change_plan(plan_id, stages, actor=cast.art_director)
    entry = cast.book.entries.get(deed=Deed.CHANGE_PLAN)
    story = reckon_one(cast.book, entry.at).story
    assert story.passages[passage.pk].gate == Gate.SHOWN
    for told in Passage.objects.select_related("stage").filter(book=cast.book):
        assert story.passages[told.pk].gate == told.stage.gate


def test_the_statement_as_data_holds_no_days_of_a_hidden_stage(cast):
    url = reverse("reviews:statement-json", args=[cast.book.pk])
    stages = {}
    for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT):
        stages[role] = set(as_role(cast, role).get(url).json()["figures"]["days_by_stage"])
    hidden = {row.stage.kind for row in Passage.objects.select_related("stage").filter(book=cast.book)
              if row.stage.gate == Gate.HIDDEN}  # fmt: skip
    assert hidden and hidden <= stages[Role.ILLUSTRATOR]
    assert not hidden & stages[Role.ART_DIRECTOR]
    assert not hidden & stages[Role.AGENT]


def test_a_guest_whose_seat_has_ended_cannot_set_up_books(cast):
    guest = cast.invite_guest(cast.passage("Cover", "ideas"))
    client = Client()
    sign_in(client, guest.person)
    assert client.get(reverse("reviews:new-book")).status_code == 403
    seats.end_seat(guest.pk, actor=cast.art_director)
    assert client.get(reverse("reviews:new-book")).status_code == 403
    assert client.get(reverse("reviews:desk")).status_code == 200


def test_an_illustrators_second_invitation_opens_no_seat_beside_the_art_director():
    """An illustrator may bring one art director in; a link kept back must not become a second pair of eyes."""
    juniper = seats.make_person(email="juniper@aldersea.example", name="Juniper Aldersea", password=None)
    book = make_book(a_book(role=Role.ILLUSTRATOR), actor=juniper)
    own = Seat.objects.get(book=book)
    links = [
        seats.invite(book.pk, email=f"{name}@thimblereed.example", name=name, role=Role.ART_DIRECTOR, actor=own)
        for name in ("corvin", "second")
    ]
    seats.take_seat(links[0].secret, name="Corvin Mallowe", password=PASSWORD)
    page = Client().get(reverse("reviews:invitation", args=[links[1].secret]))
    assert page.status_code == 410
    with pytest.raises(Refused, match="invitation-overtaken"):
        seats.take_seat(links[1].secret, name="Somebody", password=PASSWORD)
    assert Seat.objects.filter(book=book, role=Role.ART_DIRECTOR).count() == 1


@pytest.mark.parametrize(
    ("back", "goes_to"),
    [
        ("http://testserver//elsewhere.example/x", "/"),
        ("http://testserver", "/"),
        ("nowhere", "/"),
        ("https://elsewhere.example/", "/"),
        ("http://testserver/books/1/?a=1", "/books/1/?a=1"),
    ],
)
def test_the_way_back_after_a_refusal_stays_here(back, goes_to):
    assert came_from(RequestFactory().post("/", {"back": back})) == goes_to


@pytest.mark.parametrize("asked", ["nowhere", "reviews:desk", "//elsewhere.example", "https://elsewhere.example/"])
def test_a_sign_in_link_that_names_no_page_of_ours_leads_to_the_desk(cast, asked):
    answer = as_role(cast, Role.AGENT).get(reverse("reviews:sign-in"), {"next": asked})
    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_an_order_no_picture_could_have_is_refused_in_words(cast):
    made = draft(cast.passage(WHERE, "ideas"), cast.illustrator, (1, 2))
    url = reverse("reviews:order-pictures", args=[made.pk])
    answer = as_role(cast, Role.ILLUSTRATOR).post(url, {"order": "9" * 5000}, headers={"accept": "application/json"})
    assert answer.status_code == 409
    assert Picture.objects.filter(hand_in=made).count() == 2


def test_a_strangers_file_is_not_written_down(cast, monkeypatch):
    kept = []
    real = uploads.TemporaryUploadedFile
    monkeypatch.setattr("django.core.files.uploadhandler.TemporaryUploadedFile", lambda *a: kept.append(a) or real(*a))
    post = {"file": SimpleUploadedFile("x.png", b"x" * 1000)}
    passage = cast.passage(WHERE, "ideas")
    for url in (reverse("reviews:sign-in"), reverse("reviews:add-picture", args=[passage.pk])):
        Client().post(url, {**post, "username": "osric@elsewhere.example", "password": "wrong"})
        post["file"].seek(0)
    assert kept == []
    as_role(cast, Role.ILLUSTRATOR).post(reverse("reviews:add-picture", args=[passage.pk]), post)
    assert len(kept) == 1


def test_a_change_of_plan_says_in_the_ledger_what_it_changed_and_tells_the_editor_of_a_lost_voice(cast):
    plan_id, stages = planned(cast)
    stages = [replace(s, two_voices=False, rounds=1) if s.kind == StageKind.SKETCH else s for s in stages]
    layout.change_plan(plan_id, stages, actor=cast.art_director)
    entry = cast.book.entries.get(deed=Deed.CHANGE_PLAN)
    told = "sketch (1 instead of 2 rounds in the fee, one sign-off instead of two), line"
    assert told in sentence(entry.as_entry())
    assert entry.notices.filter(person=cast.editor.person).exists()


def test_the_editor_is_not_written_to_where_the_voices_stay(cast):
    plan_id, stages = planned(cast, ink=Gate.SHOWN)
    layout.change_plan(plan_id, stages, actor=cast.art_director)
    entry = cast.book.entries.get(deed=Deed.CHANGE_PLAN)
    assert "ink (the publisher is shown it)" in sentence(entry.as_entry())
    assert not entry.notices.filter(person=cast.editor.person).exists()


@pytest.mark.parametrize(
    "region", ['{"kind": []}', '{"kind": {}}', '["box"]', '{"kind": "box", "points": [[NaN, 0], [1, 1]]}']
)
def test_a_mark_that_is_none_is_refused_in_words(cast, region):
    passage = cast.passage(WHERE, "ideas")
    picture = handed_in(passage, cast.illustrator).pictures.get()
    given = {"picture": picture.pk, "region": region, "words": "Here.", "cause": "direction"}
    url = reverse("reviews:pin-note", args=[passage.pk])
    answer = as_role(cast, Role.EDITOR).post(url, given, headers={"accept": "application/json"})
    assert answer.status_code == 409
    assert passage.notes.count() == 0


def test_another_editors_agreement_does_not_outvote_a_later_objection(cast):
    second = seats.invite(
        cast.book.pk, email="wren@thimblereed.example", name="Wren", role=Role.EDITOR, actor=cast.art_director
    )
    wren = seats.take_seat(second.secret, name="Wren Halloway", password=PASSWORD)
    passage = at_sketch(cast)
    handed = handed_in(passage, cast.illustrator, [2])
    second_voice.agree(handed.pk, actor=cast.editor)
    second_voice.object_to(handed.pk, OBJECTION, actor=wren)
    answered(cast, passage, "approve")
    page = as_role(cast, Role.ART_DIRECTOR).get(reverse("reviews:draft-letter", args=[cast.book.pk]))
    assert OBJECTION in page.content.decode()
    sent(cast)
    passage.refresh_from_db()
    assert (passage.state, passage.pending_id) == (PassageState.ANSWERING, handed.pk)
    second_voice.agree(handed.pk, actor=wren)
    passage.refresh_from_db()
    assert passage.state == PassageState.APPROVED


NOTE_DEEDS = ("edit-note", "withdraw-note", "restore-note", "weigh-note", "reply", "answer-note", "place-note")


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT])
def test_unsent_notes_cannot_be_counted_by_trying_numbers(cast, role):
    passage = cast.passage(WHERE, "ideas")
    handed_in(passage, cast.illustrator)
    unsent = pinned(passage, cast.editor)
    client = as_role(cast, role)
    for name in NOTE_DEEDS:
        asked = [reverse(f"reviews:{name}", args=[pk]) for pk in (unsent.pk, unsent.pk + 1)]
        answers = [client.post(path, headers={"accept": "application/json"}) for path in asked]
        assert [answer.status_code for answer in answers] == [404, 404], name
        assert answers[0].content == answers[1].content, name


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION])
def test_drafts_cannot_be_counted_by_trying_numbers(cast, role):
    made = draft(cast.passage(WHERE, "ideas"), cast.illustrator, (1,))
    picture = made.pictures.get()
    client = as_role(cast, role)
    asked = {"remove-picture": picture.pk, "order-pictures": made.pk, "word-hand-in": made.pk, "hand-in": made.pk,
             "withdraw-hand-in": made.pk, "agree": made.pk, "object": made.pk}  # fmt: skip
    for name, pk in asked.items():
        assert client.post(reverse(f"reviews:{name}", args=[pk])).status_code == 404, name


@pytest.mark.parametrize("day", ["9999-12-31", "2999-01-01"])
def test_a_day_beyond_all_calendars_is_refused_in_words_and_breaks_no_page(cast, day):
    director, passage = as_role(cast, Role.ART_DIRECTOR), cast.passage(WHERE, "ideas")
    facts = {"title": cast.book.title, "publisher": cast.book.publisher, "final_on": day, "reason": "A later slot."}
    moved = {"to": day, "which": "hand-in", "reason": "A later slot."}
    answers = [
        director.post(reverse("reviews:change-book", args=[cast.book.pk]), facts),
        director.post(
            reverse("reviews:move-due-date", args=[passage.pk]), moved, headers={"accept": "application/json"}
        ),
    ]
    assert [answer.status_code for answer in answers] == [422, 409]
    for answer in answers:
        assert "is more than 20 years away. Check the year." in answer.content.decode()
    for name in ("schedule", "statement", "account"):
        assert director.get(reverse(f"reviews:{name}", args=[cast.book.pk])).status_code == 200, name


def test_a_form_that_lay_open_takes_back_nothing_that_was_changed_meanwhile(cast):
    url, client = reverse("reviews:change-book", args=[cast.book.pk]), as_role(cast, Role.ART_DIRECTOR)
    form = client.get(url).context["form"]
    seen = {field.html_initial_name: field.value() or "" for field in form if field.field.show_hidden_initial}
    first = {"title": "The Otter’s Clock", "publisher": cast.book.publisher, "final_on": "", "reason": ""}
    last_day = (timezone.localdate() + timedelta(days=400)).isoformat()
    assert client.post(url, seen | first).status_code == 302
    second = first | {"title": cast.book.title, "final_on": last_day, "reason": "The printer’s slot."}
    assert client.post(url, seen | second).status_code == 302
    book = Book.objects.get(pk=cast.book.pk)
    assert (book.title, book.final_on.isoformat()) == ("The Otter’s Clock", last_day)
    assert list(LedgerEntry.objects.filter(book=book).latest("seq").data["changed"]) == ["final_on"]
