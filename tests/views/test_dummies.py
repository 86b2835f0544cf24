"""The dummy: cover first, facing pages by the page plan, newest or approved, and nothing a seat may not see."""

from __future__ import annotations

import io
import re

import pypdfium2
import pytest
from django.urls import reverse

from reviews.actions.briefs import change_brief
from reviews.actions.hand_ins import hand_in
from reviews.actions.layout import split_spread
from reviews.actions.page_changes import ask_for_pages
from reviews.models import Book, Passage, Picture, Spread
from reviews.pages.dummy import dummy_page
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.states import PassageState, Role
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, approved
from tests.makers import a_book, draft, handed_in
from tests.texts import a_text_block, placed

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def address(cast) -> str:
    return reverse("reviews:dummy", args=[cast.book.pk])


def dummy(seat):
    return dummy_page(Book.objects.get(pk=seat.book_id), seat)


def opening(seat, name):
    return next(one for one in dummy(seat).openings if one.name == name)


def looked(client, seat, query: str = "") -> str:
    sign_in(client, seat.person)
    answer = client.get(reverse("reviews:dummy", args=[seat.book_id]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def first_picture(passage: Passage) -> Picture:
    passage.refresh_from_db()
    return passage.hand_in.pictures.order_by("position")[0]


class TestPages:
    def test_the_cover_comes_first_and_its_back_last(self, cast):
        names = [one.name for one in dummy(cast.illustrator).openings]
        assert names == [
            "Front cover", "Front ends 2–3", "Pages 4–5", "Pages 6–7", "Pages 8–9", "Pages 10–11", "Pages 12–13",
            "Back ends 14–15", "Back cover",
        ]  # fmt: skip

    def test_single_pages_face_each_other_or_the_inside_of_the_cover(self):
        cast = gather(a_book(binding=BindingKind.PAPERBACK, ends=EndsKind.NONE))
        split_spread(Spread.objects.get(book=cast.book, first_page=4).pk, actor=cast.art_director)
        first, pair, last = (opening(cast.illustrator, name) for name in ("Page 1", "Page 4 and Page 5", "Page 16"))
        assert [(one.place, one.label) for one in first.pages] == [("left", "Inside of the cover"), ("right", "Page 1")]
        assert [(one.place, one.label) for one in pair.pages] == [("left", "Page 4"), ("right", "Page 5")]
        assert [(one.place, one.label) for one in last.pages] == [("left", "Page 16"), ("right", "Inside of the cover")]

    def test_a_board_book_opens_on_pages_1_and_2(self):
        cast = gather(a_book(binding=BindingKind.BOARD, ends=EndsKind.NONE))
        assert [one.name for one in dummy(cast.illustrator).openings][:3] == ["Front cover", "Pages 1–2", "Pages 3–4"]

    def test_a_bleed_is_cut_off_and_a_picture_of_another_shape_is_laid_down_whole(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator, [0])  # 506 × 256 pixels: 500 × 250 mm with a bleed of 3 mm
        (pages,) = opening(cast.illustrator, "Pages 4–5").pages
        assert pages.newest.crop == pytest.approx((3, 3, 500, 250), abs=0.2) and pages.newest.fills
        Picture.objects.filter(pk=first_picture(passage).pk).update(width_px=300, height_px=400)
        (pages,) = opening(cast.illustrator, "Pages 4–5").pages
        assert not pages.newest.fills

    def test_of_a_whole_cover_the_front_is_on_the_right_half_and_the_back_on_the_left(self, cast):
        cover = cast.passage("Cover", "ideas")
        handed_in(cover, cast.illustrator, [0])
        front, back = (opening(cast.illustrator, f"{name} cover").pages[0] for name in ("Front", "Back"))
        assert (front.place, back.place) == ("right", "left")
        assert front.newest.crop[0] == pytest.approx(253, abs=1) and back.newest.crop[0] == pytest.approx(3, abs=1)

    def test_where_the_cover_picture_is_the_front_alone_the_back_says_so(self, cast):
        cover = cast.passage("Cover", "ideas")
        handed_in(cover, cast.illustrator, [0])
        Picture.objects.filter(pk=first_picture(cover).pk).update(width_px=250, height_px=250)
        front, back = (opening(cast.illustrator, f"{name} cover").pages[0] for name in ("Front", "Back"))
        assert front.newest and not back.newest
        assert back.no_newest == "The newest picture shows the front alone"
        assert back.no_approved == "Nothing approved yet", "what is said of one is not said of the other"

    def test_of_a_printers_sheet_nobody_says_that_it_shows_the_front_alone(self, cast, monkeypatch):
        cover = cast.passage("Cover", "ideas")
        handed_in(cover, cast.illustrator, [0])
        monkeypatch.setattr("reviews.pages.dummy.placed_on", lambda *_: None)
        (back,) = opening(cast.illustrator, "Back cover").pages
        assert not back.newest and back.no_newest == "What of the newest picture is the back cannot be told"

    def test_pages_whose_spread_was_dropped_say_that_they_carry_no_art(self, client, cast):
        wanted = WantedPages(what=PageDeed.DROP, spread=cast.passage("Pages 6–7", "ideas").spread_id)
        ask_for_pages(cast.book.pk, wanted, "Too long.", actor=cast.art_director)
        (bare,) = opening(cast.illustrator, "Pages 6–7").pages
        assert (bare.no_newest, bare.newest, bare.place) == ("No art on these pages", None, "across")
        page = looked(client, cast.editor)
        assert "Inside of the cover" not in page and "Pages 6–7" in page
        # A wall without any picture says so instead.
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
        wall = client.get(reverse("reviews:wall", args=[cast.book.pk])).content.decode()
        assert "Pages 6–7: no art" in wall


class TestPictures:
    def test_newest_and_approved_are_each_what_they_are_called(self, cast):
        ideas, sketch = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 4–5", "sketch")
        approved(cast, ideas, 0)
        handed_in(sketch, cast.illustrator, [1])
        (pages,) = opening(cast.editor, "Pages 4–5").pages
        assert (pages.approved.picture, pages.newest.picture) == (first_picture(ideas).pk, first_picture(sketch).pk)
        assert (pages.approved.stage_name, pages.newest.stage_name) == ("Ideas", "Sketch")

    def test_one_picture_that_is_both_stands_there_once(self, client, cast):
        ideas = cast.passage("Pages 4–5", "ideas")
        approved(cast, ideas, 0)
        page = looked(client, cast.editor)
        assert page.count(f"/pictures/{first_picture(ideas).pk}/preview.jpg") == 1

    def test_what_was_only_asked_about_is_not_called_approved(self, cast):
        a_round(cast, cast.passage("Pages 4–5", "ideas"), 0)
        (pages,) = opening(cast.editor, "Pages 4–5").pages
        assert pages.newest and pages.approved is None and pages.no_approved == "Nothing approved yet"

    def test_what_an_approval_was_reopened_for_is_approved_no_more(self, cast):
        ideas = cast.passage("Pages 4–5", "ideas")
        approved(cast, ideas, 0)
        Passage.objects.filter(pk=ideas.pk).update(state=PassageState.DRAWING)
        (pages,) = opening(cast.editor, "Pages 4–5").pages
        assert pages.approved is None

    def test_a_blank_page_says_what_is_missing(self, client, cast):
        page = looked(client, cast.art_director, "?at=3")
        part = page[page.index('data-name="Pages 4–5"') : page.index('data-name="Pages 6–7"')]
        assert "No picture yet" in part and "Now at ideas: With the illustrator" in part

    def test_a_picture_without_its_preview_is_said_to_be_processing(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator, [0])
        Picture.objects.filter(pk=first_picture(passage).pk).update(has_preview=False)
        (pages,) = opening(cast.art_director, "Pages 4–5").pages
        assert pages.newest is None and pages.no_newest == "The picture is processing"


class TestSeats:
    def test_a_stage_kept_in_the_studio_is_read_by_the_illustrator_alone(self, client, cast):
        ideas, ink = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 4–5", "ink")
        handed_in(ideas, cast.illustrator, [0])
        Passage.objects.filter(pk=ink.pk).update(state=PassageState.DRAWING)
        hand_in(draft(ink, cast.illustrator, [1]).pk, cover_note="", actor=cast.illustrator)
        hidden = f"/pictures/{first_picture(ink).pk}/"
        assert hidden in looked(client, cast.illustrator)
        for seat in (cast.art_director, cast.editor, cast.production, cast.agent):
            page = looked(client, seat)
            assert hidden not in page and f"/pictures/{first_picture(ideas).pk}/" in page, seat.role

    def test_a_draft_is_nobodys_here(self, client, cast):
        draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
        for seat in (cast.illustrator, cast.art_director):
            assert "/preview.jpg" not in looked(client, seat)

    def test_sales_read_the_cover_and_what_is_approved_and_no_briefs(self, client, cast):
        cover, shown, under_way = (cast.passage(label, "ideas") for label in ("Cover", "Pages 6–7", "Pages 4–5"))
        handed_in(under_way, cast.illustrator, [0])
        approved(cast, shown, 1)
        handed_in(cover, cast.illustrator, [2])
        change_brief(cast.book.pk, cover.spread_id, parts={"text": "A pail of stars."}, seen=0, actor=cast.editor)
        page = looked(client, cast.seat_advisers()[Role.SALES])
        seen = {int(number) for number in re.findall(r"/pictures/(\d+)/preview", page)}
        assert seen == {first_picture(cover).pk, first_picture(shown).pk}
        assert "A pail of stars." not in page

    def test_whoever_has_no_page_of_the_book_has_no_dummy_of_it(self, client, cast):
        passage = cast.passage("Cover", "ideas")
        handed_in(passage, cast.illustrator, [0])
        for person, status in (
            (cast.invite_guest(passage).person, 403),
            (cast.seat_advisers()[Role.READER].person, 403),
            (cast.stranger, 404),
        ):
            sign_in(client, person)
            assert client.get(address(cast)).status_code == status


class TestText:
    def test_the_text_as_it_stands_is_read_with_its_words(self, client, cast):
        spread = cast.passage("Pages 4–5", "ideas").spread
        for version, words in enumerate(
            ("Tansy took the pail.", "Tansy took the big pail out,\nand nobody asked her why.")
        ):
            change_brief(
                cast.book.pk, spread.pk, parts={"text": words, "art": "Dusk."}, seen=version, actor=cast.editor
            )
        page = looked(client, cast.illustrator, "?at=3")
        assert "Tansy took the big pail out,<br>and nobody asked her why." in page
        assert "11 words, about 10 seconds aloud" in page
        assert "Tansy took the pail." not in page and "Dusk." not in page
        assert "130 words a\n" in page or "130 words a minute" in page, (
            "the pace is said, and that it is common practice"
        )
        assert "common practice" in page


class TestWithoutScripts:
    def test_the_opening_of_the_address_is_shown_and_links_lead_on_and_back(self, client, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        approved(cast, passage, 0)
        page = looked(client, cast.art_director, "?at=3&art=approved")
        shown = re.findall(r'<section class="opening" data-opening="(\d)"[^>]*?(hidden)?>', page)
        assert [number for number, hidden in shown if not hidden] == ["3"]
        assert re.search(r'rel="prev"[^>]*href="\?at=2&amp;art=approved"', page)
        assert re.search(r'rel="next"[^>]*href="\?at=4&amp;art=approved"', page)
        assert f' href="/pictures/{first_picture(passage).pk}/preview.jpg"' in page, "its picture is there at once"
        assert 'data-art-link="approved" aria-current="true"' in page

    @pytest.mark.parametrize("query", ["", "?at=0", "?at=99", "?at=x", "?at=³&art=none"])
    def test_an_address_that_names_no_opening_begins_at_the_front(self, client, cast, query):
        page = looked(client, cast.art_director, query)
        assert 'data-at="1"' in page and 'data-art="newest"' in page
        assert re.search(r'rel="prev"[^>]*data-none', page)


def test_the_queries_do_not_grow_with_the_spreads(client, cast, django_assert_max_num_queries):
    sign_in(client, cast.art_director.person)
    for seed, passage in enumerate(Passage.objects.filter(book=cast.book, stage__kind="ideas")):
        with django_assert_max_num_queries(12):
            assert client.get(address(cast)).status_code == 200
        approved(cast, passage, seed)
    with django_assert_max_num_queries(12):
        assert client.get(address(cast)).content.decode().count("preview.jpg") >= 8


class TestPlacedText:
    def test_placed_words_stand_on_their_pages_and_are_counted_in_place_of_the_brief_s(self, client, cast):
        sketch = cast.passage("Pages 4–5", "sketch")
        change_brief(cast.book.pk, sketch.spread_id, {"text": "One two three."}, seen=0, actor=cast.editor)
        (pages,) = opening(cast.illustrator, "Pages 4–5").pages
        assert (pages.n_words, pages.lines, pages.blocks) == (3, ["One two three."], [])
        placed(sketch, a_text_block(words="One two three four."), a_text_block(top_mm=90.0, words="Five."),
               actor=cast.editor)  # fmt: skip
        (pages,) = opening(cast.illustrator, "Pages 4–5").pages
        assert (pages.n_words, pages.lines, pages.blocks_when) == (5, [], "newest approved")
        assert [block["lines"][0]["words"] for block in pages.blocks] == ["One two three four.", "Five."]
        page = " ".join(looked(client, cast.illustrator).split())
        assert ">One two three four.</tspan>" in page and "5 words, about 5 seconds aloud" in page

    def test_words_of_the_brief_that_no_block_has_and_blocks_that_a_picture_hides_are_read_below(
        self, client, cast, monkeypatch
    ):
        sketch = cast.passage("Pages 4–5", "sketch")
        given = {"text": "One two.\nThree.\nFour five."}
        change_brief(cast.book.pk, sketch.spread_id, given, seen=0, actor=cast.editor)
        placed(sketch, a_text_block(words="One two. Three."), actor=cast.editor)
        (pages,) = opening(cast.illustrator, "Pages 4–5").pages
        assert (pages.n_words, pages.lines) == (5, ["Four five."])
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        monkeypatch.setattr("reviews.pages.dummy.placed_on", lambda *_: None)
        (pages,) = opening(cast.illustrator, "Pages 4–5").pages
        assert (pages.blocks_when, pages.lines) == ("approved", ["One two. Three.", "Four five."])

    def test_who_reads_no_brief_reads_no_placed_words(self, client, cast):
        placed(cast.passage("Pages 4–5", "sketch"), a_text_block(words="Sparrowgrass."), actor=cast.editor)
        assert "Sparrowgrass" in looked(client, cast.production)
        assert "Sparrowgrass" not in looked(client, cast.seat_advisers()[Role.SALES])


def test_the_dummy_is_given_as_pdf_page_by_page_to_whoever_may_read_it(client, cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
    path = reverse("reviews:dummy-paper", args=[cast.book.pk])
    for seat in (cast.illustrator, cast.art_director):
        sign_in(client, seat.person)
        answer = client.get(path, {"art": "approved"})
        assert answer.streaming and answer.headers["Content-Type"] == "application/pdf"
        parts = list(answer.streaming_content)
        assert len(parts) > 20, "it is not made whole before it is sent"
        document = pypdfium2.PdfDocument(io.BytesIO(b"".join(parts)))
        assert len(document) == 9
        words = document[2].get_textpage().get_text_range()
        assert "Pages 4–5" in words and "Nothing approved yet" in words and "Approved pictures as of" in words
    guest = cast.invite_guest(cast.passage("Cover", "ideas"))
    sign_in(client, guest.person)
    assert client.get(path).status_code == 403


def test_placed_words_are_on_the_pdf_too_for_whoever_reads_them(client, cast):
    placed(cast.passage("Pages 4–5", "sketch"), a_text_block(words="One two three four."), actor=cast.editor)

    def words(seat) -> str:
        sign_in(client, seat.person)
        answer = client.get(reverse("reviews:dummy-paper", args=[cast.book.pk]))
        document = pypdfium2.PdfDocument(io.BytesIO(b"".join(answer.streaming_content)))
        return document[2].get_textpage().get_text_range()

    assert "One two three four." in words(cast.illustrator)
    assert "One two three four." not in words(cast.seat_advisers()[Role.SALES])
