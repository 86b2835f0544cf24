"""What a book calls its stages stands on every screen, mail, paper and calendar, and the codes in the ledger stay."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.feeds import make_calendar_link
from reviews.actions.stage_names import name_stages
from reviews.models import LedgerEntry, Notice
from reviews.models.stage_names import speak_of
from reviews.notices.wording import mail_for
from reviews.pages.calendar_feed import calendar_of
from reviews.pages.desk import desk_of
from reviews.pages.letter_pages import letter_page
from reviews.queries.held_check import check_held
from reviews.queries.statement import export_of
from reviews.rules.states import Deed, Refused, Role, StageKind
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import answered, approved, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
OWN = {"ideas": "Thumbnails", "sketch": "Rough sketch", "line": "Tight line", "colour": "Final art"}


@pytest.fixture
def cast() -> Cast:
    return gather(a_book(stage_names=OWN))


@pytest.fixture(autouse=True)
def _nothing_left_over():
    yield
    speak_of(None)


def page(client, name, *args) -> str:
    answer = client.get(reverse(f"reviews:{name}", args=args))
    assert answer.status_code == 200, name
    return answer.content.decode()


def test_every_page_of_the_book_uses_them(client, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    letter = approved(cast, passage, 1)
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, (2,))
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        book = cast.book.pk
        for name, args, words in (
            ("book-map", (book,), "Thumbnails"),
            ("plan", (book,), "Rough sketch"),
            ("schedule", (book,), "Rough sketch"),
            ("statement", (book,), "Thumbnails"),
            ("account", (book,), "Thumbnails"),
            ("terms", (book,), "Final art"),
            ("ledger", (book,), "Pages 4–5, thumbnails"),
            ("letter", (letter.pk,), "Pages 4–5, thumbnails"),
            ("passage", (passage.pk,), "Thumbnails"),
            ("desk", (), "humbnails"),
        ):
            shown = page(client, name, *args)
            assert words in shown, (seat, name)
            for usual in ("Pages 4–5, ideas", "Pages 4–5, sketch", "Pages 4–5, colour"):
                assert usual not in shown, (seat, name, usual)


def test_the_desk_tells_each_book_by_its_own_words(client, cast):
    other = gather(a_book(title="The Heron’s Hat"))
    for told in (cast, other):
        handed_in(told.passage("Pages 4–5", "ideas"), told.illustrator, (2,))
    asked = {one.words: one.book.title for one in desk_of(cast.art_director.person).mine}
    assert asked == {"Answer the thumbnails": "The Otter Who Kept Time", "Answer the ideas": "The Heron’s Hat"}
    sign_in(client, cast.art_director.person)
    page(client, "book-map", cast.book.pk)
    assert "Thumbnails" not in page(client, "book-map", other.book.pk), "no name is left over from the page before"


def test_mail_paper_and_calendar_use_them(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, (1,))
    told = Notice.objects.select_related("entry__book", "entry__passage", "person").filter(entry__deed=Deed.HAND_IN)
    speak_of(None)
    assert "thumbnails" in mail_for(told.first(), lambda letter: b"").text
    secret = make_calendar_link(cast.illustrator.person).secret
    speak_of(None)
    feed = calendar_of(secret, timezone.now()).replace("\r\n ", "")
    assert "\\, thumbnails (hand-in)" in feed and "\\, ideas" not in feed
    pinned(passage, cast.art_director)
    answered(cast, passage, "ask")
    speak_of(None)
    assert [section.where for section in letter_page(sent(cast), Role.AGENT).sections] == ["Pages 4–5, thumbnails"]


def test_the_ledger_keeps_the_codes(cast):
    (made,) = LedgerEntry.objects.filter(deed=Deed.MAKE_BOOK)
    assert {one["stage"] for one in made.data["passages"]} >= {"ideas", "sketch", "line", "ink", "colour"}
    at = timezone.now()
    before = export_of(cast.book, None, at=at)
    name_stages(cast.book.pk, {StageKind.COLOUR: "Painted"}, actor=cast.art_director)
    cast.book.refresh_from_db()
    after = export_of(cast.book, None, at=at)
    assert [line for line in after["entries"] if line["deed"] != Deed.NAME_STAGES] == before["entries"]
    assert after["spreads"] == before["spreads"], "what a recount reads goes by codes"
    assert not check_held(cast.book).faults


def test_naming_is_told_and_refused_once_a_stage_opened(client, cast):
    sign_in(client, cast.art_director.person)
    path = reverse("reviews:name-stages", args=[cast.book.pk])
    names = {"ideas": "Scribbles", "sketch": "Roughs", "line": "Tight line", "ink": "Ink", "colour": "Final art"}
    names |= {"finish": "Foil", "proof": "Proof"}
    shown = client.post(path, names, follow=True).content.decode()
    cast.book.refresh_from_db()
    assert cast.book.stage_names == OWN | {"sketch": "Roughs", "finish": "Foil"}, "ideas have opened and stay"
    assert "has opened, keeps its name" in shown
    with pytest.raises(Refused, match="stage-name-opened"):
        name_stages(cast.book.pk, {StageKind.IDEAS: "Scribbles"}, actor=cast.art_director)
    entry = LedgerEntry.objects.get(deed=Deed.NAME_STAGES)
    told = {notice.person for notice in Notice.objects.filter(entry=entry)}
    assert told == {cast.illustrator.person, cast.agent.person}
    assert "“Roughs” for “Rough sketch”" in page(client, "ledger", cast.book.pk)


@pytest.mark.parametrize("names", [{"sketch": "Final art"}, {"sketch": "a, b"}, {"sketch": "x" * 50}])
def test_a_name_that_cannot_be_comes_back_with_a_sentence(client, cast, names):
    sign_in(client, cast.art_director.person)
    whole = {"ink": "Ink", "finish": "Special finish", "proof": "Proof"} | OWN | names
    answer = client.post(reverse("reviews:name-stages", args=[cast.book.pk]), whole)
    assert answer.status_code == 422
    cast.book.refresh_from_db()
    assert cast.book.stage_names == OWN


def test_ready_names_are_taken_but_for_what_opened(client, cast):
    sign_in(client, cast.art_director.person)
    client.post(reverse("reviews:name-stages", args=[cast.book.pk]), {"ready": "comic"})
    cast.book.refresh_from_db()
    assert (cast.book.stage_names["ideas"], cast.book.stage_names["ink"]) == ("Thumbnails", "Inks")


def test_only_the_art_director_names_stages(client, cast):
    for seat in (cast.illustrator, cast.editor, cast.agent, cast.production):
        sign_in(client, seat.person)
        path = reverse("reviews:name-stages", args=[cast.book.pk])
        assert client.post(path, {"ready": "comic"}).status_code == 403
        assert "Save the names" not in page(client, "plan", cast.book.pk)
