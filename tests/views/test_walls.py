"""The wall: all of a book as a seat may see it, its filters, its colours, and the small pictures it is made of."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from reviews.actions.hand_ins import hand_in
from reviews.actions.pictures import keep_colours
from reviews.models import Book, Job, Passage, Picture
from reviews.pages.wall import columns_for, wall_page
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.rules.states import PassageState, Role
from tests.cast import gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db

DUSK = [("#141e50", 0.7), ("#f0e65a", 0.3)]


@pytest.fixture
def cast():
    return gather(a_book())


def wall(seat, shows: str = ""):
    return wall_page(Book.objects.get(pk=seat.book_id), seat, shows=shows)


def looked(client, seat, query: str = "") -> str:
    sign_in(client, seat.person)
    answer = client.get(reverse("reviews:wall", args=[seat.book_id]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def newest(passage: Passage) -> Picture:
    passage.refresh_from_db()
    return passage.hand_in.pictures.order_by("position")[0]


def test_every_spread_stands_there_with_stage_holder_and_day(client, cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
    page = looked(client, cast.art_director)
    assert re.findall(r"<b>([^<]+)</b> Ideas", page) == [
        "Cover", "Front ends 2–3", "Pages 4–5", "Pages 6–7", "Pages 8–9", "Pages 10–11", "Pages 12–13",
        "Back ends 14–15",
    ]  # fmt: skip
    card = page[page.index("<b>Pages 4–5</b>") :].split("</a>")[0]
    due = Passage.objects.get(book=cast.book, spread__label="Pages 4–5", stage__kind="ideas").answer_due_on
    assert "With the publisher" in card and f'datetime="{due.isoformat()}"' in card
    assert page.count("mini.jpg") == 1


def test_a_filter_lets_what_it_asks_for_stand_out_and_moves_nothing(client, cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
    order = [one.piece.label for one in wall(cast.editor).pieces]
    seen = wall(cast.editor, "answering")
    assert [one.piece.label for one in seen.pieces] == order
    assert [one.piece.label for one in seen.pieces if not one.is_dim] == ["Pages 4–5"] and seen.n_shown == 1
    assert not any(one.is_dim for one in wall(cast.editor, "at:Ideas").pieces)
    page = looked(client, cast.editor, "?show=answering&grey=yes")
    assert "1 of 8 stand out" in page and 'class="wall of-4 grey"' in page
    approved(cast, cast.passage("Pages 6–7", "ideas"), 1)
    assert [one.piece.label for one in wall(cast.editor, "at:Sketch").pieces if not one.is_dim] == ["Pages 6–7"]
    for odd in ("?show=nothing", "?show=at:&grey=x"):
        page = looked(client, cast.editor, odd)
        assert "stand out" not in page and " dim" not in page and 'class="wall of-4"' in page


def test_the_strip_shows_the_main_colours_by_their_shares(client, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [0])
    assert "<rect" not in looked(client, cast.editor), "nothing is shown where nothing is known"
    keep_colours(newest(passage).sha256, DUSK)
    page = looked(client, cast.editor)
    assert '<rect x="0" y="0" width="700" height="10" fill="#141e50">' in page
    assert '<rect x="700" y="0" width="300" height="10" fill="#f0e65a">' in page


def test_colours_once_known_stay_and_other_facts_are_left_alone(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [0])
    keep_colours(newest(passage).sha256, DUSK)
    keep_colours(newest(passage).sha256, [("#000000", 1.0)])
    assert newest(passage).facts == {"kind": "jpeg", "colours": [list(one) for one in DUSK]}


def test_a_stage_kept_in_the_studio_hangs_on_nobodys_wall_but_the_illustrators(client, cast):
    ink = cast.passage("Pages 4–5", "ink")
    Passage.objects.filter(pk=ink.pk).update(state=PassageState.DRAWING)
    hand_in(draft(ink, cast.illustrator, [1]).pk, cover_note="", actor=cast.illustrator)
    keep_colours(newest(ink).sha256, DUSK)
    hidden = (f"/pictures/{newest(ink).pk}/", "#141e50")
    page = looked(client, cast.illustrator)
    assert all(word in page for word in hidden)
    for seat in (cast.art_director, cast.editor, cast.production, cast.agent):
        page = looked(client, seat)
        assert not any(word in page for word in hidden), seat.role


def test_sales_see_the_cover_and_what_is_approved_and_whoever_has_no_book_page_has_no_wall(client, cast):
    cover, shown, under_way = (cast.passage(label, "ideas") for label in ("Cover", "Pages 6–7", "Pages 4–5"))
    handed_in(under_way, cast.illustrator, [0])
    approved(cast, shown, 1)
    handed_in(cover, cast.illustrator, [2])
    page = looked(client, cast.seat_advisers()[Role.SALES])
    seen = {int(number) for number in re.findall(r"/pictures/(\d+)/mini", page)}
    assert seen == {newest(cover).pk, newest(shown).pk}
    for person, status in ((cast.invite_guest(cover).person, 403), (cast.stranger, 404)):
        sign_in(client, person)
        assert client.get(reverse("reviews:wall", args=[cast.book.pk])).status_code == status


def test_the_queries_do_not_grow_with_the_spreads(client, cast, django_assert_max_num_queries):
    sign_in(client, cast.art_director.person)
    address = reverse("reviews:wall", args=[cast.book.pk])
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
    with django_assert_max_num_queries(8):
        client.get(address)
    for seed, passage in enumerate(Passage.objects.filter(book=cast.book, stage__kind="ideas", hand_in=None), 1):
        handed_in(passage, cast.illustrator, [seed])
    with django_assert_max_num_queries(8):
        assert client.get(address).content.decode().count("mini.jpg") == 8


@pytest.mark.parametrize(
    ("binding", "ends", "n_pages", "names"),
    [
        # Ends of their own paper lie outside the folded pages; 32 pages are two sections of sixteen.
        ("case", "separate", 32, ["Cover", "Ends", "Section 1, pages 1–16", "Section 2, pages 17–32", "Ends"]),
        ("case", "self", 32, ["Cover", "Section 1, pages 1–16", "Section 2, pages 17–32"]),
        ("stitched", "none", 24, ["Cover", "Section 1, pages 1–24"]),
        ("paperback", "none", 24, ["Cover", "Section 1, pages 1–16", "Section 2, pages 17–24"]),
        ("board", "none", 16, ["Cover", "Pages"]),
    ],
)
def test_the_openings_are_grouped_by_the_sections_that_are_folded(binding, ends, n_pages, names):
    cast = gather(a_book(n_pages=n_pages, binding=BindingKind(binding), ends=EndsKind(ends)))
    laid = wall(cast.editor).openings
    assert [one.section for one in laid if one.begins_section] == names
    begins = {one.section: one.pieces[0].piece.first_page for one in laid if one.begins_section}
    # Of an opening whose pages lie in two sections the left one says where it stands: 16–17 is the last of the first.
    assert begins.get("Section 2, pages 17–32", 18) == 18


def test_each_section_is_named_once_on_the_wall_and_said_to_be_the_usual_folding(client, cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
    page = looked(client, cast.editor)
    assert page.count("Section 1, pages 1–16") == 1
    assert "the printer decides" in page


@pytest.mark.parametrize(
    ("n", "shape", "columns"), [(8, 2.0, 4), (16, 2.0, 6), (16, 1.5, 7), (21, 2.0, 7), (40, 2.0, 10)]
)
def test_columns_are_as_few_as_let_everything_stand_in_the_room(n, shape, columns):
    assert columns_for(n, shape) == columns


def test_a_book_of_more_than_any_room_has_the_most_columns():
    assert columns_for(400, 2.0) == 12


def test_no_job_is_asked_for_a_picture_read_today(cast):
    """The mini and the colours come with the reading; only pictures of before have a job for them."""
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
    assert not Job.objects.filter(kind="small-picture").exists()
