"""A template to draw on is given for every spread, and a draft is told what speaks against its files in print."""

from __future__ import annotations

import hashlib
import io
from decimal import Decimal
from xml.etree.ElementTree import fromstring

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from reviews.actions import hand_ins, layout, pictures
from reviews.models import Passage, Spread
from reviews.pages.wording.press import PRINTER_WINS
from tests.cast import gather, sign_in
from tests.makers import a_book, a_jpeg

pytestmark = pytest.mark.django_db

RIGHT = {"kind": "TIFF", "mode": "CMYK", "bits": 8, "profile_name": "PSO Coated v3"}
BARE = {"kind": "JPEG", "mode": "RGB", "bits": 8, "profile_name": ""}
FULL = (5976, 3024)  # 506 × 256 mm at 300 ppi
CAUTIONS = ("ppi at print size", "proportions are", "ends at the trim", "no colour profile")


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def juniper(client, cast):
    sign_in(client, cast.illustrator.person)
    return client


def address(spread: Spread, kind: str, query: str = "") -> str:
    return reverse("reviews:template", args=[spread.pk, kind]) + query


def drawn(cast, stage: str, size: tuple[int, int], facts: dict[str, object], label: str = "Pages 4–5") -> Passage:
    """Put one picture that was read into the draft of a passage, whatever stage the book has come to."""
    passage = cast.passage(label, stage)
    Passage.objects.filter(pk=passage.pk).update(state="drawing")
    data = a_jpeg(1)
    upload = SimpleUploadedFile("owl.jpg", data, content_type="image/jpeg")
    digest = hashlib.sha256(data).hexdigest()
    picture = hand_ins.add_picture(passage.pk, upload, sha256=digest, actor=cast.illustrator)
    pictures.picture_ready(picture.pk, width_px=size[0], height_px=size[1], facts=facts)
    return passage


def page_of(client, passage: Passage) -> str:
    return client.get(reverse("reviews:draft-hand-in", args=[passage.pk])).content.decode()


def told(page: str) -> list[str]:
    """List which cautions stand under the pictures of a draft."""
    return [words for words in CAUTIONS if words in page]


def test_the_three_kinds_of_file_have_the_spreads_size_and_name(juniper, cast):
    spread = cast.passage("Pages 4–5", "ideas").spread
    made = {kind: juniper.get(address(spread, kind)) for kind in ("pdf", "svg", "png")}
    for kind, answer in made.items():
        name = f"the-otter-who-kept-time-pages-4-5-template.{kind}"
        assert answer["Content-Disposition"] == f'attachment; filename="{name}"'
    with pikepdf.open(io.BytesIO(made["pdf"].content)) as pdf:
        box = [float(side) / 72 * 25.4 for side in pdf.pages[0].TrimBox]
    assert box == pytest.approx([3, 3, 503, 253], abs=0.01)
    svg = fromstring(made["svg"].content.decode())
    assert (svg.get("width"), svg.get("height")) == ("506mm", "256mm")
    png = Image.open(io.BytesIO(made["png"].content))
    assert png.size == (5976, 3024) and png.info["dpi"] == pytest.approx((300, 300), abs=0.1)


def test_a_single_page_and_endpapers_have_their_own_width(juniper, cast):
    spread = cast.passage("Pages 4–5", "ideas").spread
    layout.split_spread(spread.pk, actor=cast.art_director)
    single = Spread.objects.get(book=cast.book, removed_at=None, first_page=4)
    ends = Spread.objects.filter(book=cast.book, removed_at=None, kind="ends").first()
    widths = {}
    for one in (single, ends):
        answer = juniper.get(address(one, "svg"))
        widths[one.kind] = fromstring(answer.content.decode()).get("width")
    assert widths == {"single": "256mm", "ends": "506mm"}
    assert "-page-4-template.svg" in juniper.get(address(single, "svg"))["Content-Disposition"]
    assert juniper.get(address(spread, "svg")).status_code == 404  # no part of the layout any more


@pytest.mark.parametrize("ppi", ["0", "-300", "35", "1201", "1e9", "many", "72.5", "9" * 400, "NaN"])
def test_a_resolution_out_of_bounds_gets_a_sentence(juniper, cast, ppi):
    answer = juniper.get(address(cast.passage("Pages 4–5", "ideas").spread, "png", f"?ppi={ppi}"))
    assert answer.status_code == 409 and "between 36 and 1200 ppi" in answer.content.decode()


def test_the_resolution_asked_for_is_drawn_and_an_empty_one_is_the_usual(juniper, cast):
    spread = cast.passage("Pages 4–5", "ideas").spread
    low = Image.open(io.BytesIO(juniper.get(address(spread, "png", "?ppi=36")).content))
    assert low.size == (717, 363)
    usual = Image.open(io.BytesIO(juniper.get(address(spread, "png", "?ppi=")).content))
    assert usual.size == (5976, 3024)


@pytest.mark.parametrize(("trim", "words"), [(Decimal(500), "47528 × 23906 pixels"), (Decimal("0.01"), "0 × 0 pixels")])
def test_what_memory_cannot_hold_gets_a_sentence(juniper, cast, trim, words):
    book = cast.book
    book.trim_width_mm, book.trim_height_mm, book.bleed_mm = trim, trim, Decimal(3) if trim > 1 else Decimal(0)
    book.save()
    answer = juniper.get(address(cast.passage("Pages 4–5", "ideas").spread, "png", f"?ppi={1200 if trim > 1 else 36}"))
    assert answer.status_code == 409 and words in answer.content.decode()


def test_a_cover_has_no_template_and_no_link_to_one(juniper, cast):
    passage = cast.passage("Cover", "ideas")
    answer = juniper.get(address(passage.spread, "pdf"))
    assert answer.status_code == 409 and "its size needs the spine" in answer.content.decode()
    page = page_of(juniper, passage)
    assert "Template to draw on" not in page and "Size asked for" not in page


def test_another_kind_of_file_is_not_there(juniper, cast):
    assert juniper.get(address(cast.passage("Pages 4–5", "ideas").spread, "exe")).status_code == 404


def test_the_draft_page_links_the_templates_beside_size_and_caution(juniper, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    page = page_of(juniper, passage)
    assert "506 × 256 mm: 500 × 250 mm as cut, and 3 mm bleed on every side" in page
    assert all(f'href="{address(passage.spread, kind)}"' in page for kind in ("pdf", "svg", "png"))
    assert str(PRINTER_WINS).replace("'", "&#x27;") in page


@pytest.mark.parametrize("stage", ["line", "ink", "colour"])
def test_a_small_file_without_profile_is_told_what_speaks_against_it(juniper, cast, stage):
    page = page_of(juniper, passage := drawn(cast, stage, (800, 600), BARE))
    assert told(page) == ["ppi at print size", "proportions are", "no colour profile"]
    picture = passage.hand_ins.get().pictures.get()
    said = juniper.get(reverse("reviews:picture-state", args=[picture.pk])).json()["cautions"]
    assert len(said) == 3 and "no colour profile" in said[2]


def test_a_file_without_bleed_is_told(juniper, cast):
    assert told(page_of(juniper, drawn(cast, "colour", (5906, 2953), RIGHT))) == ["ends at the trim"]


def test_a_right_file_is_told_nothing_and_nobody_vouches_for_it(juniper, cast):
    page = page_of(juniper, drawn(cast, "colour", FULL, RIGHT))
    assert told(page) == []
    assert "No fault" not in page and "may still be wrong" in page


def test_line_is_asked_for_more_pixels_than_colour(juniper, cast):
    assert told(page_of(juniper, drawn(cast, "line", FULL, RIGHT))) == ["ppi at print size"]


def test_a_sketch_is_no_file_for_print_but_has_its_shape(juniper, cast):
    assert told(page_of(juniper, drawn(cast, "sketch", (2000, 1500), BARE))) == ["proportions are", "no colour profile"]


@pytest.mark.parametrize("stage", ["ideas", "sketch"])
def test_a_picture_too_small_to_be_judged_is_told_at_every_stage(juniper, cast, stage):
    page = page_of(juniper, drawn(cast, stage, (300, 150), BARE | {"profile_name": "sRGB"}))
    assert told(page)[0] == "ppi at print size"
    assert "15 ppi at print size; below 72 ppi" in page


def test_several_ideas_may_stand_on_one_sheet_of_any_shape(juniper, cast):
    assert told(page_of(juniper, drawn(cast, "ideas", (1500, 2000), BARE))) == ["no colour profile"]


def test_a_grey_pencil_scan_needs_no_profile_before_final_art(juniper, cast):
    grey = BARE | {"mode": "GREY"}
    assert told(page_of(juniper, drawn(cast, "sketch", FULL, grey))) == []


@pytest.mark.parametrize("stage", ["ideas", "sketch", "colour"])
def test_inks_are_told_at_every_stage(juniper, cast, stage):
    page = page_of(juniper, drawn(cast, stage, FULL, RIGHT | {"mode": "CMYK"}))
    assert "The file is CMYK." in page


@pytest.mark.parametrize("kind", ["PDF", "TIFF", "WebP"])
def test_one_page_of_several_is_told(juniper, cast, kind):
    page = page_of(juniper, drawn(cast, "sketch", FULL, RIGHT | {"kind": kind, "n_pages": 4}))
    assert "Page 1 of 4 is taken, and no other." in page
    assert ("Take all 4 pages as pictures" in page) == (kind != "WebP")


def test_of_a_pdf_the_shape_is_told_and_not_its_pixels(juniper, cast):
    assert told(page_of(juniper, drawn(cast, "colour", (800, 600), BARE | {"kind": "PDF"}))) == ["proportions are"]
    assert told(page_of(juniper, drawn(cast, "colour", (506, 256), BARE | {"kind": "PDF"}, "Pages 6–7"))) == []


def test_a_cover_of_unknown_size_is_told_its_colours(juniper, cast):
    page = page_of(juniper, drawn(cast, "colour", (300, 150), BARE, "Cover"))
    assert told(page) == ["no colour profile"]


def test_what_cannot_be_told_is_not_told(juniper, cast):
    assert told(page_of(juniper, drawn(cast, "colour", (800, 600), {"kind": "JPEG"}))) == []


def test_the_cautions_cost_no_query(juniper, cast):

    counted = []
    for stage in ("sketch", "colour"):
        passage = drawn(cast, stage, (800, 600), BARE)
        with CaptureQueriesContext(connection) as queries:
            page_of(juniper, passage)
        counted.append(len(queries))
    assert counted[0] == counted[1]
