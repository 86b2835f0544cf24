"""Hand in: drafts are private, files are judged one by one, one deliberate hand-in, once."""

from __future__ import annotations

import hashlib
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from reviews.models import HandIn, Job, LedgerEntry, Picture
from reviews.rules.states import HandInState, PassageState, PictureState
from reviews.tasks.runner import run_job
from tests.cast import gather, sign_in
from tests.makers import a_book, a_jpeg, draft, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def juniper(client, cast):
    sign_in(client, cast.illustrator.person)
    return client


def put(client, passage, *files: tuple[str, bytes], json: bool = True):
    path = reverse("reviews:add-picture", args=[passage.pk])
    uploads = [SimpleUploadedFile(name, data) for name, data in files]
    headers = {"HTTP_ACCEPT": "application/json"} if json else {}
    return client.post(path, {"file": uploads}, **headers)


def read_all(passage) -> list[Picture]:
    """Let the worker read what was sent, with the real engine."""
    for job in Job.objects.filter(kind="renditions"):
        run_job(job.pk)
    return list(Picture.objects.filter(hand_in__passage=passage).order_by("pk"))


def test_a_picture_is_kept_bit_for_bit_under_its_sha256(juniper, cast):
    passage, data = cast.passage("Pages 4–5", "ideas"), a_jpeg(3)
    said = put(juniper, passage, ("owl.jpg", data)).json()
    picture = Picture.objects.get(pk=said["id"])
    assert picture.sha256 == hashlib.sha256(data).hexdigest()
    response = juniper.get(reverse("reviews:picture-original", args=[picture.pk]))
    assert b"".join(response.streaming_content) == data
    assert response["Content-Disposition"] == 'attachment; filename="owl.jpg"'


def test_a_picture_is_read_shown_and_handed_in(juniper, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    put(juniper, passage, ("owl.jpg", a_jpeg(3, (1600, 810))))
    (picture,) = read_all(passage)
    assert (picture.state, picture.width_px, picture.height_px) == (PictureState.READY, 1600, 810)
    preview = juniper.get(reverse("reviews:picture-preview", args=[picture.pk]))
    assert Image.open(io.BytesIO(preview.content)).size == (1600, 810)
    tile = reverse("reviews:picture-tile", args=[picture.pk, "0,0,512,512/512,512/0/default.jpg"])
    assert Image.open(io.BytesIO(juniper.get(tile).content)).size == (512, 512)
    answer = juniper.post(reverse("reviews:hand-in", args=[picture.hand_in_id]), {"cover_note": "Here."}, follow=True)
    assert "The publisher answers by" in answer.content.decode()
    passage.refresh_from_db()
    assert passage.state == PassageState.ANSWERING


def a_bomb() -> bytes:
    """A PNG header that promises 60000 × 60000 pixels in a few hundred bytes."""
    import struct
    import zlib

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", 60000, 60000, 8, 2, 0, 0, 0)
    chunks = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 4000)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunks


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("letter.jpg", b"Dear Juniper, this is only text renamed.\n" * 40, "text file"),
        ("half.jpg", a_jpeg(1, (1200, 800))[:9000], "cut short"),
        ("bomb.png", a_bomb(), "60000"),
        ("sketch.gif", b"GIF89a" + b"\0" * 400, ""),
    ],
)
def test_a_wrong_file_is_refused_with_its_reason_and_the_others_are_kept(juniper, cast, name, data, words):
    passage = cast.passage("Pages 4–5", "ideas")
    put(juniper, passage, (name, data))
    put(juniper, passage, ("good.jpg", a_jpeg(2)))
    wrong, good = read_all(passage)
    assert (wrong.state, good.state) == (PictureState.REFUSED, PictureState.READY)
    assert wrong.reason.endswith(".") and words.lower() in wrong.reason.lower()
    page = juniper.get(reverse("reviews:draft-hand-in", args=[passage.pk])).content.decode()
    assert "good.jpg" in page and "could not be read" in page
    refused = juniper.post(reverse("reviews:hand-in", args=[good.hand_in_id]), follow=True).content.decode()
    assert "could not be read" in refused
    juniper.post(reverse("reviews:remove-picture", args=[wrong.pk]))
    juniper.post(reverse("reviews:hand-in", args=[good.hand_in_id]))
    assert HandIn.objects.get(pk=good.hand_in_id).number == 1


def test_an_empty_file_is_refused_at_the_door(juniper, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    answer = put(juniper, passage, ("nothing.jpg", b""), ("good.jpg", a_jpeg(2)))
    assert "empty" in answer.json()["sentence"]
    assert [p.file_name for p in Picture.objects.filter(hand_in__passage=passage)] == ["good.jpg"]


def test_a_double_click_hands_in_once(juniper, cast):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    path = reverse("reviews:hand-in", args=[made.pk])
    first, second = juniper.post(path, follow=True), juniper.post(path, follow=True)
    assert first.status_code == second.status_code == 200
    assert LedgerEntry.objects.filter(book=cast.book, deed="hand-in").count() == 1
    assert HandIn.objects.filter(passage=made.passage, state=HandInState.HANDED_IN).count() == 1
    assert "number 1" in second.content.decode()


def test_the_order_is_kept(juniper, cast):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1, 2, 3))
    order = list(made.pictures.values_list("pk", flat=True))[::-1]
    answer = juniper.post(reverse("reviews:order-pictures", args=[made.pk]), {"order": ",".join(map(str, order))})
    assert answer.status_code == 302
    assert list(made.pictures.order_by("position").values_list("pk", flat=True)) == order


def test_an_order_that_names_other_pictures_is_refused(juniper, cast):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1, 2))
    answer = juniper.post(
        reverse("reviews:order-pictures", args=[made.pk]), {"order": "1,2,999"}, HTTP_ACCEPT="application/json"
    )
    assert answer.status_code == 409 and "order" in answer.json()["sentence"].lower()


def test_the_twenty_first_picture_is_refused(juniper, cast):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, tuple(range(20)))
    answer = put(juniper, made.passage, ("more.jpg", a_jpeg(21)))
    assert answer.status_code == 409 and "20 pictures" in answer.json()["sentence"]


def test_a_mistake_is_withdrawn_before_the_answer_and_leaves_its_trace(juniper, cast):
    handed = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    path = reverse("reviews:withdraw-hand-in", args=[handed.pk])
    assert juniper.post(path, {"reason": ""}, HTTP_ACCEPT="application/json").status_code == 409
    juniper.post(path, {"reason": "the wrong spread"})
    handed.refresh_from_db()
    assert (handed.state, handed.number) == (HandInState.WITHDRAWN, 1)
    again = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (2,))
    assert again.number == 2
    ledger = juniper.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()
    assert "withdrew hand-in 1" in ledger and "the wrong spread" in ledger


def test_the_review_table_takes_at_most_twelve_queries(juniper, cast, django_assert_max_num_queries):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, tuple(range(6)))
    for person in (cast.illustrator, cast.art_director, cast.agent):
        sign_in(juniper, person.person)
        with django_assert_max_num_queries(12):
            assert juniper.get(reverse("reviews:passage", args=[passage.pk])).status_code == 200


def test_a_cover_note_with_a_nul_in_it_is_kept_without_it(juniper, cast):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    juniper.post(reverse("reviews:hand-in", args=[made.pk]), {"cover_note": "Here\0 it is."})
    assert HandIn.objects.get(pk=made.pk).cover_note == "Here it is."
