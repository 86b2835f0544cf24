"""A spot channel of the art's own file is told as the plate of a finish, measured, and held against the press."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
import tifffile
from django.urls import reverse

from reviews.actions.plates import tell_plate
from reviews.actions.taken_faults import take_on_fault
from reviews.models import LedgerEntry, Passage, Picture, PlateCheck, PlateTold
from reviews.pages.plates import plates_shown
from reviews.pages.print_sheet import sheet_of
from reviews.pages.wording.ledger import sentence
from reviews.press.finish import Finish, Metal, PlateWay
from reviews.queries.held_check import check_held
from reviews.queries.stoppers import art_of_proof, held_by_stoppers
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Deed, Gate, Refused, Role, StageKind
from tests.cast import gather, sign_in
from tests.imaging.plate_files import CUT, channel_resources
from tests.letter_scene import answered, sent
from tests.makers import a_book, handed_in
from tests.views.test_delivery import fetch, opened
from tests.views.test_on_page import CMYK_PROFILE, SMALL, art, check_page, handed, in_draft, px, table
from tests.views.test_plates import measured, tell

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.PROOF)
)
SIZE = (px(126), px(66))
GOLD = ("Gold", 2, (0, 65535, 50000, 0, 0))
GLOSS = ("Gloss", 2, (0, 0, 40000, 65535, 0))


def discs() -> np.ndarray:
    """Draw a plate, 255 where there is finish, clear of the fold in the middle."""
    plate = np.zeros(SIZE[::-1], np.uint8)
    cv2.circle(plate, (300, 250), 110, 255, -1)
    cv2.circle(plate, (1150, 500), 150, 255, -1)
    return plate


def with_channels(*plates: np.ndarray, names=(GOLD, GLOSS)) -> bytes:
    """Write a CMYK file that holds plates beyond its inks, as drawing programs do."""
    out, named = io.BytesIO(), channel_resources(*names[: len(plates)])
    tifffile.imwrite(
        out, np.dstack([art(*SIZE, 51), *plates]), photometric="separated", planarconfig="contig",
        extrasamples=("unspecified",) * len(plates), compression="zlib", iccprofile=CMYK_PROFILE,
        extratags=[(34377, 7, len(named), named, True)],
    )  # fmt: skip
    return out.getvalue()


@pytest.fixture
def cast():
    return gather(a_book(inside=STAGES, **SMALL))


def colour(cast) -> Passage:
    return cast.passage("Pages 4–5", "colour")


def proof(cast) -> Passage:
    return cast.passage("Pages 4–5", "proof")


def of_file(cast, *plates: np.ndarray, is_handed: bool = True, **names) -> Picture:
    picture = in_draft(cast, "colour", with_channels(*plates, **names))
    if is_handed:
        handed(picture, cast)
    return picture


def told(cast, picture: Picture, channel: int | None = 0, by=None, **changes) -> PlateTold:
    what = {"finish": Finish.FOIL, "way": PlateWay.OVERPRINT, "metal": Metal.GOLD} | changes
    return tell_plate(picture.pk, **what, channel=channel, actor=by or cast.production)


def to_the_proof(cast) -> None:
    answered(cast, colour(cast), "approve")
    sent(cast)
    handed_in(proof(cast), cast.production, [3])


def shown(cast, picture: Picture):
    return plates_shown([picture], colour(cast), cast.production)


def test_a_spot_plate_is_told_measured_and_shown_in_register_with_its_own_file(
    client, cast, django_assert_max_num_queries
):
    picture = of_file(cast, discs())
    sign_in(client, cast.production.person)
    page = table(client, colour(cast))
    assert "Spot plate of the art" in page and "<h3>Gold</h3>" in page
    assert "Nobody has told what this plate is for" in page and not PlateCheck.objects.exists()
    page = " ".join(tell(client, picture, channel="0").content.decode().split())
    assert "It is told. The spot plate is being measured." in page and "The plate is being measured." in page
    assert "A channel of Colour, hand-in 1, art.tif" in page
    measured()
    with django_assert_max_num_queries(12):
        client.get(reverse("reviews:passage", args=[colour(cast).pk]))
    for seat in (cast.production, cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        page = table(client, colour(cast))
        area = round((discs() > 127).mean() * 126 * 66 / 100, 1)
        assert f"Finished area: {area:g} cm²" in page
        assert "in one file with the art, so it lies as the file has it" in page and "no shift of" not in page
        assert "300 ppi at print size, as the art has; 600 ppi or more" in page
    assert "smallest gap and folds. Nothing else" in page and "which way round" in page
    entry = LedgerEntry.objects.get(deed=Deed.TELL_PLATE)
    assert "what the spot plate “Gold” in art.tif of Pages 4–5, colour is for: gold foil" in sentence(entry.as_entry())
    assert not check_held(cast.book).faults
    [plate] = shown(cast, picture)
    assert plate.look is not None and plate.look.is_sheet and plate.look.plate_url.endswith("/plates/1.png")


def test_a_plate_is_measured_alike_whichever_way_round_its_file_stores_it(cast):
    areas = []
    for plate in (discs(), 255 - discs()):
        picture = of_file(cast, plate, is_handed=False)
        told(cast, picture, by=cast.illustrator)
        measured()
        areas.append(PlateCheck.objects.get(sha256=picture.sha256).result["area"])
    assert areas[0] == areas[1] == pytest.approx((discs() > 127).mean())


def test_what_is_wrong_with_a_spot_plate_is_told_with_where_and_of_that_plate_alone(client, cast):
    wrong = discs()
    cv2.line(wrong, (700, 100), (900, 130), 255, 1)  # 0.08 mm
    wrong[30:150, 900:1100] = 120  # a tint
    cv2.rectangle(wrong, (SIZE[0] // 2 - 100, 650), (SIZE[0] // 2 - 5, 700), 255, -1)  # stops beside the fold
    picture = of_file(cast, discs(), wrong)
    told(cast, picture)
    told(cast, picture, 1, finish=Finish.SPOT_VARNISH, metal=None, way=PlateWay.KNOCK_OUT)
    measured()
    clean, faulty = shown(cast, picture)
    assert [words[:8] for words in clean.faults] == ["300 ppi "]
    said = " ".join(faulty.faults)
    assert "thinner than 0.38 mm" in said and "neither bare nor full" in said and "1.5 mm of a fold" in said
    assert faulty.told.startswith("spot varnish, on bare paper") and len(faulty.places) >= 2


def test_a_stopper_of_a_spot_plate_holds_the_proof_up_until_it_is_taken_on(client, cast):
    tinted = discs()
    tinted[30:150, 900:1100] = 120
    picture = of_file(cast, tinted, tinted)
    for channel in (0, 1):
        told(cast, picture, channel)
    measured()
    to_the_proof(cast)
    stoppers = art_of_proof(proof(cast)).stoppers
    assert [one.code for one in stoppers] == ["plate-tones.0", "plate-tones.1"]
    sign_in(client, cast.art_director.person)
    page = table(client, proof(cast))
    assert "Spot plate “Gold”:" in page and "Spot plate “Gloss”:" in page and "neither bare nor full" in page
    with pytest.raises(Refused, match="stopper-open"):
        answered(cast, proof(cast), "approve")
    for n, stopper in enumerate(stoppers):
        assert held_by_stoppers([proof(cast)]) == {proof(cast).pk}, "one name stands under one plate"
        take_on_fault(
            proof(cast).pk, picture_id=picture.pk, code=stopper.code, seen=stopper.seen, reason=f"Shown {n}.",
            actor=cast.art_director,
        )  # fmt: skip
    assert held_by_stoppers([proof(cast)]) == set() and not check_held(cast.book).faults
    entry = LedgerEntry.objects.filter(deed=Deed.TAKE_ON_FAULT).last().as_entry()
    assert "Spot plate “Gloss”:" in sentence(entry) and "Shown 1." in sentence(entry)
    answered(cast, proof(cast), "approve")


def test_a_spot_plate_nobody_told_of_is_named_before_the_proof_and_is_no_stopper(client, cast):
    of_file(cast, discs())
    to_the_proof(cast)
    found = art_of_proof(proof(cast))
    assert found.stoppers == [] and "spot-untold" in [code for one in found.unlooked for code in one.missed]
    sign_in(client, cast.art_director.person)
    assert "nobody has told what it is for, so nothing was measured on it" in table(client, proof(cast))


def test_print_sheet_and_delivery_say_that_the_arts_own_file_holds_the_plate(client, cast):
    def said() -> str:
        return " ".join(line for piece in sheet_of(cast.book, [], with_letters=True).pieces for line in piece.said)

    picture = of_file(cast, discs())
    to_the_proof(cast)
    sign_in(client, cast.production.person)
    assert "Spot plate “Gold” in this file: nobody has told what it is for" in said()
    with opened(fetch(client, cast)) as folder:
        assert "spot plate “Gold”: not told what it is for" in folder.read("manifest.txt").decode()
    told(cast, picture)
    assert "Spot plate “Gold” in this file: gold foil" in said() and "The plate was not measured." in said()
    measured()
    assert "There is no second file" in said() and "Finished area:" in said() and "The plate was not" not in said()
    with opened(fetch(client, cast)) as folder:
        names = [name for name in folder.namelist() if name.endswith(".tif")]
        note, line = folder.read("manifest.txt").decode().splitlines()
        assert len(names) == 1 and line == f"{picture.sha256}  {names[0]}"
        assert note.startswith(f"# {names[0]}: spot plate “Gold”: gold foil") and "there is no second file" in note


def test_a_newer_version_of_the_art_is_told_of_anew(cast):
    first = of_file(cast, discs())
    told(cast, first)
    other = of_file(cast, np.roll(discs(), 20, axis=0))
    assert [one.state for one in shown(cast, first)] == ["waits"] and [one.state for one in shown(cast, other)] == [
        "untold"
    ]
    told(cast, other)
    assert PlateTold.objects.count() == 2
    with pytest.raises(Refused, match="nothing-changed"):
        told(cast, other)


@pytest.mark.parametrize("channel", [1, 7, None])
def test_a_mask_or_a_channel_that_is_not_there_or_the_art_itself_is_no_plate(client, cast, channel):
    picture = of_file(cast, discs(), discs(), names=(GOLD, CUT))
    assert [one.name for one in shown(cast, picture)] == ["Gold"]
    sign_in(client, cast.production.person)
    answer = tell(client, picture, **({} if channel is None else {"channel": channel}))
    assert "no plate of a finish" in answer.content.decode() and not PlateTold.objects.exists()
    assert "no plate of a finish" in tell(client, picture, channel="two").content.decode()


@pytest.mark.parametrize("role", [Role.EDITOR, Role.AGENT])
def test_who_neither_makes_nor_prints_it_reads_of_spot_plates_and_tells_nothing(client, cast, role):
    picture = of_file(cast, discs())
    sign_in(client, cast.seat(role).person)
    assert "Tell and measure it" not in table(client, colour(cast))
    assert tell(client, picture, channel="0").status_code == 403 and not PlateTold.objects.exists()


def test_what_a_spot_plate_is_for_at_a_stage_of_the_studio_stays_in_the_studio(client, cast):
    passage = colour(cast)
    passage.stage.gate = Gate.HIDDEN
    passage.stage.save(update_fields=["gate"])
    picture = of_file(cast, discs())
    told(cast, picture, by=cast.illustrator)
    assert LedgerEntry.objects.get(deed=Deed.TELL_PLATE).sight == "illustrator"


def test_a_spot_plate_of_a_draft_is_told_of_before_it_is_handed_in_by_its_maker_alone(client, cast):
    picture = of_file(cast, discs(), is_handed=False)
    sign_in(client, cast.production.person)
    assert tell(client, picture, channel="0").status_code == 404
    sign_in(client, cast.illustrator.person)
    assert "Tell what it is for" in check_page(client, cast, "colour")
    told(cast, picture, by=cast.illustrator)
    assert "data-waits" in check_page(client, cast, "colour")
    measured()
    page = check_page(client, cast, "colour")
    assert "data-waits" not in page and "Finished area:" in page
    assert LedgerEntry.objects.get(deed=Deed.TELL_PLATE).sight == "illustrator"
