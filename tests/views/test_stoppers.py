"""A proof is not let go to print over an open stopper, unless somebody takes it on by name with a reason."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from reviews.actions import letters, notes, second_voice
from reviews.actions.taken_faults import take_on_fault
from reviews.models import LedgerEntry, Letter, LetterAnswer, Passage, Picture, Stage, TakenFault
from reviews.pages.print_sheet import sheet_of
from reviews.pages.wording.ledger import sentence
from reviews.queries.held_check import check_held
from reviews.queries.letters import letter_fingerprint
from reviews.queries.stoppers import held_by_stoppers, stoppers_of
from reviews.rules.contract.periods import StageDays, StageSilence
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Deed, Gate, Refused, Role, StageKind
from tests.actions.signed import enter
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.PROOF)
)
SMALL = {"kind": "TIFF", "mode": "RGB", "bits": 8, "profile_name": "sRGB"}  # 506 × 256 pixels: 25 ppi at print size
REASON = "The printer was shown it and agrees that it may look soft."


@pytest.fixture
def cast():
    cast = gather(a_book(inside=STAGES))
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    handed_in(cast.passage("Pages 4–5", "proof"), cast.production, [2])
    Picture.objects.filter(hand_in__passage=cast.passage("Pages 4–5", "colour")).update(facts=SMALL)
    return cast


def proof(cast) -> Passage:
    return cast.passage("Pages 4–5", "proof")


def art(cast) -> Picture:
    return Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour"))


def seen(passage: Passage) -> str:
    """Name the figures of the one stopper that the proof's table shows."""
    [stopper] = stoppers_of(passage)
    return stopper.seen


def taken_on(cast, *, by=None) -> TakenFault:
    return take_on_fault(
        proof(cast).pk, picture_id=art(cast).pk, code="too-few-pixels", seen=seen(proof(cast)), reason=REASON,
        actor=by or cast.production,
    )  # fmt: skip


def take_on(client, cast, **changes):
    data = {"picture": art(cast).pk, "code": "too-few-pixels", "seen": seen(proof(cast)), "reason": REASON} | changes
    return client.post(reverse("reviews:take-on-fault", args=[proof(cast).pk]), data, follow=True)


def table(client, cast) -> str:
    return " ".join(client.get(reverse("reviews:passage", args=[proof(cast).pk])).content.decode().split())


def test_no_ok_is_given_while_the_art_behind_it_is_changed_again(client, cast):
    """Opening the art once more must not take its stoppers out of the way."""
    colour = cast.passage("Pages 4–5", "colour")
    pinned(colour, cast.art_director, "The moon is too small.")
    answered(cast, colour, "ask")
    sent(cast, over=True)
    sign_in(client, cast.art_director.person)
    refused = client.post(reverse("reviews:set-answer", args=[proof(cast).pk]), {"answer": "approve"}, follow=True)
    assert "is being changed again, so its art is not approved now" in refused.content.decode()
    assert not LetterAnswer.objects.filter(letter__sent_at=None).exists()
    assert held_by_stoppers([proof(cast)]) == {proof(cast).pk}, "nor does silence approve it"


@pytest.mark.parametrize("answer", ["approve", "approve_small"])
def test_no_ok_is_given_over_an_open_stopper(client, cast, answer):
    sign_in(client, cast.art_director.person)
    refused = client.post(reverse("reviews:set-answer", args=[proof(cast).pk]), {"answer": answer}, follow=True)
    assert "a stopper is open in the final art" in refused.content.decode()
    assert not LetterAnswer.objects.filter(letter__sent_at=None).exists()
    page = table(client, cast)
    assert "Before “OK to print”" in page and "25 ppi at print size" in page and "Take it on in my name" in page


def test_a_new_proof_may_be_asked_for_whatever_is_open(cast):
    pinned(proof(cast), cast.art_director)
    answered(cast, proof(cast), "ask")
    sent(cast)
    assert proof(cast).state == "drawing"


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.PRODUCTION])
def test_taken_on_by_name_with_a_reason_it_no_longer_holds_the_answer_up(client, cast, role):
    sign_in(client, cast.seat(role).person)
    assert "It is taken on in your name" in take_on(client, cast).content.decode()
    told = sentence(LedgerEntry.objects.get(deed=Deed.TAKE_ON_FAULT).as_entry())
    assert "takes on for Pages 4–5, proof" in told and REASON in told and "25 ppi at print size" in told
    assert not check_held(cast.book).faults
    sign_in(client, cast.illustrator.person)
    page = table(client, cast)
    assert "Taken on" in page and REASON in page and cast.seat(role).person.name in page
    answered(cast, proof(cast), "approve")
    letter = sent(cast)
    assert proof(cast).state == "approved"
    page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert "OK to print" in page
    told = sentence(LedgerEntry.objects.filter(deed=Deed.SEND_LETTER).latest("seq").as_entry())
    assert "Pages 4–5, proof – OK to print" in told


def test_a_stopper_that_appears_after_the_answer_was_written_stops_the_letter(cast):
    Picture.objects.filter(pk=art(cast).pk).update(facts={"kind": "jpeg"})
    answered(cast, proof(cast), "approve")
    Picture.objects.filter(pk=art(cast).pk).update(facts=SMALL)
    draft = Letter.objects.get(book=cast.book, sent_at=None)
    with pytest.raises(Refused, match="stopper-open"):
        letters.send_letter(draft.pk, looked_at=letter_fingerprint(draft), actor=cast.art_director)
    assert proof(cast).state == "answering"


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT])
def test_nobody_else_takes_a_stopper_on(client, cast, role):
    sign_in(client, cast.seat(role).person)
    assert take_on(client, cast).status_code == 403
    assert not TakenFault.objects.exists()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"reason": "  "}, "Say why it is printed as it is"),
        ({"reason": ""}, "Say why it is printed as it is"),
        ({"code": "rgb"}, "no open stopper"),
        ({"code": "x" * 99}, "Say why"),
        ({"picture": 999_999}, "no open stopper"),
    ],
)
def test_only_what_is_open_is_taken_on_and_never_without_a_reason(client, cast, changes, words):
    sign_in(client, cast.art_director.person)
    assert words in take_on(client, cast, **changes).content.decode()
    assert not TakenFault.objects.exists()


def test_one_taken_on_for_a_picture_does_not_cover_another(cast):
    taken_on(cast)
    with pytest.raises(Refused, match="no-such-stopper"):
        taken_on(cast)
    Picture.objects.filter(pk=art(cast).pk).update(facts=SMALL | {"mode": "RGB"}, height_px=600)
    with pytest.raises(Refused, match="stopper-open"):
        answered(cast, proof(cast), "approve")


def test_the_trades_words_stand_at_the_proof_and_nowhere_else(client, cast):
    sign_in(client, cast.art_director.person)
    page = table(client, cast)
    assert "OK to print" in page and "OK with corrections" in page and "New proof" in page
    assert "Approve with small notes" not in page
    handed_in(cast.passage("Pages 6–7", "colour"), cast.illustrator, [3])
    other = client.get(reverse("reviews:passage", args=[cast.passage("Pages 6–7", "colour").pk])).content.decode()
    assert "Approve with small notes" in other and "OK to print" not in other
    draft = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    assert "OK with corrections" in draft and "Approve with small notes" in draft


def two_voiced(cast) -> Passage:
    """Let two voices answer the proof, and the first of them give its OK while nothing stood against the art."""
    Picture.objects.filter(pk=art(cast).pk).update(facts={"kind": "jpeg"})
    Stage.objects.filter(pk=proof(cast).stage_id).update(two_voices=True)
    answered(cast, proof(cast), "approve")
    sent(cast)
    return proof(cast)


def test_the_second_voice_completes_no_ok_over_a_stopper_that_appeared_meanwhile(client, cast):
    waiting = two_voiced(cast)
    assert waiting.pending_id
    Picture.objects.filter(pk=art(cast).pk).update(facts=SMALL)
    sign_in(client, cast.editor.person)
    refused = client.post(reverse("reviews:agree", args=[waiting.hand_in_id]), follow=True)
    assert "a stopper is open in the final art" in refused.content.decode()
    assert proof(cast).state == "answering" and proof(cast).pending_id
    taken_on(cast)
    second_voice.agree(waiting.hand_in_id, actor=cast.editor)
    assert proof(cast).state == "approved"


def test_the_sheet_says_of_an_ok_that_waits_that_it_does_not_stand(cast):
    two_voiced(cast)

    def said() -> str:
        sheet = sheet_of(cast.book, [], proof(cast).spread, with_letters=True)
        return " ".join(line for piece in sheet.pieces for line in piece.said if "OK to print" in line)

    assert "(not approved now: waiting" in said()
    second_voice.agree(proof(cast).hand_in_id, actor=cast.editor)
    assert "OK to print" in said() and "not approved now" not in said()


def ppi(cast, width_px: int) -> None:
    """Let the art have another width in pixels, of its own proportions."""
    Picture.objects.filter(pk=art(cast).pk).update(width_px=width_px, height_px=round(width_px * 256 / 506))


def test_what_was_taken_on_is_asked_again_once_it_is_worse_and_not_while_it_is_no_worse(client, cast):
    taken_on(cast)
    ppi(cast, 700)
    answered(cast, proof(cast), "approve")
    ppi(cast, 400)
    sign_in(client, cast.art_director.person)
    page = table(client, cast)
    assert "20 ppi at print size" in page and "It became worse" in page and "25 ppi" in page
    assert "Take it on in my name" in page
    draft = Letter.objects.get(book=cast.book, sent_at=None)
    with pytest.raises(Refused, match="stopper-open"):
        letters.send_letter(draft.pk, looked_at=letter_fingerprint(draft), actor=cast.art_director)
    take_on(client, cast)
    assert "It became worse" not in table(client, cast)
    assert [row.values["ppi"] for row in TakenFault.objects.all()] == [25, 20]
    letters.send_letter(draft.pk, looked_at=letter_fingerprint(draft), actor=cast.art_director)
    assert proof(cast).state == "approved" and not check_held(cast.book).faults
    said = [
        line for piece in sheet_of(cast.book, [], proof(cast).spread, with_letters=True).pieces for line in piece.said
    ]
    assert any("25 ppi" in line for line in said) and any("20 ppi" in line for line in said)


def test_figures_that_changed_on_the_way_are_not_taken_on(client, cast):
    before = seen(proof(cast))
    ppi(cast, 400)
    sign_in(client, cast.art_director.person)
    assert "figures of this stopper changed" in take_on(client, cast, seen=before).content.decode()
    assert "Say why" in take_on(client, cast, seen="").content.decode()
    assert not TakenFault.objects.exists()


def test_the_proofs_table_tells_what_was_not_looked_at_in_the_art(client, cast):
    sign_in(client, cast.art_director.person)
    assert "Ink was not measured: the file has no inks" in table(client, cast)
    cmyk = SMALL | {"mode": "CMYK", "profile_name": "Coated"}
    Picture.objects.filter(pk=art(cast).pk).update(facts=cmyk, width_px=5976, height_px=3024)
    page = table(client, cast)
    assert "Not looked at:" in page and "Ink has not been measured on this file at this size yet." in page
    assert "would show in print" not in page
    Picture.objects.filter(pk=art(cast).pk).update(facts={})
    assert "Nothing was looked at in this file for print." in table(client, cast)
    Passage.objects.filter(pk=cast.passage("Pages 4–5", "colour").pk).update(approved_picture=None, state="answering")
    assert "No picture is approved here" in table(client, cast)


def test_an_ok_that_was_objected_to_does_not_stand_again_by_the_next_letters_ok(cast):
    two_voiced(cast)
    second_voice.object_to(proof(cast).hand_in_id, "The gutter is dark.", actor=cast.editor)
    answered(cast, proof(cast), "approve")
    sent(cast)
    second_voice.agree(proof(cast).hand_in_id, actor=cast.editor)
    sheet = sheet_of(cast.book, [], proof(cast).spread, with_letters=True)
    told = [line for line in sheet.pieces[0].said if "OK to print" in line]
    assert ["not approved now" in line for line in told] == [True, False]


def test_a_table_that_waits_for_its_answer_beside_its_art_takes_at_most_twelve_queries(
    client, cast, django_assert_max_num_queries
):
    """With notes, replies, ink to measure, a stopper taken on, an answer written, and silence."""
    stages = (StageDays("colour", 5, 5), StageDays("proof", 5, 5))
    enter(cast, from_on=date(2020, 1, 6), stages=stages, groups=(), silences=(StageSilence("proof", 14),))
    taken_on(cast)
    Picture.objects.filter(pk=art(cast).pk).update(facts=SMALL | {"mode": "CMYK", "profile_name": ""})
    note = pinned(proof(cast), cast.editor)
    notes.reply(note.pk, "I see it too.", actor=cast.art_director)
    answered(cast, proof(cast), "ask")
    path = reverse("reviews:passage", args=[proof(cast).pk])
    for seat in (cast.art_director, cast.production, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        client.get(path)  # that it lay open is kept once, and rounds and silence are counted once
        with django_assert_max_num_queries(12):
            assert client.get(path).status_code == 200
    sign_in(client, cast.art_director.person)
    page = table(client, cast)
    assert "In the letter: New proof" in page and "Taken on" in page and "I see it too." in page
