"""What is wrong with a finish plate stands under "Before OK to print", and a stopper of it holds the proof up."""

from __future__ import annotations

import cv2
import pytest
from django.urls import reverse

from reviews.actions.plates import tell_plate
from reviews.actions.taken_faults import take_on_fault
from reviews.models import LedgerEntry, Passage, Picture, PlateCheck, PlateTold
from reviews.pages.print_sheet import sheet_of
from reviews.pages.wording.ledger import sentence
from reviews.press.finish import PLATE_WEIGHTS, Finish, Metal, PlateFault, PlateWay
from reviews.queries.held_check import check_held
from reviews.queries.stoppers import art_of_proof, held_by_stoppers
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Deed, Gate, Refused, StageKind
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, sent
from tests.makers import a_book, handed_in
from tests.views.test_on_page import SMALL, handed, in_draft, table
from tests.views.test_plates import SIZE, measured, moved, png, shapes
from tests.views.test_print_set_up import send

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.FINISH, StageKind.PROOF)
)
CLEAN = {"kind": "TIFF", "mode": "GREY", "bits": 8, "profile_name": "Dot Gain"}
FOUND = {
    "width_px": SIZE[0], "height_px": SIZE[1], "area": 0.1, "tones": 0.0, "thin_places": [], "gap_places": [],
    "fold_places": [], "shift": {"right_mm": 0.0, "down_mm": 0.0}, "looked_for_folds": True,
}  # fmt: skip


@pytest.fixture
def cast():
    """A spread whose art and plate are approved and whose proof is out; the art is of its size and faultless."""
    cast = gather(a_book(inside=STAGES, **SMALL))
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    Picture.objects.filter(hand_in__passage=cast.passage("Pages 4–5", "colour")).update(
        facts=CLEAN, width_px=SIZE[0], height_px=SIZE[1]
    )
    return cast


def with_plate(cast, *, tell: bool = True, **found) -> Picture:
    """Approve a plate of which so much was found, and hand the proof in."""
    finish = cast.passage("Pages 4–5", "finish")
    handed_in(finish, cast.illustrator, [2])
    picture = Picture.objects.get(hand_in__passage=finish)
    Picture.objects.filter(pk=picture.pk).update(facts=CLEAN, width_px=SIZE[0], height_px=SIZE[1])
    if tell:
        tell_plate(picture.pk, finish=Finish.FOIL, way=PlateWay.OVERPRINT, metal=Metal.GOLD, actor=cast.production)
        PlateCheck.objects.update(result=FOUND | found)
    answered(cast, finish, "approve")
    sent(cast)
    handed_in(proof(cast), cast.production, [3])
    return picture


def proof(cast) -> Passage:
    return cast.passage("Pages 4–5", "proof")


def codes(cast) -> tuple[list[str], list[str], list[str]]:
    art = art_of_proof(proof(cast))
    missed = [str(code) for one in art.unlooked for code in one.missed]
    return [one.code for one in art.stoppers], [str(one.fault.code) for one in art.cautions], missed


def test_a_plate_without_fault_holds_nothing_up_and_is_vouched_for_by_no_word(client, cast):
    with_plate(cast)
    assert codes(cast)[:2] == ([], []) and not [code for code in codes(cast)[2] if "plate" in code]
    assert held_by_stoppers([proof(cast)]) == set()
    answered(cast, proof(cast), "approve")


@pytest.mark.parametrize(
    ("found", "code", "words"),
    [
        ({"area": 0.0}, "plate-empty", "The plate is empty"),
        ({"tones": 0.2}, "plate-tones", "neither bare nor full"),
        ({"height_px": SIZE[1] // 2}, "plate-other-size", "other proportions than its art"),
        ({"shift": {"right_mm": 0.9, "down_mm": 0.0}}, "plate-off-register", "0.9 mm off the art"),
    ],
)
def test_a_plate_that_cannot_be_made_is_named_and_no_ok_is_given_over_it(client, cast, found, code, words):
    with_plate(cast, **found)
    assert codes(cast)[0] == [code] and held_by_stoppers([proof(cast)]) == {proof(cast).pk}
    sign_in(client, cast.art_director.person)
    page = table(client, proof(cast))
    assert "Before “OK to print”" in page and "<b>Stopper:</b>" in page and words in page
    with pytest.raises(Refused, match="stopper-open"):
        answered(cast, proof(cast), "approve")


def test_what_wants_the_finishers_word_is_named_and_holds_nothing_up(client, cast):
    with_plate(cast, thin_places=[[0.1, 0.1, 0.2, 0.2]], gap_places=[[0.5, 0.5, 0.6, 0.6]], width_px=600, height_px=314)
    assert codes(cast)[:2] == ([], ["few-pixels", "thin-line", "small-gap"])
    sign_in(client, cast.art_director.person)
    page = table(client, proof(cast))
    assert "<b>Caution:</b> 1 place is thinner than 0.2 mm" in page and "121 ppi at print size" in page
    answered(cast, proof(cast), "approve")


def test_a_plate_made_for_another_version_of_the_art_is_a_stopper_until_it_is_taken_on(client, cast):
    picture = with_plate(cast)
    art = Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour"))
    older = Picture.objects.get(hand_in__passage=proof(cast))
    Picture.objects.filter(pk=older.pk).update(facts=CLEAN, width_px=SIZE[0], height_px=SIZE[1])
    PlateTold.objects.filter(picture=picture).update(art=older)
    [stopper] = art_of_proof(proof(cast)).stoppers
    assert stopper.code == "plate-older-art"
    sign_in(client, cast.art_director.person)
    assert "Another version of the art is approved now" in table(client, proof(cast))
    data = {"picture": picture.pk, "code": stopper.code, "seen": stopper.seen, "reason": "Only the sky changed."}
    client.post(reverse("reviews:take-on-fault", args=[proof(cast).pk]), data)
    assert held_by_stoppers([proof(cast)]) == set()
    told = sentence(LedgerEntry.objects.get(deed=Deed.TAKE_ON_FAULT).as_entry())
    assert "Another version of the art is approved now" in told and "Only the sky changed." in told
    said = " ".join(line for piece in sheet_of(cast.book, [], with_letters=True).pieces for line in piece.said)
    assert "A stopper in" in said and "Only the sky changed." in said
    Passage.objects.filter(approved_picture=art).update(approved_sha256="c" * 64)
    Picture.objects.filter(pk=art.pk).update(sha256="c" * 64)
    assert held_by_stoppers([proof(cast)]) == {proof(cast).pk}, "one taken on for a version covers no other"


def test_what_was_not_measured_is_told_and_not_counted_as_faultless(client, cast):
    picture = with_plate(cast, tell=False)
    assert "plate-untold" in codes(cast)[2]
    sign_in(client, cast.art_director.person)
    assert "Nobody has told what this plate is for" in table(client, proof(cast))
    tell_plate(picture.pk, finish=Finish.EMBOSS, way=PlateWay.OVERPRINT, metal=None, actor=cast.production)
    assert "plate-not-yet" in codes(cast)[2]
    PlateCheck.objects.update(result={"code": "not-found"})
    assert "plate-not-read" in codes(cast)[2]
    PlateCheck.objects.update(result=FOUND | {"shift": None})
    assert "plate-register" in codes(cast)[2]
    assert "Register was not measured" in table(client, proof(cast))
    Picture.objects.filter(pk=picture.pk).update(facts=CLEAN | {"kind": "PDF"})
    assert "plate-not-laid" in codes(cast)[2]


def test_a_real_plate_askew_is_stopped_and_taken_on_with_its_figures(cast):
    finish = cast.passage("Pages 4–5", "finish")
    art = Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour"))
    plate = moved(shapes(), 0.6)
    cv2.rectangle(plate, (100, 100), (400, 300), 120, -1)
    picture = in_draft(cast, "finish", png(plate), name="foil.png")
    handed(picture, cast)
    tell_plate(picture.pk, finish=Finish.FOIL, way=PlateWay.OVERPRINT, metal=Metal.GOLD, actor=cast.production)
    measured()
    answered(cast, finish, "approve")
    sent(cast)
    handed_in(proof(cast), cast.production, [3])
    assert art.pk != picture.pk and "plate-tones" in codes(cast)[0]
    for stopper in art_of_proof(proof(cast)).stoppers:
        take_on_fault(
            proof(cast).pk, picture_id=stopper.picture.pk, code=stopper.code, seen=stopper.seen, reason="Shown.",
            actor=cast.art_director,
        )  # fmt: skip
    assert held_by_stoppers([proof(cast)]) == set() and not check_held(cast.book).faults
    assert "neither bare nor full" in sentence(LedgerEntry.objects.filter(deed=Deed.TAKE_ON_FAULT).last().as_entry())


def test_every_fault_of_a_plate_has_its_weight():
    assert set(PLATE_WEIGHTS) == set(PlateFault)


def test_a_caution_names_the_printers_own_figure_as_theirs_and_no_other(client, cast):
    sign_in(client, cast.production.person)
    assert send(client, cast.book, **{"figure_foil-line": "0.8"}).status_code == 302
    places = [[0.1, 0.1, 0.2, 0.2]]
    with_plate(cast, thin_places=places, gap_places=places, fold_places=places)
    page = table(client, proof(cast))
    assert "thinner than 0.8 mm, which may not hold (your printer’s own figure)" in page
    for published in ("1 gap is narrower than 0.5 mm", "Finish stops within 1.5 mm of a fold"):
        assert published in page
    assert page.count("your printer’s own figure") == 1, "gap and fold are held against what is published"
