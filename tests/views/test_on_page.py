"""Guides and faults, in the draft before handing in and on the table after, from the figures of the print set-up."""

from __future__ import annotations

import hashlib
import io
import random
import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import pyvips
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image, ImageCms

from reviews import jobs
from reviews.actions import hand_ins
from reviews.actions.book_facts import change_book
from reviews.actions.jobs import Claim
from reviews.imaging.decode import examine
from reviews.imaging.print_check import inks_of
from reviews.models import Book, InkCheck, Job, Passage, Picture, Seat
from reviews.pages.review_table import table_data
from reviews.pages.wording.press import looked_at
from reviews.press.file_check import FileFault, NotLooked, Weight
from reviews.queries.file_faults import check_picture
from reviews.queries.print_checks import InkKnown
from reviews.queries.print_set_ups import print_of
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Gate, HandInState, StageKind
from reviews.tasks.pictures import read_picture
from reviews.tasks.print_checks import measure_inks
from tests.cast import gather, sign_in
from tests.makers import a_book, handed_in
from tests.views.test_print_set_up import PAPER, send

pytestmark = pytest.mark.django_db

ROOT = Path(__file__).parents[2]
SMALL = {"trim_width_mm": Decimal(60), "trim_height_mm": Decimal(60)}  # a spread of 126 × 66 mm with its bleed
SPREAD_MM = (126, 66)
CMYK_PROFILE = pyvips.Image.profile_load("cmyk")
SRGB_PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


@pytest.fixture
def cast():
    return gather(a_book(**SMALL))


def px(mm: float, ppi: float = 300) -> int:
    return round(mm / 25.4 * ppi)


def art(width: int, height: int, seed: int, most: int = 180) -> np.ndarray:
    """Soft blots of ink, 0 to ``most`` a channel: under 300 per cent of 400 at 180."""
    grain = np.random.default_rng(seed).integers(0, most, (6, 8, 4), dtype=np.uint8)
    channels = [
        np.asarray(Image.fromarray(grain[..., i]).resize((width, height), Image.Resampling.BILINEAR)) for i in range(4)
    ]
    return np.stack(channels, -1)


def tiff(pixels: np.ndarray, mode: str, profile: bytes | None) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels, mode).save(out, "TIFF", compression="tiff_lzw", icc_profile=profile)
    return out.getvalue()


def in_draft(
    cast, stage: str, data: bytes, label: str = "Pages 4–5", name: str = "art.tif", by: Seat | None = None
) -> Picture:
    """Put a file into a draft, the illustrator's or of `by`, and let the worker read it, whatever stage it is."""
    passage = cast.passage(label, stage)
    Passage.objects.filter(pk=passage.pk).update(state="drawing")
    upload = SimpleUploadedFile(name, data, content_type="image/tiff")
    digest = hashlib.sha256(data).hexdigest()
    picture = hand_ins.add_picture(passage.pk, upload, sha256=digest, actor=by or cast.illustrator)
    read_picture(Claim(job_id=0, kind=jobs.RENDITIONS, subject_id=picture.pk, key="", attempt=1, token=""))
    picture.refresh_from_db()
    return picture


def measured() -> None:
    """Do the ink measurements that wait."""
    for job in Job.objects.filter(kind=jobs.PRINT_CHECK):
        measure_inks(Claim(job_id=job.pk, kind=job.kind, subject_id=job.subject_id, key=job.key, attempt=1, token=""))


def check_page(client, cast, stage: str, label: str = "Pages 4–5") -> str:
    answer = client.get(reverse("reviews:check-draft", args=[cast.passage(label, stage).pk]))
    return " ".join(answer.content.decode().split())


def table(client, passage: Passage) -> str:
    return " ".join(client.get(reverse("reviews:passage", args=[passage.pk])).content.decode().split())


def handed(picture: Picture, cast, by: Seat | None = None) -> Passage:
    hand_ins.hand_in(picture.hand_in_id, cover_note="", actor=by or cast.illustrator)
    return Passage.objects.with_places().get(pk=picture.hand_in.passage_id)


def test_a_clean_file_is_told_what_was_looked_at_and_never_called_ready(client, cast):
    in_draft(cast, "colour", tiff(art(px(126), px(66), 1), "CMYK", CMYK_PROFILE))
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "colour")
    assert "Ink has not been measured on this file at this size yet" in page and "ink in total" not in page
    measured()
    page = check_page(client, cast, "colour")
    assert "Nothing was found against it." in page
    assert (
        "Looked at: pixels at print size, proportions, bleed, colour space, profile, bits, ink in total, "
        "black from four inks. Nothing else."
    ) in page
    for word in ("print-ready", "ready for print", "No fault", "fit for print"):
        assert word not in page
    assert 'class="guide trim"' in page and 'class="guide gutter"' in page and 'class="guide safety"' in page


def test_too_much_ink_is_told_with_where_and_how_much_before_and_after_handing_in(client, cast):
    pixels = art(px(126), px(66), 2, 100)
    pixels[100:400, 200:700] = 240
    picture = in_draft(cast, "colour", tiff(pixels, "CMYK", CMYK_PROFILE))
    measured()
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "colour")
    assert "<b>Stopper:</b>" in page and "more than 330 % ink, up to 376 %" in page and 'class="fault-line"' in page
    passage = handed(picture, cast)
    for seat in (cast.art_director, cast.production, cast.agent):
        sign_in(client, seat.person)
        page = table(client, passage)
        assert "more than 330 % ink" in page and "1 stopper" in page


def test_a_limit_that_moves_is_measured_anew_and_the_old_verdict_is_not_told(client, cast):
    pixels = art(px(126), px(66), 3, 60)
    pixels[100:400, 200:700] = 200  # 314 per cent
    picture = in_draft(cast, "colour", tiff(pixels, "CMYK", CMYK_PROFILE))
    measured()
    passage = handed(picture, cast)
    sign_in(client, cast.production.person)
    assert "Nothing was found against it." in table(client, passage)
    assert send(client, cast.book, condition="coated-fogra51").status_code == 302
    page = table(client, passage)
    assert "Ink has not been measured on this file at this size yet" in page and "ink in total" not in page
    measured()
    assert "more than 300 % ink, up to 314 %" in table(client, passage)
    assert InkCheck.objects.count() == 2


def test_a_trim_that_moves_by_the_books_own_page_is_measured_anew_too(cast):
    pixels = art(px(126), px(66), 3, 60)
    picture = in_draft(cast, "colour", tiff(pixels, "CMYK", CMYK_PROFILE))
    measured()
    handed(picture, cast)
    book = Book.objects.get(pk=cast.book.pk)
    change_book(
        book.pk, title=book.title, publisher=book.publisher, final_on=book.final_on,
        trim_width_mm=book.trim_width_mm + 60, trim_height_mm=book.trim_height_mm + 60, reason="The press is narrower.",
        actor=cast.art_director,
    )  # fmt: skip
    assert InkCheck.objects.count() == 2, "the share of a page that ink covers is told at its size"


def test_of_a_file_without_inks_no_ink_is_claimed(client, cast):
    pixels = art(px(126), px(66), 4)[..., :3]
    in_draft(cast, "colour", tiff(np.ascontiguousarray(pixels), "RGB", SRGB_PROFILE))
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "colour")
    assert "Ink was not measured: the file has no inks" in page and "ink in total" not in page
    assert "<b>Remark:</b> The file is RGB." in page
    assert not Job.objects.filter(kind=jobs.PRINT_CHECK).exists()


def test_a_guest_sees_neither_faults_nor_the_words_of_print(client, cast):
    data = tiff(art(px(66), px(66), 5), "CMYK", CMYK_PROFILE)
    picture = in_draft(cast, "ideas", data, label="Cover")
    passage = handed(picture, cast)
    guest = cast.invite_guest(passage)
    sign_in(client, guest.person)
    assert "On the page, and for print" not in table(client, passage)


def test_the_prints_figures_are_the_only_source_of_the_tables_guides(client, cast):
    picture = in_draft(cast, "sketch", tiff(art(px(126), px(66), 6), "CMYK", CMYK_PROFILE))
    passage = handed(picture, cast)

    def gutter() -> list[float]:
        fresh = Passage.objects.with_places().select_related("hand_in").get(pk=passage.pk)
        shown = table_data(fresh, fresh.hand_in, cast.art_director)["pictures"][0]
        return next(guide["box"] for guide in shown["frame"]["guides"] if guide["kind"] == "gutter")

    assert gutter()[0] == pytest.approx((63 - 13) / 126, abs=1e-4)
    sign_in(client, cast.production.person)
    assert send(client, cast.book, figure_gutter="20").status_code == 302
    assert gutter()[0] == pytest.approx((63 - 20) / 126, abs=1e-4)


def test_a_cover_is_held_against_the_whole_piece_once_the_paper_is_told(client, cast):
    front = tiff(art(px(66), px(66), 7), "CMYK", CMYK_PROFILE)
    picture = in_draft(cast, "colour", front, label="Cover")
    measured()
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "colour", "Cover")
    assert "the cover’s size needs the paper" in page and "pixels at print size" not in page
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER)
    flat = print_of(Book.objects.get(pk=cast.book.pk)).flats()["cover"]
    sign_in(client, cast.illustrator.person)
    assert "This is the front alone" in check_page(client, cast, "colour", "Cover")
    hand_ins.remove_picture(picture.pk, actor=cast.illustrator)
    whole = tiff(art(px(flat.width_mm), px(flat.height_mm), 8), "CMYK", CMYK_PROFILE)
    second = in_draft(cast, "colour", whole, label="Cover", name="whole.tif")
    measured()
    page = check_page(client, cast, "colour", "Cover")
    assert "Nothing was found against it." in page and 'class="guide turn-in"' in page
    # A thicker paper: the spine that was drawn is not the book's any more.
    passage = handed(second, cast)
    sign_in(client, cast.production.person)
    assert send(client, Book.objects.get(pk=cast.book.pk), paper_by="caliper", paper_value="0.9").status_code == 302
    page = table(client, passage)
    assert "drawn for a spine of 9.5" in page and "it is 12.7 mm now" in page and "1 stopper" in page


def _clean(seed: int) -> tuple[str, bytes]:
    dice = random.Random(seed)
    kind = dice.choice(["cmyk", "cmyk", "rgb", "line"])
    if kind == "line":
        width, height = px(126, 1100), px(66, 1100)
        line = np.full((height, width), 255, np.uint8)
        for _ in range(40):
            y, x = dice.randrange(height - 400), dice.randrange(width - 400)
            line[y : y + dice.randrange(8, 300), x : x + dice.randrange(8, 300)] = 0
        return "line", tiff(line, "L", (Path("/usr/share/color/icc/Gray.icc")).read_bytes())
    ppi = dice.randrange(300, 360)
    pixels = art(px(126, ppi), px(66, ppi), seed)
    if kind == "rgb":
        return "colour", tiff(np.ascontiguousarray(pixels[..., :3]), "RGB", SRGB_PROFILE)
    return "colour", tiff(pixels, "CMYK", CMYK_PROFILE)


def _faulty(seed: int) -> tuple[str, bytes, FileFault]:
    dice = random.Random(seed)
    ways = {
        FileFault.TOO_FEW_PIXELS: lambda: tiff(art(px(126, 120), px(66, 120), seed), "CMYK", CMYK_PROFILE),
        FileFault.FEW_PIXELS: lambda: tiff(art(px(126, 200), px(66, 200), seed), "CMYK", CMYK_PROFILE),
        FileFault.NO_BLEED: lambda: tiff(art(px(120), px(60), seed), "CMYK", CMYK_PROFILE),
        FileFault.WRONG_PROPORTIONS: lambda: tiff(art(px(126), px(90), seed), "CMYK", CMYK_PROFILE),
        FileFault.NO_PROFILE: lambda: tiff(art(px(126), px(66), seed), "CMYK", None),
        FileFault.SEE_THROUGH: lambda: tiff(art(px(126), px(66), seed), "RGBA", SRGB_PROFILE),
        FileFault.TOO_MUCH_INK: lambda: tiff(_flooded(seed, dice), "CMYK", CMYK_PROFILE),
        FileFault.THIN_FOUR_INK_BLACK: lambda: tiff(_rich_line(seed), "CMYK", CMYK_PROFILE),
    }
    code = list(ways)[seed % len(ways)]
    return "colour", ways[code](), code


def _flooded(seed: int, dice: random.Random) -> np.ndarray:
    pixels = art(px(126), px(66), seed)
    y, x = dice.randrange(400), dice.randrange(1000)
    pixels[y : y + dice.randrange(70, 200), x : x + dice.randrange(70, 200)] = 235
    return pixels


def _rich_line(seed: int) -> np.ndarray:
    pixels = art(px(126), px(66), seed, 60)
    pixels[300:306, 100:1200] = (180, 140, 120, 255)
    return pixels


def _told(cast, stage: str, data: bytes, folder: Path) -> dict[FileFault, Weight]:
    """Hold a file against its piece by the code that draft and table use, its inks measured as the worker does."""
    path = folder / "art.tif"
    path.write_bytes(data)
    facts = examine(path)
    passage = cast.passage("Pages 4–5", stage)
    picture = Picture(state="ready", width_px=facts.width_px, height_px=facts.height_px, sha256="0" * 64)
    picture.facts = {"kind": facts.kind, "mode": facts.mode, "bits": facts.bits, "profile_name": facts.profile_name}
    book_print = print_of(cast.book)
    ink = inks_of(path, facts.width_px / SPREAD_MM[0], book_print.limits) if facts.mode == "CMYK" else None
    checked = check_picture(picture, passage, InkKnown(ink))
    return {fault.code: fault.weight for fault in checked.report.faults}


@pytest.mark.slow
def test_forty_clean_files_raise_no_alarm_and_forty_faulty_ones_all_do(cast, tmp_path):
    """Generated from seeds used nowhere else; remarks are for the printer to know, and no alarm."""
    for seed in range(900, 940):
        stage, data = _clean(seed)
        alarms = {code for code, weight in _told(cast, stage, data, tmp_path).items() if weight != Weight.REMARK}
        assert not alarms, (seed, stage, alarms)
    seen = set()
    for seed in range(940, 980):
        stage, data, code = _faulty(seed)
        assert code in _told(cast, stage, data, tmp_path), (seed, code)
        seen.add(code)
    assert len(seen) == 8


def _luminance(colour: str) -> float:
    """Relative luminance after WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: float, two: float) -> float:
    light, dark = max(one, two), min(one, two)
    return (light + 0.05) / (dark + 0.05)


def test_one_line_of_a_guide_stands_out_three_to_one_of_any_art():
    tokens = (ROOT / "static/css/tokens.css").read_text()
    guides = (ROOT / "static/css/parts/guides.css").read_text()
    blue = re.search(r"--blue: (#\w{6})", tokens)[1]
    assert re.search(r"\.guide-under \{ stroke: #000; stroke-opacity: 1;", guides)
    assert re.search(r"\.guide \{ stroke: var\(--blue\); stroke-opacity: 1;", guides)
    dark, light = 0.0, _luminance(blue)
    assert _contrast(dark, light) >= 3
    worst = min(max(_contrast(step / 1000, dark), _contrast(step / 1000, light)) for step in range(1001))
    assert worst >= 3


def test_nobody_elses_draft_is_shown_on_its_page(client, cast):
    in_draft(cast, "colour", tiff(art(px(126), px(66), 9), "CMYK", CMYK_PROFILE))
    address = reverse("reviews:check-draft", args=[cast.passage("Pages 4–5", "colour").pk])
    sign_in(client, cast.editor.person)
    assert client.get(address).status_code in {403, 404}
    assert not Picture.objects.exclude(hand_in__state=HandInState.DRAFT).exists()


CHANGED = {"kind": "TIFF", "mode": "RGB", "bits": 8, "profile_name": "sRGB"}


@pytest.mark.parametrize(
    ("stage", "facts", "looked"),
    [
        ("ideas", {}, "pixels at print size, profile"),
        ("sketch", {}, "pixels at print size, proportions, profile"),
        ("sketch", {"mode": "GREY"}, "pixels at print size, proportions"),
        ("sketch", {"kind": "PDF"}, "proportions"),
        ("ideas", {"kind": "PDF"}, ""),
        ("colour", {}, "pixels at print size, proportions, bleed, colour space, profile, bits"),
        ("colour", {"kind": "PDF"}, "proportions"),
        ("finish", {"mode": "GREY"}, "pixels at print size, proportions, bleed, bits"),
    ],
)
def test_no_more_is_said_to_be_looked_at_than_would_have_been_told(stage, facts, looked):
    kinds = [StageKind.IDEAS, StageKind.SKETCH, StageKind.COLOUR, StageKind.FINISH]
    plan = tuple(PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2) for kind in kinds)
    cast = gather(a_book(inside=plan))
    passage = cast.passage("Pages 4–5", stage)
    Passage.objects.filter(pk=passage.pk).update(state="drawing")
    handed_in(passage, cast.illustrator, [1])
    picture = Picture.objects.get(hand_in__passage=passage)
    picture.facts = CHANGED | facts
    checked = check_picture(picture, Passage.objects.with_places().get(pk=passage.pk))
    told = looked_at(checked.report, checked.told)
    if looked:
        assert told == f"Looked at: {looked}. Nothing else."
    else:
        assert told == "Nothing was looked at in this file for print."
    if facts.get("kind") == "PDF":
        assert NotLooked.PDF_PIXELS in checked.report.not_looked
