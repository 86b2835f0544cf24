"""A picture shown as a printing condition would print it: asked for, made, looked at; profiles brought or refused."""

from __future__ import annotations

import hashlib

import pytest
import pyvips
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.models import Job, LedgerEntry, Picture, PrintProfile, Seat, SoftProof
from reviews.models.jobs import JobState
from reviews.pages.wording.ledger import sentence
from reviews.queries import print_profiles
from reviews.queries.held_check import check_held
from reviews.queries.soft_proofs import choice_of
from reviews.queries.stored import is_owned, owned_in
from reviews.rules.states import Deed, Role
from reviews.tasks.soft_proofs import make_soft_proof
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.views.test_on_page import CMYK_PROFILE, SMALL, art, handed, in_draft, px, tiff

pytestmark = pytest.mark.django_db
PRESS = pyvips.Image.profile_load("cmyk")
SHA256 = hashlib.sha256(PRESS).hexdigest()


@pytest.fixture(autouse=True)
def no_profiles_of_this_machine(settings, tmp_path):
    settings.PROFILE_FOLDERS = [str(tmp_path / "none")]


@pytest.fixture
def cast():
    return gather(a_book(**SMALL))


@pytest.fixture
def picture(cast) -> Picture:
    made = in_draft(cast, "colour", tiff(art(px(126, 60), px(66, 60), 7), "CMYK", CMYK_PROFILE))
    handed(made, cast)
    return Picture.objects.get(pk=made.pk)


def brought(client, cast, data: bytes = PRESS, name: str = "press.icc") -> str:
    address = reverse("reviews:bring-profile", args=[cast.book.pk])
    answer = client.post(address, {"profile": SimpleUploadedFile(name, data)}, follow=True)
    return " ".join(answer.content.decode().split())


def ask(client, picture: Picture, **changes):
    data = {"profile": SHA256, "rendering": "relative", "black_point": "1", "paper": "1"} | changes
    return client.post(reverse("reviews:ask-soft-proof", args=[picture.pk]), data, follow=True)


def page(client, picture: Picture) -> str:
    return " ".join(client.get(reverse("reviews:soft-proof", args=[picture.pk])).content.decode().split())


def on_board(client, picture: Picture) -> dict:
    return client.get(reverse("reviews:soft-proof", args=[picture.pk]), headers={"Accept": "application/json"}).json()


def made() -> None:
    for job in Job.objects.filter(kind=jobs.SOFT_PROOF):
        make_soft_proof(
            Claim(job_id=job.pk, kind=job.kind, subject_id=job.subject_id, key=job.key, attempt=1, token="")
        )


def test_a_profile_is_brought_a_picture_shown_by_it_and_every_screen_says_that_it_is_indicative(client, cast, picture):
    sign_in(client, cast.production.person)
    assert "No profile of a printing condition is at hand" in page(client, picture)
    said = brought(client, cast)
    assert "Chemical proof" in said and "printer’s own specification wins" in said
    entry = LedgerEntry.objects.get(deed=Deed.BRING_PROFILE)
    assert "brought the profile “Chemical proof” (press.icc)" in sentence(entry.as_entry())
    assert not check_held(cast.book).faults
    said = " ".join(ask(client, picture).content.decode().split())
    assert "It is being made." in said and "out of gamut" not in said and on_board(client, picture)["proofs"] == []
    made()
    said = page(client, picture)
    assert "Chemical proof, relative colorimetric, black point compensated, on its paper’s white" in said
    assert "Indicative only" in said and "printer’s own specification wins" in said and "the inks can give" in said
    [one] = on_board(client, picture)["proofs"]
    assert "Indicative only" in on_board(client, picture)["caution"]
    shown = client.get(one["url"])
    assert shown["Content-Type"] == "image/jpeg" and shown.content[:2] == b"\xff\xd8"
    assert ("outside_url" in one) and (
        not one["outside_url"] or client.get(one["outside_url"]).content[:4] == b"\x89PNG"
    )
    sign_in(client, cast.illustrator.person)
    assert "As printed" in client.get(reverse("reviews:passage", args=[picture.hand_in.passage_id])).content.decode()
    assert "Chemical proof, relative" in page(client, picture)


def test_own_inks_are_shown_unconverted_and_nothing_is_said_of_what_they_cannot_give(client, cast, picture):
    sign_in(client, cast.production.person)
    brought(client, cast)
    ask(client, picture, rendering="own-inks")
    made()
    said = page(client, picture)
    assert "its own inks, unconverted, on its paper’s white" in said
    assert "no colour was looked for that the inks cannot give" in said and "out of gamut" not in said
    assert SoftProof.objects.get().has_black_point is False, "unconverted inks know no black point"


def test_the_same_choice_is_made_once_and_another_is_another(client, cast, picture):
    sign_in(client, cast.production.person)
    brought(client, cast)
    for _ in range(2):
        ask(client, picture)
    ask(client, picture, paper="")
    assert SoftProof.objects.count() == Job.objects.filter(kind=jobs.SOFT_PROOF).count() == 2
    made()
    assert len(on_board(client, picture)["proofs"]) == 2
    row = SoftProof.objects.first()
    storage.remove(storage.rendition_name(row.sha256, _file(row)))
    assert client.get(reverse("reviews:soft-proof-file", args=[picture.pk, row.pk, "jpg"])).status_code == 404
    ask(client, picture)
    made()
    assert client.get(reverse("reviews:soft-proof-file", args=[picture.pk, row.pk, "jpg"])).status_code == 200


def _file(row: SoftProof) -> str:
    return choice_of(row).file_name("jpg")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"no profile at all", "press.icc is no ICC profile"),
        (PRESS[:4000], "press.icc is cut short"),
        (pyvips.Image.profile_load("srgb"), "of no press"),
        (PRESS[:16] + b"GRAY" + PRESS[20:], "other colours than cyan"),
        (PRESS.replace(b"A2B0", b"A2B9", 1), "lacks a table"),
        (b"\0" * ((8 << 20) + 1), "more than 8 MB"),
    ],
)
def test_a_file_that_is_no_profile_of_a_press_gets_its_sentence(client, cast, data, words):
    sign_in(client, cast.production.person)
    assert words in brought(client, cast, data)
    assert not PrintProfile.objects.exists() and not LedgerEntry.objects.filter(deed=Deed.BRING_PROFILE).exists()


def test_no_file_and_the_same_file_twice_are_refused_in_words(client, cast):
    sign_in(client, cast.production.person)
    address = reverse("reviews:bring-profile", args=[cast.book.pk])
    assert "Choose the file of the profile" in client.post(address, {}, follow=True).content.decode()
    brought(client, cast)
    assert "has other.icc already" in brought(client, cast, name="other.icc")
    assert PrintProfile.objects.count() == 1


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT])
def test_who_does_not_print_it_brings_no_profile(client, cast, role):
    sign_in(client, cast.seat(role).person)
    address = reverse("reviews:bring-profile", args=[cast.book.pk])
    assert client.post(address, {"profile": SimpleUploadedFile("p.icc", PRESS)}).status_code == 403
    assert "Bring a profile" not in client.get(reverse("reviews:print", args=[cast.book.pk])).content.decode()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"profile": "f" * 64}, "not offered for the book any more"),
        ({"profile": "../../etc"}, "not offered for the book any more"),
        ({"rendering": "nicest"}, "not offered for the book any more"),
    ],
)
def test_what_is_not_offered_is_refused_in_words(client, cast, picture, changes, words):
    sign_in(client, cast.production.person)
    brought(client, cast)
    assert words in ask(client, picture, **changes).content.decode() and not SoftProof.objects.exists()


def test_a_sketch_and_a_file_without_inks_are_refused_what_they_cannot_be_shown_as(client, cast):
    sign_in(client, cast.production.person)
    brought(client, cast)
    rgb = in_draft(cast, "colour", tiff(art(90, 50, 3)[..., :3].copy(), "RGB", None), name="rgb.tif")
    handed(rgb, cast)
    assert "no inks of its own to keep" in ask(client, rgb, rendering="own-inks").content.decode()
    sketch = in_draft(cast, "sketch", tiff(art(90, 50, 4)[..., :3].copy(), "RGB", None), name="sketch.tif")
    handed(sketch, cast)
    assert "of a stage before line" in ask(client, sketch).content.decode()
    assert not SoftProof.objects.exists()


def test_nobody_gets_at_a_soft_proof_but_through_a_picture_they_may_see(client, cast, picture):
    sign_in(client, cast.production.person)
    brought(client, cast)
    ask(client, picture)
    made()
    row = SoftProof.objects.get()
    other = gather(a_book(title="Another Book", **SMALL))
    theirs = in_draft(other, "colour", tiff(art(90, 50, 9), "CMYK", CMYK_PROFILE))
    handed(theirs, other)
    # The same people sit on both books, so whoever sits on the second alone is somebody else.
    Seat.objects.filter(pk=other.production.pk).update(person=other.stranger)
    sign_in(client, other.stranger)
    assert client.get(reverse("reviews:soft-proof-file", args=[picture.pk, row.pk, "jpg"])).status_code == 404
    assert client.get(reverse("reviews:soft-proof-file", args=[theirs.pk, row.pk, "jpg"])).status_code == 404
    assert client.get(reverse("reviews:soft-proof", args=[picture.pk])).status_code == 404
    assert "not offered for the book" in ask(client, theirs).content.decode(), "a profile is its book's own"


def test_a_profile_is_somebodys_file_in_the_store(client, cast, picture):
    sign_in(client, cast.production.person)
    brought(client, cast)
    assert is_owned(storage.original_name(SHA256))
    assert owned_in(int(SHA256[:2], 16))[SHA256].n_bytes == len(PRESS)


def test_what_this_machine_has_is_offered_and_kept_once_it_is_used(client, cast, picture, settings, tmp_path):
    (tmp_path / "icc").mkdir()
    (tmp_path / "icc" / "press.icc").write_bytes(PRESS)
    (tmp_path / "icc" / "screen.icc").write_bytes(pyvips.Image.profile_load("srgb"))
    (tmp_path / "icc" / "notes.txt").write_text("no profile")
    settings.PROFILE_FOLDERS = [str(tmp_path / "icc")]
    print_profiles.machine_profiles.cache_clear()
    sign_in(client, cast.illustrator.person)
    said = page(client, picture)
    assert "Chemical proof (on this machine)" in said and "sRGB" not in said
    assert not is_owned(storage.original_name(SHA256))
    ask(client, picture)
    made()
    assert is_owned(storage.original_name(SHA256)) and len(on_board(client, picture)["proofs"]) == 1
    print_profiles.machine_profiles.cache_clear()


def test_so_many_ways_of_showing_are_kept_and_no_more(client, cast, picture, monkeypatch):
    monkeypatch.setattr("reviews.actions.print_profiles.MOST_OF_ONE", 1)
    sign_in(client, cast.production.person)
    brought(client, cast)
    ask(client, picture)
    assert "1 ways of showing this picture are kept" in ask(client, picture, paper="").content.decode()
    assert SoftProof.objects.count() == 1


def test_the_page_asks_few_questions(client, cast, picture, django_assert_max_num_queries):
    sign_in(client, cast.production.person)
    brought(client, cast)
    for paper in ("", "1"):
        for rendering in ("relative", "perceptual", "absolute"):
            ask(client, picture, rendering=rendering, paper=paper)
    with django_assert_max_num_queries(12):
        page(client, picture)


def test_what_was_given_up_is_not_said_to_be_under_way_and_can_be_asked_for_again(client, cast, picture):
    sign_in(client, cast.production.person)
    brought(client, cast)
    ask(client, picture)
    assert "It is being made." in page(client, picture)
    work = Job.objects.filter(kind=jobs.SOFT_PROOF)
    work.update(state=JobState.FAILED, finished_at=timezone.now(), error={"code": "worn-out", "n": 5})
    said = page(client, picture)
    assert "It is being made." not in said and "is not being tried any more" in said
    assert "It is being made." in " ".join(ask(client, picture).content.decode().split())
    assert work.get().state == JobState.QUEUED


@pytest.mark.parametrize(("code", "is_tried_again"), [("took-too-long", True), ("profile-not-usable", False)])
def test_only_what_may_end_otherwise_is_tried_again(client, cast, picture, code, is_tried_again):
    sign_in(client, cast.production.person)
    brought(client, cast)
    ask(client, picture)
    SoftProof.objects.update(result={"code": code})
    said = page(client, picture)
    assert ("took longer than it may" in said) == is_tried_again and "could not be read for it" not in said
    assert ("It is being made." in " ".join(ask(client, picture).content.decode().split())) == is_tried_again
    assert Job.objects.filter(kind=jobs.SOFT_PROOF).count() == 1 + is_tried_again


def test_what_one_book_brought_is_not_named_in_another_that_has_the_same_file(client, cast, picture):
    sign_in(client, cast.production.person)
    brought(client, cast)
    ask(client, picture)
    made()
    row = SoftProof.objects.get()
    other = gather(a_book(title="The Heron’s Ladder", **SMALL))
    theirs = in_draft(other, "colour", tiff(art(px(126, 60), px(66, 60), 7), "CMYK", CMYK_PROFILE))
    handed(theirs, other)
    assert theirs.sha256 == picture.sha256
    of_row = [reverse("reviews:soft-proof-file", args=[one.pk, row.pk, "jpg"]) for one in (picture, theirs)]
    assert client.get(of_row[0]).status_code == 200
    sign_in(client, other.production.person)
    assert "Chemical proof" not in page(client, theirs) and on_board(client, theirs)["proofs"] == []
    assert client.get(of_row[1]).status_code == 404
    brought(client, other)
    assert "Chemical proof, relative" in page(client, theirs), "it is their profile now, and what is made is made"
    assert client.get(of_row[1]).status_code == 200
