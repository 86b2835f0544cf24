"""Briefs on their own page, beside the picture, in the hand-in draft, and in what a note says."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.models import Brief, Note, Notice, Reference
from reviews.notices.wording import mail_for
from reviews.queries.stored import is_owned, owned_in
from reviews.rules.states import PictureState, Role
from reviews.tasks.references import read_reference
from tests.briefs import an_upload, referred, written
from tests.cast import gather, sign_in
from tests.letter_scene import answered, sent
from tests.makers import a_book, a_jpeg, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def ideas(cast):
    return cast.passage("Pages 4–5", "ideas")


def claim_of(pk: int) -> Claim:
    return Claim(job_id=0, kind=jobs.REFERENCE, subject_id=pk, key="", attempt=1, token="")


def page_of(client, seat, name: str, *args) -> str:
    sign_in(client, seat.person)
    response = client.get(reverse(f"reviews:{name}", args=args))
    assert response.status_code == 200
    return response.content.decode()


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.EDITOR, Role.PRODUCTION])
def test_every_seat_reads_it_and_only_the_publisher_finds_a_form(client, cast, ideas, role):
    written(cast, ideas, text="Hush, said the tarn.", never="No moon yet.", links="https://example.org/a?b=1")
    page = page_of(client, cast.seat(role), "spread-brief", ideas.spread_id)
    assert "Hush, said the tarn." in page
    assert "No moon yet." in page
    assert "https://example.org/a?b=1" in page
    assert 'href="https://example.org' not in page, "a link is shown as text"
    assert ('name="never"' in page) == (role == Role.EDITOR)


def test_a_guest_has_no_brief(client, cast, ideas):
    handed_in(ideas, cast.illustrator)
    written(cast, ideas)
    sign_in(client, cast.invite_guest(ideas).person)
    assert client.get(reverse("reviews:spread-brief", args=[ideas.spread_id])).status_code == 403
    table = client.get(reverse("reviews:passage", args=[ideas.pk])).content.decode()
    assert "both arms" not in table


def test_it_is_written_in_the_browser_and_told_by_mail(client, cast, ideas):
    sign_in(client, cast.editor.person)
    given = {"spread": ideas.spread_id, "seen": 0, "art": "A wide tarn.", "text": "Hush."}
    path = reverse("reviews:change-brief", args=[cast.book.pk])
    assert client.post(path, given).status_code == 302
    notice = Notice.objects.select_related("person", "entry__book").get(
        person=cast.illustrator.person, entry__deed="change-brief"
    )
    mail = mail_for(notice, lambda letter: b"")
    assert mail.subject == "A brief: Pages 4–5 · The Otter Who Kept Time"
    assert reverse("reviews:spread-brief", args=[ideas.spread_id]) in mail.text


def test_what_was_typed_stands_in_the_form_when_somebody_was_faster(client, cast, ideas):
    written(cast, ideas)
    sign_in(client, cast.editor.person)
    given = {"spread": ideas.spread_id, "seen": 0, "art": "My own long thoughts."}
    response = client.post(reverse("reviews:change-brief", args=[cast.book.pk]), given)
    page = response.content.decode()
    assert response.status_code == 409
    assert "My own long thoughts." in page
    assert "Somebody wrote a newer version" in page
    assert 'name="seen" value="1"' in page, "saving again is after having read the newer one"
    assert Brief.objects.count() == 1


def test_another_books_spread_is_not_there(client, cast, ideas):
    other = gather(a_book(title="The Heron’s Ladder"))
    sign_in(client, cast.art_director.person)
    foreign = other.passage("Pages 4–5", "ideas").spread_id
    path = reverse("reviews:change-brief", args=[cast.book.pk])
    assert client.post(path, {"spread": foreign, "seen": 0, "art": "x"}).status_code == 404
    assert not Brief.objects.exists()


def test_it_lies_beside_the_picture_as_it_stood_at_the_hand_in(client, cast, ideas):
    written(cast, ideas, art="The tarn is wide.")
    handed_in(ideas, cast.illustrator)
    written(cast, ideas, art="The tarn is narrow.")
    for seat in (cast.illustrator, cast.art_director, cast.agent):
        page = page_of(client, seat, "passage", ideas.pk)
        stood, since = page.split("Written since this was handed in")
        assert "The tarn is wide." in stood
        assert "The tarn is narrow." not in stood
        assert "The tarn is narrow." in since


def test_the_hand_in_draft_shows_the_newest(client, cast, ideas):
    written(cast, ideas, art="The tarn is wide.")
    written(cast, ideas, art="The tarn is narrow.")
    written(cast, palette="No orange.")
    page = page_of(client, cast.illustrator, "draft-hand-in", ideas.pk)
    assert "The tarn is narrow." in page
    assert "The tarn is wide." not in page
    assert "No orange." in page


def test_without_a_brief_the_cause_is_not_offered_and_the_form_says_why(client, cast, ideas):
    handed_in(ideas, cast.illustrator)
    page = page_of(client, cast.editor, "passage", ideas.pk)
    assert 'value="brief"' not in page
    assert "there was no brief here when this was handed in" in page


def test_a_missed_line_is_named_on_the_table_in_the_letter_the_mail_and_the_draft(client, cast, ideas):
    brief = written(cast, ideas)
    handed_in(ideas, cast.illustrator)
    sign_in(client, cast.editor.person)
    picture = ideas.hand_ins.get().pictures.get()
    given = {
        "picture": picture.pk, "region": '{"kind": "point", "points": [[0.5, 0.5]]}', "words": "Both arms, please.",
        "cause": "brief", "brief_line": f"{brief.pk}:1",
    }  # fmt: skip
    assert client.post(reverse("reviews:pin-note", args=[ideas.pk]), given).status_code == 302
    cited = "The brief was not met, line 1 of version 1: She carries the pail in both arms."
    assert cited in page_of(client, cast.art_director, "draft-letter", cast.book.pk)
    answered(cast, ideas, "ask")
    letter = sent(cast)
    assert cited in page_of(client, cast.illustrator, "passage", ideas.pk)
    assert cited in page_of(client, cast.illustrator, "letter", letter.pk)
    notice = Notice.objects.select_related("person", "entry__book").get(
        person=cast.illustrator.person, entry__deed="send-letter"
    )
    assert cited in mail_for(notice, lambda letter: b"").text
    assert Note.objects.get().brief == brief


def test_references_are_kept_shown_and_taken_away(client, cast, ideas):
    sign_in(client, cast.art_director.person)
    data = a_jpeg(3)
    path = reverse("reviews:add-references", args=[cast.book.pk])
    upload = an_upload(data, "the real tarn.jpg")
    assert client.post(path, {"spread": ideas.spread_id, "file": upload}).status_code == 302
    reference = Reference.objects.get()
    assert "Processing" in page_of(client, cast.illustrator, "spread-brief", ideas.spread_id)
    read_reference(claim_of(reference.pk))
    reference.refresh_from_db()
    assert reference.state == PictureState.READY
    sign_in(client, cast.illustrator.person)
    kept = client.get(reverse("reviews:reference-original", args=[reference.pk]))
    assert b"".join(kept.streaming_content) == data
    assert kept["Content-Disposition"].startswith("attachment")
    assert client.get(reverse("reviews:reference-preview", args=[reference.pk, "thumb"])).status_code == 200
    assert client.post(reverse("reviews:remove-reference", args=[reference.pk])).status_code == 403
    sign_in(client, cast.art_director.person)
    client.post(reverse("reviews:remove-reference", args=[reference.pk]))
    assert "the real tarn.jpg" not in page_of(client, cast.illustrator, "spread-brief", ideas.spread_id)


def test_a_file_that_shows_nothing_is_kept_and_says_so(client, cast, ideas):
    sign_in(client, cast.art_director.person)
    path = reverse("reviews:add-references", args=[cast.book.pk])
    assert (
        client.post(path, {"spread": ideas.spread_id, "file": an_upload(b"not a picture", "x.jpg")}).status_code == 302
    )
    read_reference(claim_of(Reference.objects.get().pk))
    page = page_of(client, cast.illustrator, "spread-brief", ideas.spread_id)
    assert "No preview could be made; the file itself is kept" in page


def test_the_stored_file_of_a_reference_is_somebodys(cast, ideas):
    reference = referred(cast, ideas)
    assert is_owned(storage.original_name(reference.sha256))
    assert reference.sha256 in owned_in(int(reference.sha256[:2], 16))
