"""Set up a book, and the map of all its spreads."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import letters
from reviews.actions.layout import split_spread
from reviews.actions.seats import make_person
from reviews.models import Book, Letter, Passage, Seat, Spread
from reviews.pages.book_map import map_page
from reviews.queries.letters import letter_fingerprint
from reviews.rules.states import Answer, Gate, Role, StageKind
from tests.cast import PASSWORD, gather, sign_in
from tests.makers import SHORT_PLAN, a_book, draft, handed_in

pytestmark = pytest.mark.django_db

NEW = "/books/new/"
FORM = {
    "title": "Tansy and the Moon in the Pail",
    "publisher": "Thimblereed Books",
    "role": Role.ART_DIRECTOR,
    "size": "square-250",
    "bleed_mm": "3",
    "n_pages": "32",
    "binding": "case",
    "ends": "self",
    "inside": "every-stage",
    "cover": "cover",
    "start_on": "2026-11-02",
    "final_on": "",
    "place": "GB-ENG",
    "other_place": "",
    "zone": "Europe/London",
}


@pytest.fixture
def corvin(client):
    person = make_person(email="corvin@thimblereed.example", name="Corvin Mallowe", password=PASSWORD)
    sign_in(client, person)
    return person


def text(answer) -> str:
    return answer.content.decode()


class TestNewBook:
    def test_it_makes_the_book_its_spreads_its_dates_and_the_first_seat(self, client, corvin):
        answer = client.post(NEW, {**FORM, "make": "yes"})
        book = Book.objects.get()
        assert answer["Location"] == reverse("reviews:book-map", args=[book.pk])
        assert (book.title, book.n_pages, book.places, book.zone) == (FORM["title"], 32, ["GB-ENG"], "Europe/London")
        assert Spread.objects.filter(book=book).count() == 16
        assert Seat.objects.get(book=book).person == corvin
        assert not Passage.objects.filter(book=book, due_on=None).exists()

    def test_the_preview_shows_spreads_and_dates_and_makes_nothing(self, client, corvin):
        page = text(client.post(NEW, {**FORM, "preview": "yes"}))
        assert "This is what would be made" in page and "Pages 28–29" in page
        # Ten working days from 2 November 2026, Monday: the first hand-in.
        assert "16 Nov 2026" in page
        later = timezone.localdate() + timedelta(days=200)
        page = text(client.post(NEW, {**FORM, "start_on": later.isoformat(), "preview": "yes"}))
        assert "This is what would be made" in page and "the first stage opens today" not in page
        assert not Book.objects.exists()

    def test_the_preview_gives_the_dates_the_book_then_has(self, client, corvin):
        preview = client.post(NEW, {**FORM, "preview": "yes"}).context["preview"]
        client.post(NEW, {**FORM, "make": "yes"})
        book = Book.objects.get()
        for name, label in (("Inside", "Pages 4–5"), ("Cover", "Cover")):
            promised = [stage.due_on for stage in dict(preview.plans)[name]]
            kept = Passage.objects.filter(book=book, spread__label=label).order_by("stage__position")
            assert promised == [passage.planned_on for passage in kept]

    @pytest.mark.parametrize("n_pages", ["10", "14", "18", "22", "30"])
    def test_a_board_book_is_glued_from_spreads_with_page_1_on_the_left(self, client, corvin, n_pages):
        """As printers of board books describe them: page 1 on the back of the cover, nothing folded."""
        client.post(NEW, {**FORM, "binding": "board", "ends": "usual", "n_pages": n_pages, "make": "yes"})
        book = Book.objects.get()
        assert (book.binding, book.ends, book.first_is_left) == ("board", "none", True)
        labels = list(Spread.objects.filter(book=book).order_by("position").values_list("label", flat=True))
        assert labels[:2] == ["Cover", "Pages 1–2"] and len(labels) == 1 + int(n_pages) // 2
        spread = Spread.objects.get(book=book, first_page=1)
        client.post(reverse("reviews:split-spread", args=[spread.pk]))
        page = client.get(reverse("reviews:book-map", args=[book.pk]))
        first = page.context["map"].openings[1]
        assert (first.left.first_page, first.right.first_page) == (1, 2), "they lie as the two halves of one opening"
        assert "Join" in text(client.get(reverse("reviews:plan", args=[book.pk])))

    def test_ends_are_those_usual_for_the_binding_unless_others_are_chosen(self, client, corvin):
        for binding, ends in (("case", "self"), ("paperback", "none"), ("stitched", "none")):
            client.post(NEW, {**FORM, "binding": binding, "ends": "usual", "make": "yes"})
            assert Book.objects.latest("pk").ends == ends

    def test_a_last_day_counts_the_dates_back(self, client, corvin):
        preview = client.post(NEW, {**FORM, "final_on": "2027-12-17", "preview": "yes"}).context["preview"]
        assert [stages[-1].answer_on.isoformat() for _, stages in preview.plans] == ["2027-12-17", "2027-12-17"]

    def test_a_last_day_that_cannot_be_met_says_when_work_should_have_begun(self, client, corvin):
        for button in ("preview", "make"):
            page = text(client.post(NEW, {**FORM, "final_on": "2026-12-18", button: "yes"}))
            assert "work would have had to start on" in page
        assert not Book.objects.exists()

    def test_an_own_size_needs_both_measures(self, client, corvin):
        page = text(client.post(NEW, {**FORM, "size": "own", "width_mm": "210", "make": "yes"}))
        told = '<a href="#id_height_mm">Own height in mm</a>: Give your own size in mm'
        assert told in page[: page.index("<legend>")], "said at the top, with a way to the field"
        client.post(NEW, {**FORM, "size": "own", "width_mm": "210", "height_mm": "197.5", "make": "yes"})
        book = Book.objects.get()
        assert (float(book.trim_width_mm), float(book.trim_height_mm)) == (210, 197.5)

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"n_pages": "30"}, "cannot be folded"),
            ({"n_pages": "33", "binding": "board", "ends": "usual"}, "cannot be glued from boards"),
            ({"n_pages": "14", "binding": "board"}, "has no such ends"),
            ({"n_pages": "12"}, "six pages to its ends"),
            ({"place": "Nowhere"}, "not known here"),
            ({"zone": "Moon/Tarn"}, "is not a time zone"),
            ({"zone": ""}, "Choose the time zone in which a day ends"),
            ({"final_on": "2026-11-02"}, "must come after the first"),
            ({"final_on": "9999-12-31"}, "31 December 9999 is more than 20 years away. Check the year."),
            ({"start_on": "0026-11-02"}, "2 November 26 is more than 20 years away. Check the year."),
            ({"title": ""}, "required"),
        ],
    )
    def test_what_cannot_be_is_refused_in_words(self, client, corvin, change, words):
        page = text(client.post(NEW, {**FORM, **change, "make": "yes"}))
        assert words in page
        assert words in text(client.post(NEW, {**FORM, **change, "preview": "yes"}))
        assert "Tansy" in page or "title" in change, "what was typed is kept"
        assert not Book.objects.exists()

    def test_places_and_zone_are_chosen_by_name(self, client, corvin):
        chosen = {"place": "scotland, united kingdom", "other_place": "New York, United States", "zone": "Rome, Europe"}
        client.post(NEW, {**FORM, **chosen, "make": "yes"})
        book = Book.objects.get()
        # The illustrator's place first, as the terms have it.
        assert (book.places, book.zone) == (["US-NY", "GB-SCT"], "Europe/Rome")

    def test_no_zone_is_chosen_for_anybody(self, client, corvin, settings):
        field = client.get(NEW).context["form"]["zone"]
        assert not field.value()
        settings.TIME_ZONE = "Europe/Lisbon"
        assert client.get(NEW).context["form"]["zone"].value() == "Lisbon, Europe"

    def test_dates_carry_their_caution(self, client, corvin):
        assert "signed contract" in text(client.get(NEW))


@pytest.fixture
def cast():
    return gather(a_book())


def piece(cast, seat: Seat, label: str):
    pieces = [piece for opening in map_page(cast.book, seat).openings for piece in opening.pieces]
    return next(piece for piece in pieces if piece.label == label)


def approve(cast, passage: Passage) -> None:
    hand_in = Passage.objects.get(pk=passage.pk).hand_in
    letters.set_answer(
        passage.pk, answer=Answer.APPROVE, picture_id=hand_in.pictures.first().pk, actor=cast.art_director
    )
    letter = Letter.objects.get(book=cast.book, sent_at=None)
    letters.send_letter(letter.pk, looked_at=letter_fingerprint(letter), actor=cast.art_director)


class TestBookMap:
    def test_it_shows_every_spread_once_in_page_order(self, client, cast):
        openings = map_page(cast.book, cast.agent).openings
        assert [opening.pieces[0].label for opening in openings] == [
            "Cover",
            "Front ends 2–3",
            "Pages 4–5",
            "Pages 6–7",
            "Pages 8–9",
            "Pages 10–11",
            "Pages 12–13",
            "Back ends 14–15",
        ][: len(openings)]
        assert len(openings) == Spread.objects.filter(book=cast.book).count()

    def test_single_pages_lie_side_by_side_where_they_face(self, cast):
        split_spread(Spread.objects.get(book=cast.book, label="Pages 6–7").pk, actor=cast.art_director)
        (opening,) = [o for o in map_page(cast.book, cast.agent).openings if o.across is None]
        assert (opening.left.label, opening.right.label) == ("Page 6", "Page 7")

    def test_the_first_page_lies_right_and_the_last_left(self):
        cast = gather(a_book(ends="separate"))
        alone = [o for o in map_page(cast.book, cast.agent).openings if o.across is None]
        assert [(o.left and o.left.label, o.right and o.right.label) for o in alone] == [
            (None, "Page 1"),
            ("Page 16", None),
        ]

    def test_a_spread_stands_at_the_stage_being_worked_on(self, cast):
        assert piece(cast, cast.agent, "Pages 4–5").stage_name == "Ideas"
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        assert piece(cast, cast.agent, "Pages 4–5").state == "answering"
        approve(cast, cast.passage("Pages 4–5", "ideas"))
        now = piece(cast, cast.agent, "Pages 4–5")
        assert (now.stage_name, now.state) == ("Sketch", "drawing")
        assert now.passage == cast.passage("Pages 4–5", "sketch").pk

    def test_the_newest_picture_is_shown_and_the_approved_one_before_the_first(self, cast):
        ideas = cast.passage("Pages 4–5", "ideas")
        first, second = handed_in(ideas, cast.illustrator, seeds=(1, 2)).pictures.order_by("position")
        assert piece(cast, cast.agent, "Pages 4–5").picture.picture == first.pk
        letters.set_answer(ideas.pk, answer=Answer.APPROVE, picture_id=second.pk, actor=cast.art_director)
        letter = Letter.objects.get(book=cast.book, sent_at=None)
        letters.send_letter(letter.pk, looked_at=letter_fingerprint(letter), actor=cast.art_director)
        assert piece(cast, cast.agent, "Pages 4–5").picture.picture == second.pk
        newer = handed_in(cast.passage("Pages 4–5", "sketch"), cast.illustrator, seeds=(3,)).pictures.get()
        assert piece(cast, cast.agent, "Pages 4–5").picture.picture == newer.pk

    def test_a_plate_does_not_stand_for_the_cover_it_belongs_to(self, cast):
        art = handed_in(cast.passage("Cover", "ideas"), cast.illustrator, seeds=(1,)).pictures.get()
        finish = cast.passage("Cover", "finish")
        Passage.objects.filter(pk=finish.pk).update(state="drawing")
        plate = handed_in(finish, cast.illustrator, seeds=(2,)).pictures.get()
        assert piece(cast, cast.agent, "Cover").picture.picture == art.pk != plate.pk

    def test_a_draft_is_on_nobodys_map(self, cast):
        draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        for seat in (cast.illustrator, cast.art_director, cast.agent):
            assert piece(cast, seat, "Pages 4–5").picture is None

    def test_what_is_handed_in_at_a_hidden_stage_is_on_the_illustrators_map_only(self):
        hidden = [
            stage
            if stage.kind != StageKind.IDEAS
            else replace(stage, gate=Gate.HIDDEN, hand_in_days=5, answer_days=0, rounds=0)
            for stage in SHORT_PLAN
        ]
        cast = gather(a_book(inside=hidden))
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        assert piece(cast, cast.illustrator, "Pages 4–5").picture is not None
        for seat in (cast.art_director, cast.editor, cast.agent, cast.production):
            assert piece(cast, seat, "Pages 4–5").picture is None

    def test_the_page_leads_to_each_passage_and_tells_states_apart_in_words(self, client, cast):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        sign_in(client, cast.agent.person)
        page = text(client.get(reverse("reviews:book-map", args=[cast.book.pk])))
        for spread in Spread.objects.filter(book=cast.book):
            passage = Passage.objects.get(spread=spread, stage__kind="ideas")
            assert reverse("reviews:passage", args=[passage.pk]) in page
        assert "With the publisher" in page and "With the illustrator" in page

    def test_a_stranger_and_a_guest_see_no_map(self, client, cast):
        path = reverse("reviews:book-map", args=[cast.book.pk])
        sign_in(client, cast.stranger)
        assert client.get(path).status_code == 404
        ideas = cast.passage("Cover", "ideas")
        handed_in(ideas, cast.illustrator)
        sign_in(client, cast.invite_guest(ideas).person)
        assert client.get(path).status_code == 403

    @pytest.mark.parametrize("n_pages", [16, 48])
    def test_it_takes_nine_queries_for_any_number_of_spreads(self, client, n_pages, django_assert_num_queries):
        cast = gather(a_book(n_pages=n_pages))
        for passage in Passage.objects.filter(book=cast.book, stage__kind="ideas")[:8]:
            handed_in(passage, cast.illustrator)
        sign_in(client, cast.art_director.person)
        with django_assert_num_queries(8):
            client.get(reverse("reviews:book-map", args=[cast.book.pk]))
