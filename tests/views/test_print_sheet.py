"""The print sheet: picture, guides, faults, whose word it has with its fingerprint, taken faults, measured proofs."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest
from django.urls import reverse

from reviews.actions.clock import as_if_at
from reviews.actions.taken_faults import take_on_fault
from reviews.models import Passage, Spread
from reviews.notices.letter_paper import MARGIN, TEXT_WIDTH
from reviews.notices.print_sheet import PICTURE_HEIGHT
from reviews.pages.print_sheet import sheet_of
from reviews.press.text_blocks import MM_PER_PT
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.contract.terms import RoundGroup, StageDays
from reviews.rules.states import Gate, Role, StageKind
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, sent
from tests.makers import a_book, handed_in
from tests.tasks.test_silence import at, entries, looked
from tests.texts import a_text_block, placed
from tests.views.test_measured_proofs import AIMS, FAILS, cgats, judge
from tests.views.test_on_page import CMYK_PROFILE, SMALL, art, handed, in_draft, measured, px, tiff
from tests.views.test_stoppers import seen

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.PROOF)
)


@pytest.fixture
def cast():
    return gather(a_book(inside=STAGES, cover=STAGES, **SMALL))


def words_of(client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200 and answer["Content-Type"] == "application/pdf"
    pages = (page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(answer.content))
    return " ".join(" ".join(pages).split())


def test_a_spreads_sheet_tells_all_that_is_known_of_it(client, cast):
    pixels = art(px(126), px(66), 21, 100)
    pixels[100:400, 200:700] = 240
    passage = handed(in_draft(cast, "colour", tiff(np.ascontiguousarray(pixels), "CMYK", CMYK_PROFILE)), cast)
    measured()
    answered(cast, passage, "approve")
    sent(cast)
    proof = cast.passage("Pages 4–5", "proof")
    handed_in(proof, cast.production, [2])
    passage = Passage.objects.get(pk=passage.pk)
    take_on_fault(
        proof.pk, picture_id=passage.approved_picture_id, code="too-much-ink", seen=seen(proof),
        reason="Dried longer.", actor=cast.production,
    )  # fmt: skip
    answered(cast, proof, "approve")
    sent(cast)
    sign_in(client, cast.production.person)
    judge(client, cast, cgats(FAILS), cgats(AIMS))
    sheet = words_of(client, reverse("reviews:spread-print-sheet", args=[passage.spread_id]))
    assert "The Otter Who Kept Time, Pages 4–5" in sheet
    assert passage.approved_sha256 in sheet.replace(" ", "") and "more than 330 % ink" in sheet
    assert "OK to print, letter 2, Corvin Mallowe" in sheet
    assert "was taken on by Tamsin Garrick" in sheet and "Dried longer." in sheet
    assert "2 beyond" in sheet and "3.91, limit 3: beyond" in sheet
    assert "printer's own template and specification decide" in sheet


def test_the_text_stands_on_the_paper_where_it_was_placed(client, cast):
    passage = handed(in_draft(cast, "colour", tiff(art(px(126), px(66), 24), "CMYK", CMYK_PROFILE)), cast)
    block = a_text_block(left_mm=12.0, top_mm=10.0, width_mm=40.0, height_mm=20.0, size_pt=10.0, leading_pt=12.0)
    placed(passage, block, actor=cast.editor)
    sign_in(client, cast.illustrator.person)
    answer = client.get(reverse("reviews:spread-print-sheet", args=[passage.spread_id]))
    page = pypdfium2.PdfDocument(answer.content)[0].get_textpage()
    at, _n = page.search("Hush, said the tarn.").get_next()
    left, bottom, _right, top = page.get_charbox(at)
    mm = min(TEXT_WIDTH / 126, PICTURE_HEIGHT / 66)  # points of the paper for a millimetre of the spread, bleed and all
    assert left == pytest.approx(MARGIN + (12 + 3) * mm, abs=8) and 0 < top - bottom < 10 * MM_PER_PT * mm
    assert "Of its text: gutter band, safe area" in words_of(
        client, reverse("reviews:print-sheet", args=[cast.book.pk])
    )


def test_the_books_sheet_says_of_each_piece_that_it_is_not_approved_where_it_is_not(client, cast):
    handed(in_draft(cast, "colour", tiff(art(px(126), px(66), 22), "CMYK", CMYK_PROFILE)), cast)
    sign_in(client, cast.illustrator.person)
    sheet = words_of(client, reverse("reviews:print-sheet", args=[cast.book.pk]))
    assert sheet.count("Not approved: not to be printed.") == 8 and "Approved on" not in sheet
    assert sheet.count("Nothing was handed in yet.") == 7
    assert "No proof was measured here." in sheet and "Ink has not been measured on this file at this size yet" in sheet


def test_a_guest_and_a_stranger_get_none(client, cast):
    guest = cast.invite_guest(cast.passage("Cover", "colour"))
    spread = cast.passage("Pages 4–5", "colour").spread
    for person, status in ((guest.person, 403), (cast.stranger, 404)):
        sign_in(client, person)
        for way in (
            reverse("reviews:print-sheet", args=[cast.book.pk]),
            reverse("reviews:spread-print-sheet", args=[spread.pk]),
        ):
            assert client.get(way).status_code == status


def test_the_proof_of_another_page_is_not_on_a_sheet(client, cast):
    """“Page 1” is in “Page 16”."""
    approved(cast, cast.passage("Pages 6–7", "colour"), 1)
    first, proof = cast.passage("Pages 4–5", "colour").spread, cast.passage("Pages 6–7", "proof")
    last = proof.spread
    Spread.objects.filter(pk=first.pk).update(label="Page 1")
    Spread.objects.filter(pk=last.pk).update(label="Page 16")
    handed_in(proof, cast.production, [2])
    sign_in(client, cast.production.person)
    judge(client, cast, cgats(FAILS), cgats(AIMS), passage_id=proof.pk)
    said = {
        spread: words_of(client, reverse("reviews:spread-print-sheet", args=[spread.pk])) for spread in (first, last)
    }
    assert "No proof was measured here." in said[first]
    assert "2 beyond" in said[last] and "No proof was measured here." not in said[last]


def test_a_designer_who_reads_no_letters_reads_none_on_the_sheet(client, cast):
    passage = handed(in_draft(cast, "colour", tiff(art(px(126), px(66), 21), "CMYK", CMYK_PROFILE)), cast)
    answered(cast, passage, "approve")
    sent(cast)
    address = reverse("reviews:spread-print-sheet", args=[passage.spread_id])
    sign_in(client, cast.art_director.person)
    assert "letter 1, Corvin Mallowe" in words_of(client, address)
    sign_in(client, cast.seat_advisers()[Role.DESIGNER].person)
    sheet = words_of(client, address)
    assert "Approved on" in sheet and "letter 1" not in sheet and "Corvin Mallowe" not in sheet


def test_of_what_silence_approved_the_sheet_says_that_it_was_silence():
    """Art and proof alike: nobody's name stands under either, and no letter is cited."""
    with as_if_at(at("2026-11-02", 9)):
        cast = gather(a_book(inside=STAGES, **SMALL))
        days = (StageDays("colour", 12, 5), StageDays("proof", 9, 5))
        enter(cast, silence_approves_after=5, stages=days, groups=(RoundGroup("all", ("colour", "proof"), 2),))
    passage, proof = cast.passage("Pages 4–5", "colour"), cast.passage("Pages 4–5", "proof")
    with as_if_at(at("2026-11-03", 9)):
        handed_in(passage, cast.illustrator)
    for n in range(5, 15):
        looked(f"2026-11-{n:02}")
    assert len(entries(cast)) == 1

    def said() -> list[str]:
        [piece] = [one for one in sheet_of(cast.book, [], with_letters=True).pieces if one.where == passage.where]
        return piece.said

    assert said()[0].startswith("Deemed approved on") and not any("letter" in line for line in said())
    assert not any("OK to print" in line for line in said()), "the proof is not answered yet"
    with as_if_at(at("2026-11-16", 9)):
        handed_in(proof, cast.production, [2])
    for n in range(17, 29):
        looked(f"2026-11-{n:02}")
    assert len(entries(cast)) == 2
    assert any("deemed OK to print on 24 November 2026, as nobody answered" in line for line in said()), said()


def test_of_what_a_letter_approved_the_sheet_says_no_word_of_silence(cast):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    assert "eemed" not in " ".join(
        line for piece in sheet_of(cast.book, [], with_letters=True).pieces for line in piece.said
    )
