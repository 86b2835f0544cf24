"""The delivery folder: approved originals and their manifest, and nothing that is not approved."""

from __future__ import annotations

import hashlib
import io
import zipfile

import pytest
from django.urls import reverse

from reviews import storage
from reviews.models import Passage, Picture
from reviews.notices.delivery_folder import NotTheApproved
from reviews.pages.delivery import files_of
from reviews.press.delivery_names import NamedPart, check_pattern, named
from reviews.press.refused import CannotPrint
from reviews.queries.final_art import art_for_press
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Gate, Role, StageKind
from tests.cast import gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

COLOUR = (PlannedStage(kind=StageKind.COLOUR, gate=Gate.ANSWERS, hand_in_days=5, answer_days=5, rounds=2),)


@pytest.fixture
def cast():
    return gather(a_book(inside=COLOUR, cover=COLOUR))


def fetch(client, cast, pattern: str = ""):
    return client.get(reverse("reviews:delivery", args=[cast.book.pk]), {"pattern": pattern} if pattern else {})


def opened(answer) -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))


def test_only_what_is_approved_is_in_it_bit_for_bit_with_its_fingerprint(client, cast):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    handed_in(cast.passage("Pages 6–7", "colour"), cast.illustrator, [2])  # waits for its answer
    sign_in(client, cast.production.person)
    with opened(fetch(client, cast)) as folder:
        assert set(folder.namelist()) == {"The-Otter-Who-Kept-Time_04-05_colour.jpg", "read-me.txt", "manifest.txt"}
        data = folder.read("The-Otter-Who-Kept-Time_04-05_colour.jpg")
        passage = Passage.objects.get(pk=cast.passage("Pages 4–5", "colour").pk)
        assert hashlib.sha256(data).hexdigest() == passage.approved_sha256
        manifest = folder.read("manifest.txt").decode()
        assert manifest == f"{passage.approved_sha256}  The-Otter-Who-Kept-Time_04-05_colour.jpg\n"
    page = client.get(reverse("reviews:print", args=[cast.book.pk])).content.decode()
    assert "1 of 8 pieces are approved" in " ".join(page.split())


def test_what_was_opened_again_after_its_approval_is_not_in_it(client, cast):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    Passage.objects.filter(pk=cast.passage("Pages 4–5", "colour").pk).update(state="drawing")
    sign_in(client, cast.production.person)
    answer = fetch(client, cast)
    assert answer.status_code == 409 and "nothing to deliver" in answer.content.decode()


def test_other_bytes_than_those_approved_break_it_off_without_a_manifest(client, cast):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    sha256 = Picture.objects.get(hand_in__passage=cast.passage("Pages 4–5", "colour")).sha256
    with storage.open_original_locally(sha256) as path:
        path.write_bytes(b"another picture")
    sign_in(client, cast.production.person)
    with pytest.raises(NotTheApproved):
        b"".join(fetch(client, cast).streaming_content)


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.EDITOR])
def test_those_who_may_download_originals_may_take_it(client, cast, role):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    sign_in(client, cast.seat(role).person)
    assert fetch(client, cast).status_code == 200


def test_a_guest_and_a_stranger_may_not(client, cast):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    guest = cast.invite_guest(cast.passage("Cover", "colour"))
    for person, status in ((guest.person, 403), (cast.stranger, 404)):
        sign_in(client, person)
        assert fetch(client, cast).status_code == status


@pytest.mark.parametrize(
    "pattern", ["{title}", "{book", "{pages!r}", "{pages:>999999999}", "{book}", "x", "{pages.__class__}", "{}", "{0}"]
)
def test_a_pattern_that_cannot_name_files_is_refused(client, cast, pattern):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    sign_in(client, cast.production.person)
    answer = fetch(client, cast, pattern)
    assert answer.status_code == 409 and "pattern" in answer.content.decode()
    with pytest.raises(CannotPrint):
        check_pattern(pattern)


def test_names_are_safe_on_every_disk():
    part = NamedPart(book="../Otter: “Kept” / Time", pages="04-05", stage="colour", version="2", name="a b")
    assert named("{book}_{pages}_v{version}", part, "TIF") == "Otter-Kept-Time_04-05_v2.tif"
    assert named("{name}", part, "../x") == "a-b.x"


def test_pages_are_kept_whole_where_a_name_is_too_long():
    part = NamedPart(book="A very long title " * 12, pages="04-05", stage="colour", version="2", name="x" * 200)
    for pattern in (
        "{book}_{pages}_{stage}",
        "{name}_{book}_{pages}",
        "{book}{book}_{pages}",
        "{pages}_{name}_{version}",
    ):
        told = named(pattern, part, "tif")
        assert "04-05" in told and len(told) <= 124
    assert named("{name}" * 8, part, "tif")


def files_named(cast, *names: str, pattern: str = "{name}") -> list[str]:
    """Name the approved files of two spreads whose pictures are called so."""
    spreads = ["Pages 4–5", "Pages 6–7"]
    for label, name in zip(spreads, names, strict=True):
        approved(cast, cast.passage(label, "colour"), 1)
        Picture.objects.filter(hand_in__passage=cast.passage(label, "colour")).update(file_name=name)
    return [file.name for file in files_of(cast.book, art_for_press(cast.book), pattern)]


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (("Art.tif", "art.TIF"), ["Art.tif", "art (2).tif"]),
        (("manifest.txt", "Read-Me.txt"), ["manifest (2).txt", "Read-Me (2).txt"]),
        (("one.tif", "two.tif"), ["one.tif", "two.tif"]),
    ],
)
def test_no_file_takes_the_place_of_another_on_a_disk_that_tells_no_capitals(cast, names, told):
    assert files_named(cast, *names) == told


def test_a_file_that_is_gone_is_told_before_anything_is_sent_wherever_it_stands(client, cast):
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    approved(cast, cast.passage("Pages 6–7", "colour"), 2)
    sha256 = Picture.objects.get(hand_in__passage=cast.passage("Pages 6–7", "colour")).sha256
    with storage.open_original_locally(sha256) as path:
        path.unlink()
    sign_in(client, cast.production.person)
    answer = fetch(client, cast)
    assert answer.status_code == 409 and "The stored file of Pages 6–7" in answer.content.decode()
