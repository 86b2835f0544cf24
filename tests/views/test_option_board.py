"""All options on one board: marked quickly, grouped by what was said, and chosen there."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from reviews.actions.notes import mark_option
from reviews.models import LedgerEntry, LetterAnswer, OptionMark
from reviews.pages.wording.ledger import sentence
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def cover(cast):
    return handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [1, 2, 3, 4])


@pytest.fixture
def options(cover):
    return list(cover.pictures.order_by("position"))


def client_of(seat) -> Client:
    client = Client()
    sign_in(client, seat.person)
    return client


def board(seat, cover, by: str = "") -> str:
    path = reverse("reviews:options", args=[cover.passage_id])
    return client_of(seat).get(path, {"by": by} if by else {}).content.decode()


def groups(page: str) -> list[tuple[str, list[str]]]:
    """Read the headings of a grouped board with the numbers under each."""
    parts = re.split(r'<h2 class="options-group">', page)[1:]
    return [
        (part.split(" <span")[0].strip(), re.findall(r'class="option-title">\s*<b>(\d+)</b>', part)) for part in parts
    ]


def test_the_house_sees_where_people_agree(cast, cover, options):
    one, two, three, _ = options
    mark_option(one.pk, verdict="this", why="Her face.", actor=cast.editor)
    mark_option(one.pk, verdict="not_this", actor=cast.production)
    mark_option(two.pk, verdict="maybe", actor=cast.editor)
    mark_option(three.pk, verdict="this", actor=cast.production)
    mark_option(three.pk, verdict="this", actor=cast.editor)
    shown = board(cast.art_director, cover, "all")
    assert groups(shown) == [
        ("Closest for somebody, nobody against", ["3"]),
        ("Divided: closest for some, not this for others", ["1"]),
        ("Maybe", ["2"]),
        ("No mark yet", ["4"]),
    ]
    assert "2 closest" in shown and "Her face." in shown
    assert groups(board(cast.editor, cover, "mine")) == [
        ("You marked: closest", ["1", "3"]),
        ("You marked: maybe", ["2"]),
        ("You gave no mark yet", ["4"]),
    ]


def test_maybe_is_kept_and_told(cast, options):
    mark_option(options[0].pk, verdict="maybe", actor=cast.editor)
    assert sentence(LedgerEntry.objects.latest("seq").as_entry()).endswith("marked option 1 of Cover, ideas: maybe.")


def test_a_guest_and_sales_see_their_own_marks_and_no_names_of_files(cast, cover, options):
    guest, sales = cast.invite_guest(cover.passage), cast.seat_advisers()[Role.SALES]
    mark_option(options[0].pk, verdict="this", why="Secret of the house.", actor=cast.editor)
    mark_option(options[1].pk, verdict="not_this", why="Mine.", actor=guest)
    for seat in (guest, sales):
        # Grouping by what everybody says is the house's: asked for all the same, the board stays by number.
        for by in ("", "mine", "all"):
            shown = board(seat, cover, by)
            assert "Secret of the house." not in shown and "closest</span>" not in shown
        table = client_of(seat).get(reverse("reviews:passage", args=[cover.passage_id])).content.decode()
        for page in (shown, table):
            assert ".jpg" not in page.replace("preview.jpg", "").replace("thumb.jpg", ""), seat
    assert "Mine." in board(guest, cover) and "Mine." not in board(sales, cover)
    assert (
        "idea 1.jpg" in client_of(cast.editor).get(reverse("reviews:passage", args=[cover.passage_id])).content.decode()
    )


def test_the_art_director_chooses_on_the_board(cast, cover, options):
    client = client_of(cast.art_director)
    path = reverse("reviews:options", args=[cover.passage_id])
    assert "Approve 2 in the letter" in client.get(path).content.decode()
    client.post(
        reverse("reviews:set-answer", args=[cover.passage_id]),
        {"answer": "approve", "picture": options[1].pk, "back": path},
    )
    assert LetterAnswer.objects.get().picture_id == options[1].pk
    shown = client.get(path).content.decode()
    assert shown.count('aria-pressed="true"') == 1 and "one of these is approved. Nothing is sent yet." in shown
    assert "in the letter</button>" not in board(cast.editor, cover).replace("\n", "")


def test_nobody_of_the_other_side_has_the_board_and_other_stages_have_none(cast, cover):
    path = reverse("reviews:options", args=[cover.passage_id])
    for seat in (cast.illustrator, cast.agent):
        assert client_of(seat).get(path).status_code == 403
    sketch = cast.passage("Cover", "sketch")
    assert client_of(cast.editor).get(reverse("reviews:options", args=[sketch.pk])).status_code == 404


def test_a_mark_comes_back_to_the_board_and_is_taken_back_there(cast, cover, options):
    client = client_of(cast.editor)
    path, marks = (reverse(f"reviews:{name}", args=[cover.passage_id]) for name in ("options", "mark-option"))
    answer = client.post(
        marks, {"picture": options[0].pk, "verdict": "this", "why": ""}, headers={"referer": f"http://testserver{path}"}
    )
    assert answer.url == path
    assert "Take my mark back" in client.get(path).content.decode()
    client.post(marks, {"picture": options[0].pk, "verdict": "none"})
    assert not OptionMark.objects.exists()
    # A verdict that is none is refused, and Enter in the reason presses a button that says nothing.
    assert client.post(marks, {"picture": options[0].pk, "why": "Enter"}).status_code == 302
    assert not OptionMark.objects.exists()


def test_twenty_options_take_twelve_queries_at_most(cast, django_assert_max_num_queries):
    handed = handed_in(cast.passage("Cover", "ideas"), cast.illustrator, list(range(20)))
    client = client_of(cast.art_director)
    with django_assert_max_num_queries(12):
        shown = client.get(reverse("reviews:options", args=[handed.passage_id]))
    assert shown.content.decode().count('class="option-card"') == 20
