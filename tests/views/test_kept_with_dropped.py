"""What is kept with a dropped spread and said of it: every version of its brief, its references, its unsent answer."""

from __future__ import annotations

import hashlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from reviews.actions.briefs import add_references, change_brief
from reviews.actions.page_changes import ask_for_pages
from reviews.models import Spread
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.states import Role
from tests.actions.test_page_changes import agreed, drop
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import answered, draft_of, pinned
from tests.makers import a_book, a_jpeg, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


def spread(cast) -> Spread:
    return Spread.objects.get(book=cast.book, label="Pages 6–7")


def test_every_version_of_its_brief_and_its_references_are_read_on(client, cast):
    pk = spread(cast).pk
    for seen, words in enumerate(("Rain from the left.", "Snow from the left.")):
        change_brief(cast.book.pk, pk, {"art": words}, seen=seen, actor=cast.art_director)
    upload = SimpleUploadedFile("the quay.jpg", a_jpeg(4))
    upload.sha256 = hashlib.sha256(a_jpeg(4)).hexdigest()
    [reference] = add_references(cast.book.pk, pk, [upload], actor=cast.art_director)
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator)
    agreed(cast, drop(cast))
    for role, reads in ((Role.ILLUSTRATOR, True), (Role.ART_DIRECTOR, True), (Role.SALES, False)):
        seat = cast.seat(role) if reads else cast.seat_advisers()[role]
        sign_in(client, seat.person)
        page = client.get(reverse("reviews:dropped-spread", args=[pk])).content.decode()
        for words in ("Rain from the left.", "Snow from the left.", "the quay.jpg"):
            assert (words in page) == reads, role
    sign_in(client, cast.illustrator.person)
    original = client.get(reverse("reviews:reference-original", args=[reference.pk]))
    assert original.status_code == 200 and b"".join(original.streaming_content)


@pytest.mark.parametrize("by", [Role.ILLUSTRATOR, Role.ART_DIRECTOR])
def test_whoever_writes_the_letter_is_told_what_it_lost_and_the_other_side_is_not(client, cast, by):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    pinned(passage, cast.art_director)
    answered(cast, passage, "ask")
    other = cast.art_director if by == Role.ILLUSTRATOR else cast.illustrator
    wanted = WantedPages(what=PageDeed.DROP, spread=spread(cast).pk)
    made = ask_for_pages(cast.book.pk, wanted, "Too long.", actor=cast.seat(by))
    sign_in(client, other.person)
    page = client.post(reverse("reviews:accept-proposal", args=[made.pk]), follow=True).content.decode()
    told = "Out of the letter being written: the answer to Pages 6–7, ideas." in page
    assert told == (other == cast.art_director)
    assert "You agreed to proposal 1." in page and not draft_of(cast).answers.exists()
