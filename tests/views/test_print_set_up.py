"""The print set-up of a book: set by who has it printed, read by its seats, followed by templates and guides."""

from __future__ import annotations

import io
from datetime import date
from decimal import Decimal

import pikepdf
import pytest
from django.urls import reverse

from reviews.actions.book_facts import change_book
from reviews.actions.books import make_book
from reviews.actions.hand_ins import hand_in
from reviews.actions.seats import make_person
from reviews.models import Book, KeptPrinter, LedgerEntry, Notice, Passage, Picture, PrintSetUp
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.press import PRINTER_WINS
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.queries.held_check import check_held
from reviews.queries.print_set_ups import print_of, seen_of
from reviews.rules.states import Deed, Role
from tests.cast import gather, sign_in
from tests.makers import a_book, draft

pytestmark = pytest.mark.django_db

PAPER = {"paper_by": "caliper", "paper_value": "0.5"}  # 8 leaves of 0.5: with 16 pages a block of 4


@pytest.fixture
def cast():
    return gather(a_book())


def address(book: Book, name: str = "print", *more) -> str:
    return reverse(f"reviews:{name}", args=[book.pk, *more])


def filled(book: Book, **changes: str) -> dict[str, str]:
    """What the form would send as it stands."""
    now = Book.objects.get(pk=book.pk)
    stands = print_of(now)
    data = {
        "typed_in": "mm",
        "seen": seen_of(now),
        "trim_width": f"{stands.trim.width_mm:g}",
        "trim_height": f"{stands.trim.height_mm:g}",
        "binding": book.binding,
        "ends": book.ends,
        "paper_by": "",
        "case_rules": "dingword",
        "jacket_rules": "wakefields",
        "condition": "coated-fogra39",
    }
    return data | changes


def send(client, book: Book, **changes: str):
    return client.post(address(book, "set-print"), filled(book, **changes))


def page_of(client, book: Book, query: str = "") -> str:
    return client.get(address(book) + query).content.decode()


@pytest.mark.parametrize("role", [Role.PRODUCTION, Role.ART_DIRECTOR])
def test_who_has_it_printed_sets_it_and_both_sides_read_what_changed(client, cast, role):
    sign_in(client, cast.seat(role).person)
    assert send(client, cast.book, **PAPER, printer="Sedgewater Press", figure_hinge="8").status_code == 302
    entry = LedgerEntry.objects.get(book=cast.book, deed=Deed.SET_PRINT)
    told = sentence(entry.as_entry())
    assert "paper from not told to a leaf of 0.5 mm" in told and "printer from none named to Sedgewater Press" in told
    assert "hinge, each from the starting value to 8 mm" in told and "trim" not in told
    readers = set(Notice.objects.filter(entry=entry).values_list("person__seats__role", flat=True))
    assert readers == {Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.PRODUCTION} - {role}
    page = page_of(client, cast.book)
    # dingword's rule with this hinge: (246.5 + 8) × 2 + 9.5 + 2 × 17 wide, 256 + 34 high.
    assert "552.5 × 290 mm" in page and "9.5 mm" in page and "Sedgewater Press’s own figure" in page
    assert str(PRINTER_WINS).replace("'", "&#x27;") in page
    assert not check_held(cast.book).faults, "the ledger holds what the rows say"


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT])
def test_others_read_it_and_cannot_set_it(client, cast, role):
    sign_in(client, cast.seat(role).person)
    page = page_of(client, cast.book)
    assert "Double-page spread" in page and "set-print" not in page and "Change the print set-up" not in page
    assert send(client, cast.book, **PAPER).status_code == 403
    assert not PrintSetUp.objects.exists() and not LedgerEntry.objects.filter(deed=Deed.SET_PRINT).exists()


def test_a_guest_and_a_stranger_learn_nothing_of_it(client, cast):
    guest = cast.invite_guest(cast.passage("Cover", "ideas"))
    for person, status in ((guest.person, 403), (cast.stranger, 404)):
        sign_in(client, person)
        for way in (address(cast.book), address(cast.book, "print-template", "spread", "pdf")):
            assert client.get(way).status_code == status
        assert send(client, cast.book, **PAPER).status_code == status
    assert not PrintSetUp.objects.exists()


def test_the_trim_moves_until_something_is_approved_at_it(client, cast):
    sign_in(client, cast.art_director.person)
    moved = {"trim_width": "245", "trim_height": "280", "trim_reason": "The sheet takes it better."}
    assert send(client, cast.book, **moved).status_code == 302
    assert print_of(Book.objects.get(pk=cast.book.pk)).trim.height_mm == 280
    passage = cast.passage("Pages 4–5", "sketch")
    Passage.objects.filter(pk=passage.pk).update(state="drawing")
    hand_in(draft(passage, cast.illustrator).pk, cover_note="", actor=cast.illustrator)
    Passage.objects.filter(pk=passage.pk).update(approved_picture=Picture.objects.get(hand_in__passage=passage))
    answer = send(client, Book.objects.get(pk=cast.book.pk), trim_width="250", trim_height="250", trim_reason="x")
    assert answer.status_code == 422
    assert "Pages 4–5, sketch was approved at this trim" in answer.content.decode()
    assert Book.objects.get(pk=cast.book.pk).trim_height_mm == Decimal(280)
    # What is no matter of the trim can still be set.
    assert send(client, Book.objects.get(pk=cast.book.pk), **PAPER).status_code == 302


def test_production_does_not_move_the_trim_and_nobody_does_without_a_reason(client, cast):
    moved = {"trim_width": "245", "trim_height": "280"}
    sign_in(client, cast.production.person)
    answer = send(client, cast.book, **moved, trim_reason="The sheet takes it better.")
    assert answer.status_code == 422 and "Production does not move the trim" in answer.content.decode()
    assert "The trim is the art director" in page_of(client, cast.book)
    sign_in(client, cast.art_director.person)
    answer = send(client, cast.book, **moved, trim_reason=" ")
    assert answer.status_code == 422 and "Say why the page size changes" in answer.content.decode()
    assert Book.objects.get(pk=cast.book.pk).trim_width_mm == 250
    assert send(client, cast.book, **moved, trim_reason="The sheet takes it better.").status_code == 302
    told = sentence(LedgerEntry.objects.get(deed=Deed.SET_PRINT).as_entry())
    assert "trim from 250 × 250 mm to 245 × 280 mm" in told
    assert "Why the trim moved: The sheet takes it better." in told


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"trim_width": "0"}, "greater than or equal to 60"),
        ({"trim_width": "1e9"}, "trim_width"),
        ({"trim_width": "NaN"}, "Enter a number"),
        ({"paper_by": "caliper", "paper_value": ""}, "Give the figure, above nought"),
        ({"paper_by": "caliper", "paper_value": "0"}, "Give the figure, above nought"),
        ({**PAPER, "has_jacket": "on"}, ""),
        ({"figure_bleed": "-3"}, "greater than or equal to 0"),
        ({"figure_gutter": "300"}, "as wide as the page"),
        ({**PAPER, "figure_turn-in": "0"}, "The turn-in is 0"),
        ({"binding": "paperback", "ends": "self"}, "has no such ends"),
        ({"binding": "board", "ends": "none"}, "other pieces of art would be needed"),
        ({"binding": "case", "ends": "separate"}, "other pieces of art would be needed"),
        ({"condition": "moonlight"}, "not one of the available choices"),
        ({"ink_limit": "500"}, "less than or equal to 400"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_words(client, cast, changes, words):
    sign_in(client, cast.production.person)
    answer = send(client, cast.book, **changes)
    if not words:  # the case beside the refusals that is none
        assert answer.status_code == 302
        return
    assert answer.status_code == 422 and words in answer.content.decode()
    assert not PrintSetUp.objects.exists()


def test_a_jacket_with_a_negative_flap_is_refused(client, cast):
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER, has_jacket="on")
    answer = send(client, cast.book, **PAPER, has_jacket="on", figure_flap="-5")
    assert answer.status_code == 422 and "greater than or equal to 0" in answer.content.decode()
    answer = send(client, cast.book, **PAPER, has_jacket="on", figure_flap="20")
    assert answer.status_code == 422 and "does not hold the jacket" in answer.content.decode()


def test_a_binding_with_the_same_pieces_may_be_chosen(client):
    cast = gather(a_book(n_pages=24, binding=BindingKind.PAPERBACK, ends=EndsKind.NONE))
    sign_in(client, cast.art_director.person)
    assert send(client, cast.book, binding="stitched", ends="none").status_code == 302
    assert Book.objects.get(pk=cast.book.pk).binding == "stitched"
    answer = send(client, Book.objects.get(pk=cast.book.pk), binding="board", ends="none")
    assert "other pieces of art would be needed" in answer.content.decode(), "page 1 would lie on the left"


def test_who_saves_over_something_newer_is_refused(client, cast):
    sign_in(client, cast.production.person)
    old = filled(cast.book, **PAPER)
    assert client.post(address(cast.book, "set-print"), old).status_code == 302
    answer = client.post(address(cast.book, "set-print"), old | {"paper_value": "0.3"})
    assert answer.status_code == 422 and "Somebody else changed how this book is printed" in answer.content.decode()


def test_saving_what_stands_changes_nothing(client, cast):
    sign_in(client, cast.production.person)
    assert send(client, cast.book).status_code == 422
    assert not LedgerEntry.objects.filter(deed=Deed.SET_PRINT).exists()


def test_inches_are_kept_exactly_and_shown_in_either_unit(client, cast):
    sign_in(client, cast.art_director.person)
    trim = {"trim_width": "8.5", "trim_height": "11", "trim_reason": "The printer cuts in inches."}
    send(client, cast.book, typed_in="in", figure_hinge="0.4", **trim, **PAPER)
    book = Book.objects.get(pk=cast.book.pk)
    stands = print_of(book)
    assert (stands.trim.width_mm, stands.trim.height_mm) == (215.9, 279.4)
    assert stands.figures.own == {"hinge": 10.16}
    assert "17 × 11 in" in page_of(client, book) and "431.8 × 279.4 mm" in page_of(client, book, "?unit=mm")
    # An eighth of an inch is where a bleed starts here, and stays one through the book's two decimals.
    assert book.bleed_mm == Decimal("3.18") and stands.value("bleed").source == "bleed-inch"
    shown = {"typed_in": "in", "trim_width": "8.5", "trim_height": "11", "figure_hinge": "0.4", **PAPER}
    assert send(client, book, **shown).status_code == 422, "sent as it was shown, nothing has changed"


def test_a_printer_is_kept_under_a_name_and_taken_for_the_next_book(client, cast):
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER, figure_hinge="8", figure_bleed="5", keep_as="Sedgewater Press")
    assert KeptPrinter.objects.get().figures["own"] == {"bleed": 5.0, "hinge": 8.0}
    other = gather(a_book(title="A Second Book"))
    page = page_of(client, other.book)
    kept = KeptPrinter.objects.get()
    assert "Sedgewater Press" in page
    page = page_of(client, other.book, f"?printer={kept.pk}")
    assert 'name="figure_hinge" value="8"' in page and "hold for this book once you change" in page
    assert not PrintSetUp.objects.filter(book=other.book).exists(), "taking a look sets nothing"
    sign_in(client, cast.illustrator.person)
    assert "Sedgewater Press" not in page_of(client, other.book, f"?printer={kept.pk}")


def test_a_printer_of_a_house_one_does_not_work_for_is_not_offered(client, cast):
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER, figure_hinge="8", keep_as="Sedgewater Press")
    elsewhere = make_person(email="hesper@elsewhere.example", name="Hesper Quill", password=None)
    theirs = make_book(a_book(title="Elsewhere", start_on=date(2026, 11, 3)), actor=elsewhere)
    sign_in(client, elsewhere)
    kept = KeptPrinter.objects.get()
    assert "Sedgewater" not in page_of(client, theirs, f"?printer={kept.pk}")


def test_the_covers_template_has_its_panels_once_the_paper_is_told(client, cast):
    sign_in(client, cast.illustrator.person)
    cover = cast.passage("Cover", "ideas").spread
    for way in (
        address(cast.book, "print-template", "cover", "pdf"),
        reverse("reviews:template", args=[cover.pk, "pdf"]),
    ):
        answer = client.get(way)
        assert answer.status_code == 409 and "paper" in answer.content.decode()
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER)
    for way in (
        address(cast.book, "print-template", "cover", "pdf"),
        reverse("reviews:template", args=[cover.pk, "pdf"]),
    ):
        with pikepdf.open(io.BytesIO(client.get(way).content)) as pdf:
            box = [float(side) / 72 * 25.4 for side in pdf.pages[0].TrimBox]
            layers = {str(layer.Name) for layer in pdf.Root.OCProperties.OCGs}
        assert box[2:] == pytest.approx([556.5, 290], abs=0.01)
        assert {"Trim", "Folds", "Turn-in", "Safety"} <= layers
    assert client.get(address(cast.book, "print-template", "cover", "exe")).status_code == 404
    assert client.get(address(cast.book, "print-template", "lid", "pdf")).status_code == 404


def test_a_book_begun_with_ends_its_binding_has_not_says_why_its_pages_cannot_be_planned(client, cast):
    Book.objects.filter(pk=cast.book.pk).update(binding="board")
    sign_in(client, cast.production.person)
    page = page_of(client, cast.book)
    assert "has no such ends" in page and "The pages as they will lie" in page


def test_a_board_book_is_told_as_glued_from_boards(client):
    cast = gather(a_book(n_pages=14, binding=BindingKind.BOARD, ends=EndsKind.NONE))
    sign_in(client, cast.illustrator.person)
    page = page_of(client, cast.book)
    assert "Glued from boards" in page and "one flat board" in page and "1–2" in page and "pasted down" not in page


def test_a_paper_book_is_told_with_its_sections(client):
    cast = gather(a_book(n_pages=28, binding=BindingKind.CASE, ends=EndsKind.SEPARATE))
    sign_in(client, cast.illustrator.person)
    page = page_of(client, cast.book)
    assert "3 sections: pages 1–16 (16), 17–24 (8), 25–28 (4)." in page
    assert "one section has four pages only. Ask the printer" in page


def test_a_form_filled_before_the_trim_moved_elsewhere_does_not_put_it_back(client, cast):
    sign_in(client, cast.production.person)
    stale = filled(cast.book, paper_by="weight", weight="150", bulk="0.8")
    book = Book.objects.get(pk=cast.book.pk)
    moved = book.trim_width_mm + 20
    change_book(
        book.pk, title=book.title, publisher=book.publisher, final_on=book.final_on, trim_width_mm=moved,
        trim_height_mm=book.trim_height_mm, reason="The press is wider.", actor=cast.art_director,
    )  # fmt: skip
    answer = client.post(address(cast.book, "set-print"), stale)
    assert answer.status_code != 302
    assert Book.objects.get(pk=book.pk).trim_width_mm == moved and not PrintSetUp.objects.filter(book=book).exists()


def test_a_paper_that_makes_no_spine_of_a_picture_book_is_refused(client, cast):
    """8 leaves: a leaf of 7 mm, a micrometre typed as a millimetre, makes a block of 56 and boards round it."""
    sign_in(client, cast.production.person)
    answer = send(client, cast.book, paper_by="caliper", paper_value="7")
    assert answer.status_code == 422 and "at most 60 mm is taken" in answer.content.decode()
    assert not PrintSetUp.objects.exists()
    assert send(client, cast.book, paper_by="caliper", paper_value="5").status_code == 302
