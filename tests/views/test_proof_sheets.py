"""A printer's sheet on the review table: guides by its trim box or its marks, and words that say by which."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.actions.proof_sheets import ask_for_sheets_nobody_looked_at, keep_sheet
from reviews.models import Comparison, Job, Passage, Picture
from reviews.pages.beneath import approved_under
from reviews.pages.review_table import table_data
from reviews.queries.frames import frame_of, placed_on
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Gate, StageKind
from reviews.tasks.proof_sheets import look_for_trim
from tests.cast import gather, sign_in
from tests.imaging.drawn_sheets import CORNERS, DrawnSheet, drawn, trim_of
from tests.letter_scene import approved
from tests.makers import a_book
from tests.views.test_dummies import opening
from tests.views.test_on_page import SMALL, handed, in_draft, table

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.PROOF)
)
#: A spread of 120 x 60 mm on a sheet of 160 x 100 mm, not in its middle.
SHEET = DrawnSheet(trim=(120.0, 60.0), sheet=(160.0, 100.0), at=(15.0, 22.0), px_per_mm=8.0)
MM = 72 / 25.4
BY_MARKS, BY_BOX = "Laid on the trim by its trim marks", "Laid on the trim by the file’s trim box"
NO_MARKS = "neither a trim box nor trim marks were found on it"


@pytest.fixture
def cast():
    return gather(a_book(inside=STAGES, **SMALL))


def png(pixels: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels, "RGB").save(out, "PNG")
    return out.getvalue()


def pdf(pixels: np.ndarray, trim: tuple[float, float, float, float] | None, scale: float = 1.0) -> bytes:
    out = io.BytesIO()
    wide, high = (side * scale * MM for side in SHEET.sheet)
    canvas = Canvas(out, pagesize=(wide, high))
    if trim:
        canvas.setTrimBox(tuple(side * scale * MM for side in trim))
    canvas.drawImage(ImageReader(io.BytesIO(png(pixels))), 0, 0, wide, high)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def proof(cast, data: bytes, name: str = "proof.png") -> Picture:
    picture = in_draft(cast, "proof", data, name=name, by=cast.production)
    handed(picture, cast, by=cast.production)
    return Picture.objects.get(pk=picture.pk)


def shown(cast, picture: Picture) -> dict:
    passage = Passage.objects.with_places().get(pk=picture.hand_in.passage_id)
    return table_data(passage, passage.hand_in, cast.art_director)["pictures"][0]


def trim_guide(told: dict) -> list[float]:
    return next(guide["box"] for guide in told["frame"]["guides"] if guide["kind"] == "trim")


def truth(one: DrawnSheet) -> list[float]:
    true = trim_of(one)
    return [true.left, true.top, true.right, true.bottom]


def test_guides_lie_by_the_trim_marks_and_the_table_says_so(client, cast):
    picture = proof(cast, png(drawn(replace(SHEET, bars=True, fold_marks=True))))
    told = shown(cast, picture)
    assert trim_guide(told) == pytest.approx(truth(SHEET), abs=0.002)
    assert told["frame"]["trim"] == pytest.approx(truth(SHEET), abs=0.002)
    assert told["frame"]["gutter"] == pytest.approx((15 + 60) / 160, abs=0.002)
    assert {"trim", "bleed", "safety", "gutter", "fold"} <= {guide["kind"] for guide in told["frame"]["guides"]}
    assert told["frame"]["turn"] is None or abs(told["frame"]["turn"][0]) < 0.05
    assert told["mm_per_px"] == pytest.approx(1 / 8, rel=0.003), "sized by the trim, not by what the file states"
    for seat in (cast.art_director, cast.production, cast.illustrator):
        sign_in(client, seat.person)
        page = table(client, picture.hand_in.passage)
        assert f"{BY_MARKS}, found at 4 corners. The printed marks win." in page


def test_a_sheet_scanned_askew_has_its_guides_turned_with_it(client, cast):
    askew = replace(SHEET, skew_deg=1.5, corners=CORNERS[:3])
    picture = proof(cast, png(drawn(askew)))
    told = shown(cast, picture)
    degrees, x, y = told["frame"]["turn"]
    assert degrees == pytest.approx(1.5, abs=0.1)
    middle = trim_of(askew)
    assert (x, y) == pytest.approx(((middle.left + middle.right) / 2, (middle.top + middle.bottom) / 2), abs=0.002)
    sign_in(client, cast.production.person)
    page = table(client, picture.hand_in.passage)
    assert "found at 3 corners. The sheet lies 1.5° askew, and the guides with it." in page


def test_a_pdf_is_laid_by_its_trim_box_and_a_reduced_one_says_its_size(client, cast):
    bare = drawn(replace(SHEET, corners=()))
    picture = proof(cast, pdf(bare, (15, 18, 135, 78), scale=0.5), "proof.pdf")
    told = shown(cast, picture)
    assert trim_guide(told) == pytest.approx(truth(SHEET), abs=0.001)
    sign_in(client, cast.art_director.person)
    page = table(client, picture.hand_in.passage)
    assert f"{BY_BOX}. It shows the page at 50.0 % of its size. The printed marks win." in page


def test_without_box_and_marks_no_guide_is_drawn_and_nothing_vouches_for_the_trim(client, cast):
    picture = proof(cast, png(drawn(replace(SHEET, corners=CORNERS[:2]))))
    told = shown(cast, picture)
    assert told["frame"]["guides"] == [] and told["frame"]["text"] is None and told["frame"]["turn"] is None
    sign_in(client, cast.art_director.person)
    page = table(client, picture.hand_in.passage)
    assert NO_MARKS in page and "Laid on the trim" not in page


def test_marks_round_another_shape_are_not_taken_for_the_page(client, cast):
    other = replace(SHEET, trim=(120.0, 66.0), at=(15.0, 17.0))
    picture = proof(cast, png(drawn(other)))
    assert shown(cast, picture)["frame"]["guides"] == []
    sign_in(client, cast.art_director.person)
    assert "around another shape than this piece has by the print set-up" in table(client, picture.hand_in.passage)


def test_a_proof_cut_to_size_is_the_page_itself(client, cast):
    pixels = drawn(replace(SHEET, trim=(120.0, 60.0), sheet=(120.0, 60.0), at=(0.0, 0.0), bleed=0.0, corners=()))
    picture = proof(cast, png(pixels))
    assert trim_guide(shown(cast, picture)) == [0, 0, 1, 1]
    sign_in(client, cast.art_director.person)
    page = table(client, picture.hand_in.passage)
    assert "Taken for the page itself by its shape: no trim marks were found." in page


def test_art_is_not_looked_at_for_marks_and_is_laid_as_ever(cast):
    picture = in_draft(cast, "colour", png(drawn(SHEET)))
    assert "sheet" not in picture.facts
    passage = Passage.objects.with_places().get(pk=picture.hand_in.passage_id)
    placed = placed_on(picture, passage)
    assert (placed.width_mm, placed.left_mm, placed.laid_by) == (126, -3, "edges")


def test_the_approved_art_beneath_lies_on_the_trim_of_the_sheet(cast):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    picture = proof(cast, png(drawn(SHEET)))
    under = approved_under(Passage.objects.with_places().get(pk=picture.hand_in.passage_id), cast.art_director)
    assert under["pictures"][picture.pk]["trim"] is not None
    assert shown(cast, picture)["frame"]["trim"] == pytest.approx(truth(SHEET), abs=0.002)


@pytest.mark.parametrize(("skew_deg", "is_cut_out"), [(0.0, True), (1.5, False)])
def test_the_dummy_cuts_the_page_out_of_a_sheet_that_lies_straight(cast, skew_deg, is_cut_out):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    one = replace(SHEET, skew_deg=skew_deg)
    picture = proof(cast, png(drawn(one)))
    [pages] = opening(cast.art_director, "Pages 4–5").pages
    at_px = [8.0 * side for side in ((15, 22, 120, 60) if is_cut_out else (0, 0, 160, 100))]
    assert pages.newest.picture == picture.pk and pages.newest.crop == pytest.approx(at_px, abs=2)


def test_a_sheet_that_cannot_be_read_for_its_marks_is_not_said_to_wait_for_it(cast):
    picture = proof(cast, png(drawn(SHEET)))
    picture.facts |= {"sheet": {"method": "any", "code": "damaged"}, "ppi_x": 210.0, "ppi_y": 210.0}
    picture.save(update_fields=["facts"])
    words = str(shown(cast, picture)["laid_words"])
    assert "the file could not be read for its marks" in words and "still" not in words


def test_a_sheet_read_before_marks_were_looked_for_is_looked_at_once(cast):
    picture = proof(cast, png(drawn(SHEET)))
    whole = picture.facts
    picture.facts = {key: value for key, value in whole.items() if key != "sheet"}
    picture.save(update_fields=["facts"])
    passage = Passage.objects.with_places().get(pk=picture.hand_in.passage_id)
    assert frame_of(picture, passage).sheet_trim is None
    assert ask_for_sheets_nobody_looked_at() == 1
    [job] = Job.objects.filter(kind=jobs.PROOF_SHEET)
    look_for_trim(Claim(job_id=job.pk, kind=job.kind, subject_id=job.subject_id, key=job.key, attempt=1, token=""))
    assert Picture.objects.get(pk=picture.pk).facts == whole
    assert ask_for_sheets_nobody_looked_at() == 0


def test_what_came_after_a_sheet_is_compared_anew_once_its_size_is_known(cast):
    first = proof(cast, png(drawn(SHEET)))
    picture = in_draft(cast, "proof", png(drawn(SHEET, seed=1)), name="proof 2.png", by=cast.production)
    Picture.objects.filter(pk=first.pk).update(facts={key: first.facts[key] for key in first.facts if key != "sheet"})
    Comparison.objects.all().delete()
    keep_sheet(first.sha256, first.facts["sheet"])
    [row] = Comparison.objects.filter(sha256_a=first.sha256, sha256_b=picture.sha256)
    assert row.width_um == pytest.approx(160_000, rel=0.003)
