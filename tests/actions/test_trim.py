"""The page size of a book may change until a sketch is approved for it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from reviews.actions.book_facts import change_book
from reviews.actions.second_voice import agree
from reviews.models import LedgerEntry, Notice
from reviews.pages.wording.ledger import sentence
from reviews.queries.held_check import check_held
from reviews.rules.states import Deed, Refused
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import answered, approved, sent
from tests.makers import a_book, handed_in
from tests.views.test_print_set_up import send

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


def trimmed(cast, width="240", height="240", *, reason="The printer’s sheet takes it better.", actor=None):
    book = cast.book
    book.refresh_from_db()
    return change_book(
        book.pk, title=book.title, publisher=book.publisher, final_on=book.final_on, reason=reason,
        trim_width_mm=Decimal(width), trim_height_mm=Decimal(height), actor=actor or cast.art_director,
    )  # fmt: skip


def test_the_trim_changes_until_a_sketch_is_approved_and_both_sides_are_told(cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    assert trimmed(cast).trim_width_mm == 240
    entry = LedgerEntry.objects.get(deed=Deed.CHANGE_BOOK)
    assert "the trim width from 250 to 240 mm and the trim height from 250 to 240 mm" in sentence(entry.as_entry())
    assert {notice.person for notice in Notice.objects.filter(entry=entry)} >= {
        cast.illustrator.person,
        cast.agent.person,
    }
    assert not check_held(cast.book).faults


def test_an_approved_idea_leaves_the_trim_open_and_an_approved_sketch_does_not(cast):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    trimmed(cast)
    sketch = cast.passage("Pages 4–5", "sketch")
    handed = handed_in(sketch, cast.illustrator, (2,))
    agree(handed.pk, actor=cast.editor)
    answered(cast, sketch, "approve")
    sent(cast)
    with pytest.raises(Refused, match="trim-sketch-approved"):
        trimmed(cast, "250", "250")


@pytest.mark.parametrize(
    ("given", "code"),
    [({"width": "12"}, "trim-out-of-range"), ({"height": "900"}, "trim-out-of-range"), ({"reason": " "}, "trim-reason"),
     ({"width": "250", "height": "250"}, "nothing-changed")],
)  # fmt: skip
def test_a_trim_that_cannot_be_is_refused(cast, given, code):
    with pytest.raises(Refused, match=code):
        trimmed(cast, **given)
    cast.book.refresh_from_db()
    assert (cast.book.trim_width_mm, cast.book.trim_height_mm) == (250, 250)


def test_production_does_not_change_the_trim(cast):
    with pytest.raises(Refused, match="printers-date-only"):
        trimmed(cast, actor=cast.production)


def test_the_page_shows_the_new_trim_and_offers_none_once_a_sketch_is_approved(client, cast):
    sign_in(client, cast.art_director.person)
    path = reverse("reviews:change-book", args=[cast.book.pk])
    was = {"title": cast.book.title, "publisher": cast.book.publisher, "final_on": ""}
    was |= {"initial-title": cast.book.title, "initial-publisher": cast.book.publisher, "initial-final_on": ""}
    was |= {"initial-trim_width_mm": "250.00", "initial-trim_height_mm": "250.00", "trim_height_mm": "250.00"}
    assert client.post(path, was | {"trim_width_mm": "12", "reason": "x"}).status_code == 422
    assert client.post(path, was | {"trim_width_mm": "260", "reason": "Wider."}).status_code == 302
    assert "260 ×" in client.get(reverse("reviews:book-map", args=[cast.book.pk])).content.decode()


def test_a_trim_from_which_the_told_pieces_cannot_be_cut_is_refused(client, cast):
    sign_in(client, cast.production.person)
    printed = {"paper_by": "caliper", "paper_value": "0.5", "has_jacket": "on"}
    for told in (printed, printed | {"figure_flap": "200"}):
        assert send(client, cast.book, **told).status_code == 302
    with pytest.raises(Refused, match="flap-too-wide"):
        trimmed(cast, "120", "240")
    cast.book.refresh_from_db()
    assert cast.book.trim_width_mm == 250
    assert trimmed(cast, "240", "240").trim_width_mm == 240
