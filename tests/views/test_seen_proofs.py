"""A photographed proof held against the approved art: asked for, seen or refused, and marked as indicative only."""

from __future__ import annotations

import io

import numpy as np
import pytest
from django.urls import reverse
from PIL import Image

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.models import Job, Passage, Picture, SeenProof
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Gate, StageKind
from reviews.tasks.seen_proofs import see_proof
from tests.cast import gather, sign_in
from tests.imaging.test_seen_proof import art, photographed
from tests.letter_scene import answered, sent
from tests.makers import a_book
from tests.views.test_on_page import SMALL, handed, in_draft

pytestmark = pytest.mark.django_db

STAGES = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2)
    for kind in (StageKind.COLOUR, StageKind.PROOF)
)


def png(pixels: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels, "RGB").save(out, "PNG")
    return out.getvalue()


@pytest.fixture
def cast():
    cast = gather(a_book(inside=STAGES, **SMALL))
    passage = handed(in_draft(cast, "colour", png(art(5)), name="art.png"), cast)
    answered(cast, passage, "approve")
    sent(cast)
    return cast


def proof_of(cast, pixels: np.ndarray) -> Picture:
    picture = in_draft(cast, "proof", png(pixels), name="proof.png", by=cast.production)
    handed(picture, cast, by=cast.production)
    return Picture.objects.get(pk=picture.pk)


def page(client, picture: Picture) -> str:
    return " ".join(client.get(reverse("reviews:seen-proof", args=[picture.pk])).content.decode().split())


def ask(client, picture: Picture) -> str:
    answer = client.post(reverse("reviews:ask-seen-proof", args=[picture.pk]), follow=True)
    return " ".join(answer.content.decode().split())


def seen() -> None:
    for job in Job.objects.filter(kind=jobs.SEEN_PROOF):
        see_proof(Claim(job_id=job.pk, kind=job.kind, subject_id=job.subject_id, key=job.key, attempt=1, token=""))


def test_a_place_that_was_printed_otherwise_is_hatched_and_it_is_called_no_measurement(client, cast):
    printed = art(5)
    printed[250:350, 760:860] = (230, 40, 40)
    picture = proof_of(cast, photographed(printed))
    sign_in(client, cast.production.person)
    table = client.get(reverse("reviews:passage", args=[picture.hand_in.passage_id])).content.decode()
    assert "Beside the art" in table
    assert "Hold it against the art" in page(client, picture) and not SeenProof.objects.exists()
    said = ask(client, picture)
    assert "It is being compared." in said and "differ" not in said
    seen()
    said = page(client, picture)
    assert "1 place still differs" in said and "Indicative only, not a measurement" in said
    assert "printer’s own specification wins" in said and "yellower by" in said
    sheet = client.get(reverse("reviews:seen-proof-sheet", args=[picture.pk]))
    assert sheet["Content-Type"] == "image/png" and sheet.content[:4] == b"\x89PNG"
    ask(client, picture)
    assert SeenProof.objects.count() == Job.objects.filter(kind=jobs.SEEN_PROOF).count() == 1


def test_of_a_proof_in_which_nothing_stands_out_it_is_not_said_that_it_matches(client, cast):
    picture = proof_of(cast, photographed(art(5)))
    sign_in(client, cast.art_director.person)
    ask(client, picture)
    seen()
    said = page(client, picture)
    assert "That does not say that the proof matches: look for yourself." in said
    for claim in ("no difference", "nothing differs", "identical"):
        assert claim not in said.lower()
    assert client.get(reverse("reviews:seen-proof-sheet", args=[picture.pk])).status_code == 200


def test_what_cannot_be_laid_on_the_art_is_refused_in_words(client, cast):
    picture = proof_of(cast, np.full((400, 800, 3), 190, np.uint8))
    sign_in(client, cast.production.person)
    ask(client, picture)
    seen()
    said = page(client, picture)
    assert "Not compared" in said and "Nothing was compared." in said and "still differ" not in said
    assert client.get(reverse("reviews:seen-proof-sheet", args=[picture.pk])).status_code == 404


def test_only_a_proof_with_approved_art_behind_it_is_held_against_anything(client, cast):
    picture = proof_of(cast, photographed(art(5)))
    colour = Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour"))
    sign_in(client, cast.production.person)
    assert "cannot be held against the art" in ask(client, colour)
    Passage.objects.filter(pk=cast.passage("Pages 4–5", "colour").pk).update(state="answering")
    assert "cannot be held against the art" in ask(client, picture)
    assert "cannot be held against the art" in page(client, picture) and not SeenProof.objects.exists()


def test_newer_art_is_another_comparison(client, cast):
    picture = proof_of(cast, photographed(art(5)))
    sign_in(client, cast.production.person)
    ask(client, picture)
    SeenProof.objects.update(art_sha256="f" * 64)
    assert "Hold it against the art" in page(client, picture)


def test_a_stranger_is_told_nothing_of_it(client, cast):
    picture = proof_of(cast, photographed(art(5)))
    sign_in(client, cast.stranger)
    for name in ("seen-proof", "seen-proof-sheet"):
        assert client.get(reverse(f"reviews:{name}", args=[picture.pk])).status_code == 404
