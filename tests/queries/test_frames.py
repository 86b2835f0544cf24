"""How a proof lies on its page: the printer's whole sheet is larger than the page, and its file says how large."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.pages.review_table import table_data
from reviews.queries.comparisons import print_width_um
from reviews.queries.frames import frame_of
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Gate, StageKind
from tests.cast import gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.PROOF)
)
#: An opening of 500 x 250 mm with 3 mm bleed in the middle of a sheet of 550 x 300 mm, at 277 ppi.
SHEET = {"width_px": 6000, "height_px": 3273}
WORDS = "This is the printer’s whole sheet, so the trim is not drawn on it: its marks are still to be looked for."


@pytest.fixture
def cast():
    cast = gather(a_book(inside=STAGES))
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    return cast


def measured(cast, kind="proof", *, ppi, width_px, height_px):
    passage = cast.passage("Pages 4–5", kind)
    if passage.hand_in_id is None:
        handed_in(passage, cast.production if kind == "proof" else cast.illustrator, [2])
        passage.refresh_from_db()
    picture = passage.hand_in.pictures.get()
    picture.width_px, picture.height_px = width_px, height_px
    picture.facts = picture.facts | {"ppi_x": ppi, "ppi_y": ppi}
    picture.save(update_fields=["width_px", "height_px", "facts"])
    return picture, passage


def test_a_proof_on_the_printers_sheet_is_as_wide_as_its_file_says(cast):
    picture, passage = measured(cast, ppi=277, **SHEET)
    frame = frame_of(picture, passage)
    assert frame.is_sheet
    assert frame.width_mm == pytest.approx(6000 * 25.4 / 277)
    assert frame.height_mm == pytest.approx(3273 * 25.4 / 277)
    assert print_width_um(picture, passage) == round(6000 * 25400 / 277)


@pytest.mark.parametrize(
    "ppi", [None, 72, 300.4], ids=["says nothing", "says what nobody means", "says it is the page with its bleed"]
)
def test_without_a_credible_larger_size_a_proof_is_taken_for_the_page(cast, ppi):
    size = {"width_px": 5984, "height_px": 3028} if ppi == 300.4 else SHEET
    picture, passage = measured(cast, ppi=ppi, **size)
    frame = frame_of(picture, passage)
    assert not frame.is_sheet
    assert frame.width_mm == 506


def test_art_is_never_taken_for_a_printers_sheet(cast):
    picture, passage = measured(cast, "colour", ppi=277, **SHEET)
    assert not frame_of(picture, passage).is_sheet
    assert print_width_um(picture, cast.passage("Pages 4–5", "proof")) == 506_000, "looked at from the proof as well"


def test_no_page_guides_are_drawn_on_the_printers_sheet_and_the_table_says_so(cast, client):
    _, passage = measured(cast, ppi=277, **SHEET)
    shown = table_data(passage, passage.hand_in, cast.art_director)["pictures"][0]
    assert shown["frame"] == {"trim": None, "gutter": None, "guides": [], "text": None, "turn": None}
    assert shown["mm_per_px"] == pytest.approx(25.4 / 277)
    sign_in(client, cast.art_director.person)
    url = reverse("reviews:passage", args=[passage.pk])
    assert WORDS in client.get(url).content.decode()
    measured(cast, ppi=None, **SHEET)
    assert WORDS not in client.get(url).content.decode()
