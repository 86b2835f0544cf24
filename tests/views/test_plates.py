"""Plates of a special finish: told what they are for, bound to a version of the art, measured, and shown over it."""

from __future__ import annotations

import io
from dataclasses import replace

import cv2
import numpy as np
import pytest
from django.urls import reverse
from PIL import Image

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.actions.plates import tell_plate
from reviews.actions.print_checks import ask_where_nobody_asked
from reviews.models import Job, LedgerEntry, Passage, Picture, PlateCheck, PlateTold
from reviews.pages.plates import plates_shown
from reviews.pages.print_sheet import sheet_of
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.plates import fault, looked_words
from reviews.press.finish import (
    FINISH_LIMITS,
    Finish,
    FoundPlateFault,
    Metal,
    PlateFault,
    PlateFound,
    PlateWay,
    Shift,
)
from reviews.queries.held_check import check_held
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Deed, Gate, PictureState, Refused, Role, StageKind
from reviews.tasks.pictures import read_picture
from reviews.tasks.plates import measure_plate
from tests.cast import gather, sign_in
from tests.letter_scene import answered, sent
from tests.makers import a_book
from tests.views.test_on_page import CMYK_PROFILE, SMALL, art, check_page, handed, in_draft, px, table, tiff
from tests.views.test_print_set_up import send

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.FINISH)
)
SIZE = (px(126, 600), px(66, 600))  # with its bleed, at the resolution of a plate


def shapes() -> np.ndarray:
    """Draw the plate, white where there is finish: two discs and a star away from the fold in the middle."""
    plate = np.zeros(SIZE[::-1], np.uint8)
    cv2.circle(plate, (600, 500), 220, 255, -1)
    cv2.circle(plate, (2300, 1000), 300, 255, -1)
    star = [
        (900 + (300 if n % 2 else 150) * np.cos(n * np.pi / 5), 1100 + (300 if n % 2 else 150) * np.sin(n * np.pi / 5))
        for n in range(10)
    ]
    cv2.fillPoly(plate, [np.round(star).astype(np.int32)], 255)
    return plate


def png(plate: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(255 - plate, "L").save(out, "PNG")
    return out.getvalue()


def drawn() -> bytes:
    """Paint the art, with the plate's shapes in light ink."""
    inks = np.ascontiguousarray(art(*SIZE, 41))
    inks[shapes() > 127] = (10, 20, 90, 0)
    return tiff(inks, "CMYK", CMYK_PROFILE)


@pytest.fixture
def cast():
    cast = gather(a_book(inside=STAGES, **SMALL))
    passage = handed(in_draft(cast, "colour", drawn()), cast)
    answered(cast, passage, "approve")
    sent(cast)
    return cast


def finish(cast) -> Passage:
    return cast.passage("Pages 4–5", "finish")


def plate_of(cast, picture: np.ndarray, *, is_handed: bool = True) -> Picture:
    made = in_draft(cast, "finish", png(picture), name="foil.png")
    if is_handed:
        handed(made, cast)
    return made


def told(cast, picture: Picture, by=None, **changes) -> PlateTold:
    what = {"finish": Finish.FOIL, "way": PlateWay.OVERPRINT, "metal": Metal.GOLD} | changes
    return tell_plate(picture.pk, **what, actor=by or cast.production)


def measured() -> None:
    for job in Job.objects.filter(kind=jobs.PLATE_CHECK):
        measure_plate(Claim(job_id=job.pk, kind=job.kind, subject_id=job.subject_id, key=job.key, attempt=1, token=""))


def tell(client, picture: Picture, **changes):
    data = {"finish": "foil", "way": "overprint", "metal": "gold"} | changes
    return client.post(reverse("reviews:tell-plate", args=[picture.pk]), data, follow=True)


def moved(plate: np.ndarray, right_mm: float) -> np.ndarray:
    return np.roll(plate, px(right_mm, 600), axis=1)


def test_nothing_is_measured_or_said_to_be_until_somebody_tells_what_it_is_for(client, cast):
    picture = plate_of(cast, shapes())
    sign_in(client, cast.production.person)
    page = table(client, finish(cast))
    assert "Nobody has told what this plate is for, so nothing was measured on it." in page
    assert "Nothing was found against it. Finished" not in page and not PlateCheck.objects.exists()
    page = " ".join(tell(client, picture).content.decode().split())
    assert "Gold foil, over the printed art (overprint)" in page and "The plate is being measured." in page
    assert "Bound to Colour, hand-in 1, art.tif" in page
    entry = LedgerEntry.objects.get(deed=Deed.TELL_PLATE)
    assert "tells what the plate foil.png of Pages 4–5, special finish is for: gold foil" in sentence(entry.as_entry())
    assert not check_held(cast.book).faults


def test_a_clean_plate_in_register_has_its_area_and_no_fault(client, cast, django_assert_max_num_queries):
    told(cast, plate_of(cast, shapes()))
    measured()
    for seat in (cast.art_director, cast.illustrator):
        sign_in(client, seat.person)
        page, path = table(client, finish(cast)), reverse("reviews:passage", args=[finish(cast).pk])
        with django_assert_max_num_queries(12):
            client.get(path)
    area = (shapes() > 127).mean() * 126 * 66 / 100
    assert f"Finished area: {round(area, 1):g} cm²" in page
    assert "Register: no shift of 0.05 mm or more was found" in page and "mm off the art" not in page
    [plate] = plates_shown(list(Picture.objects.filter(hand_in__passage=finish(cast))), finish(cast), cast.illustrator)
    assert plate.state == "known" and plate.faults == ()
    assert "thinnest line, smallest gap, folds and register. Nothing else" in page and "the printer" in page.lower()
    for word in ("print-ready", "ready for print", "certified"):
        assert word not in page


def test_what_is_wrong_with_a_plate_is_told_with_where(client, cast):
    wrong = moved(shapes(), 0.6)
    cv2.line(wrong, (1700, 200), (2300, 260), 255, 2)  # a line of 0.08 mm
    wrong[60:300, 1800:2200] = 120  # a tint
    cv2.rectangle(wrong, (SIZE[0] // 2 - 200, 1300), (SIZE[0] // 2 - 10, 1400), 255, -1)  # stops beside the fold
    told(cast, plate_of(cast, wrong))
    measured()
    sign_in(client, cast.art_director.person)
    page = table(client, finish(cast))
    assert "thinner than 0.2 mm" in page and "neither bare nor full" in page and "1.5 mm of a fold" in page
    assert "mm off the art" in page and "0.6" in page and "to the right" in page
    [plate] = plates_shown(list(Picture.objects.filter(hand_in__passage=finish(cast))), finish(cast), cast.art_director)
    assert len(plate.places) >= 2 and 'class="fault-line"' in page


def test_a_plate_over_art_that_draws_nothing_of_it_has_no_register_and_says_so(client, cast):
    elsewhere = cv2.flip(shapes(), -1)
    told(cast, plate_of(cast, elsewhere), finish=Finish.SPOT_VARNISH, metal=None)
    measured()
    sign_in(client, cast.production.person)
    page = table(client, finish(cast))
    assert "Looked at: size, 0 or 100 %, thinnest line, smallest gap and folds. Nothing else" in page
    assert "Register was not measured" in page and "off the art" not in page
    assert PlateTold.objects.get().metal == ""


def test_a_plate_stays_bound_to_the_art_it_was_made_for_and_the_page_says_when_that_is_old(client, cast):
    told(cast, plate_of(cast, shapes()))
    measured()
    sign_in(client, cast.production.person)
    before = table(client, finish(cast))
    assert "Another version of the art is approved now" not in before
    other = in_draft(cast, "colour", tiff(art(px(126), px(66), 42), "CMYK", CMYK_PROFILE), name="newer.tif")
    handed(other, cast)
    Passage.objects.filter(pk=cast.passage("Pages 4–5", "colour").pk).update(
        approved_picture=other, approved_sha256=other.sha256, state="approved"
    )
    page = table(client, finish(cast))
    [sheet] = [
        piece for piece in sheet_of(cast.book, [], with_letters=True).pieces if piece.where == finish(cast).where
    ]
    assert any("Another version of the art is approved now" in line for line in sheet.said)
    assert not any("Nothing was found against the plate" in line for line in sheet.said)
    clean = "Nothing was found against it."
    assert page.count(clean) == before.count(clean) - 1, "nothing is said for the plate; the file is what it was"
    assert "Another version of the art is approved now" in page and "hand-in 1, art.tif" in page
    with pytest.raises(Refused, match="nothing-changed"):
        told(cast, PlateTold.objects.get().picture, metal=Metal.GOLD) and told(cast, PlateTold.objects.get().picture)
    assert PlateTold.objects.get().art_id == other.pk


@pytest.mark.parametrize("role", [Role.EDITOR, Role.AGENT])
def test_who_neither_makes_nor_prints_it_reads_and_tells_nothing(client, cast, role):
    picture = plate_of(cast, shapes())
    sign_in(client, cast.seat(role).person)
    assert "Tell and measure it" not in table(client, finish(cast))
    assert tell(client, picture).status_code == 403 and not PlateTold.objects.exists()


def test_a_draft_is_told_of_by_its_maker_alone_and_nobody_else_learns_of_it(client, cast):
    picture = plate_of(cast, shapes(), is_handed=False)
    sign_in(client, cast.production.person)
    assert tell(client, picture).status_code == 404
    told(cast, picture, by=cast.illustrator)
    entry = LedgerEntry.objects.get(deed=Deed.TELL_PLATE)
    assert entry.sight == "illustrator"


@pytest.mark.parametrize("changes", [{"finish": "glitter"}, {"way": ""}, {"metal": "lead"}])
def test_what_is_no_finish_is_refused_in_words(client, cast, changes):
    picture = plate_of(cast, shapes())
    sign_in(client, cast.production.person)
    answer = tell(client, picture, **changes)
    assert "no plate of a finish" in answer.content.decode() and not PlateTold.objects.exists()


def test_a_plate_told_before_it_or_its_art_is_read_is_measured_once_both_are(client, cast):
    picture = plate_of(cast, shapes(), is_handed=False)
    for late in (picture, Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour"))):
        PlateTold.objects.all().delete()
        PlateCheck.objects.all().delete()
        Job.objects.filter(kind=jobs.PLATE_CHECK).delete()
        Picture.objects.filter(pk=late.pk).update(state=PictureState.RECEIVED)
        told(cast, picture, by=cast.illustrator)
        assert not PlateCheck.objects.exists()
        read_picture(Claim(job_id=0, kind=jobs.RENDITIONS, subject_id=late.pk, key="", attempt=1, token=""))
        assert PlateCheck.objects.get().result is None
    measured()
    assert PlateCheck.objects.get().result is not None


def test_a_plate_nobody_asked_for_is_not_said_to_be_being_measured_and_is_asked_for_by_the_day(client, cast):
    told(cast, plate_of(cast, shapes()))
    sign_in(client, cast.production.person)
    assert "The plate is being measured." in table(client, finish(cast))
    PlateCheck.objects.all().delete()
    page = table(client, finish(cast))
    assert "The plate was not measured." in page and "being measured" not in page
    assert ask_where_nobody_asked() == 1 and ask_where_nobody_asked() == 0
    assert "The plate is being measured." in table(client, finish(cast))


def test_the_check_of_a_draft_asks_again_while_its_plate_is_being_measured(client, cast):
    picture = plate_of(cast, shapes(), is_handed=False)
    sign_in(client, cast.illustrator.person)
    assert "data-waits" not in check_page(client, cast, "finish")
    told(cast, picture, by=cast.illustrator)
    page = check_page(client, cast, "finish")
    assert "The plate is being measured." in page and "data-waits" in page
    measured()
    assert "data-waits" not in check_page(client, cast, "finish")


def test_art_is_no_plate_and_a_plate_without_approved_art_lies_on_nothing(client, cast):
    sign_in(client, cast.production.person)
    colour = Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour"))
    assert "no plate of a finish" in tell(client, colour).content.decode()
    picture = plate_of(cast, shapes())
    Passage.objects.filter(pk=cast.passage("Pages 4–5", "colour").pk).update(approved_picture=None, state="answering")
    assert "No art of this spread is approved yet" in tell(client, picture).content.decode()


def test_what_was_looked_at_is_told_of_this_plate_and_not_of_plates():
    plate = {"width_px": 9, "height_px": 9, "area": 0.1, "tones": 0.0}
    found = PlateFound(**plate, thin_places=(), gap_places=(), fold_places=(), looked_for_folds=False)
    foil = FINISH_LIMITS[Finish.FOIL]
    said = looked_words(found, foil, 24.0)
    assert "thinnest line and smallest gap. Nothing else" in said and "register" not in said
    assert "folds were not looked for" in said
    assert "It is not recorded whether folds were" in looked_words(replace(found, looked_for_folds=None), foil, 24.0)
    assert looked_words(replace(found, looked_for_folds=True, shift=Shift(0.0, 0.0)), foil, 24.0) == (
        "Looked at: size, 0 or 100 %, thinnest line, smallest gap, folds and register. Nothing else: not which inks "
        "lie beneath."
    )


@pytest.mark.parametrize(
    ("ppi", "line", "gap"), [(600, True, True), (300, True, True), (150, False, True), (72, False, False)]
)
def test_a_line_too_fine_for_the_pixels_of_a_plate_is_not_said_to_be_looked_for(ppi, line, gap):
    plate = {"width_px": 9, "height_px": 9, "area": 0.1, "tones": 0.0}
    found = PlateFound(**plate, thin_places=(), gap_places=(), fold_places=(), looked_for_folds=True)
    said = looked_words(found, FINISH_LIMITS[Finish.FOIL], ppi / 25.4)
    assert ("thinnest line" in said) is line and ("a line of 0.2 mm: none was looked for" in said) is not line
    assert ("smallest gap" in said) is gap and ("a gap of 0.5 mm: none was looked for" in said) is not gap


def test_as_many_places_as_are_kept_are_said_to_be_so_many_or_more():
    thin = [FoundPlateFault(PlateFault.THIN_LINE, {"least": 0.2, "n": n}) for n in (1, 59, 60)]
    said = [fault(one, FINISH_LIMITS[Finish.FOIL]) for one in thin]
    assert said[0].startswith("1 place is") and said[1].startswith("59 places are")
    assert said[2].startswith("60 or more places are")


def test_the_print_sheet_tells_of_the_plate_what_its_page_tells_and_no_more(cast):
    def said() -> str:
        return " ".join(line for piece in sheet_of(cast.book, [], with_letters=True).pieces for line in piece.said)

    picture = plate_of(cast, shapes())
    assert "Nobody has told what this plate is for" in said()
    told(cast, picture)
    assert "Plate: gold foil" in said() and "The plate was not measured." in said()
    assert "Nothing was found against the plate" not in said()
    measured()
    art_sha256 = PlateTold.objects.get().art.sha256
    assert "Another version of the art" not in said()
    assert f"SHA-256 {art_sha256}" in said() and "Nothing was found against the plate." in said()
    assert "Finished area:" in said() and "no shift of 0.05 mm or more" in said()


def test_a_printers_own_thinnest_line_is_measured_anew_and_named_as_theirs(client, cast):
    plate = shapes()
    plate[1400:1412, 300:700] = 255  # 12 px at 600 ppi: half a millimetre
    picture = plate_of(cast, plate)
    told(cast, picture)
    measured()
    sign_in(client, cast.production.person)
    assert "may not hold" not in table(client, finish(cast))
    assert send(client, cast.book, **{"figure_foil-line": "0.8"}).status_code == 302
    assert "may not hold" not in table(client, finish(cast)), "nothing is said before it is measured"
    measured()
    page = table(client, finish(cast))
    assert "thinner than 0.8 mm, which may not hold (your printer’s own figure)" in page
    assert PlateCheck.objects.count() == 2
