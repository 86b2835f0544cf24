"""Hand in: drafts are private, files are judged one by one, one deliberate hand-in, once."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from reviews.actions.derived import make_derived
from reviews.models import HandIn, Job, LedgerEntry, Picture
from reviews.pages.wording.pictures import picture_reason
from reviews.rules.derived import Making, Pencil
from reviews.rules.states import HandInState, PassageState, PictureState, Refused
from reviews.storage import original_name, rendition_name
from reviews.tasks.runner import run_job
from tests.briefs import referred, written
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


@pytest.mark.parametrize("lost", ["pyramid.json", "pyramid.zip", "thumb.jpg"])
@pytest.mark.parametrize("how", ["gone", "empty"])
def test_what_is_shown_of_a_picture_and_was_lost_is_not_there_rather_than_a_fault(juniper, cast, lost, how):
    passage = cast.passage("Pages 4–5", "ideas")
    seed = 200 + ("pyramid.json", "pyramid.zip", "thumb.jpg").index(lost) * 2 + (how == "gone")
    put(juniper, passage, ("owl.jpg", a_jpeg(seed, (1600, 810))))
    (picture,) = read_all(passage)
    path = Path(default_storage.path(rendition_name(picture.sha256, lost)))
    path.unlink() if how == "gone" else path.write_bytes(b"")
    thumb = reverse("reviews:picture-thumb", args=[picture.pk])
    tile = reverse("reviews:picture-tile", args=[picture.pk, "0,0,512,512/512,512/0/default.jpg"])
    assert juniper.get(thumb if lost == "thumb.jpg" else tile).status_code == 404


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
    assert (why := picture_reason(wrong)).endswith(".") and words.lower() in why.lower()
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


def originals() -> set[str]:
    """Name every original that lies in the store."""
    folders = default_storage.listdir("originals")[0] if default_storage.exists("originals") else []
    return {name for folder in folders for name in default_storage.listdir(f"originals/{folder}")[1]}


def test_what_is_refused_leaves_no_original_behind(juniper, cast):
    handed = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    before = originals()
    answer = put(juniper, handed.passage, *[(f"{n}.jpg", a_jpeg(900 + n)) for n in range(5)])
    assert answer.status_code == 409 and answer.json()["sentence"].count("This cannot be done at this point.") == 5
    full = draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator, tuple(range(20)))
    between = originals()
    assert put(juniper, full.passage, ("more.jpg", a_jpeg(921))).status_code == 409
    assert originals() == between == before | names_of(full)


def names_of(hand_in: HandIn) -> set[str]:
    return set(hand_in.pictures.values_list("sha256", flat=True))


def test_a_draft_keeps_so_many_files_and_no_more_with_those_taken_out(juniper, cast, settings):
    settings.DRAFT_MAX_FILES = 3
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1, 2, 3))
    juniper.post(reverse("reviews:remove-picture", args=[made.pictures.first().pk]))
    before = originals()
    answer = put(juniper, made.passage, ("more.jpg", a_jpeg(31)))
    assert answer.status_code == 409
    assert "keeps 3 files" in answer.json()["sentence"] and "next draft begins afresh" in answer.json()["sentence"]
    assert originals() == before
    with pytest.raises(Refused, match="draft-keeps-many"):
        make_derived(made.pk, Making.INK, [made.pictures.last().pk], pencil=Pencil.BLUE, actor=cast.illustrator)


def test_a_draft_keeps_so_many_bytes_and_no_more(juniper, cast, settings):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    more = a_jpeg(32)
    settings.DRAFT_MAX_BYTES = made.pictures.get().n_bytes + len(more) - 1
    answer = put(juniper, made.passage, ("more.jpg", more))
    assert answer.status_code == 409 and "would keep more than 0 MB" in answer.json()["sentence"]
    settings.DRAFT_MAX_BYTES += 1
    assert put(juniper, made.passage, ("more.jpg", more)).status_code == 200


def test_the_same_file_put_in_again_mends_an_original_that_rotted(juniper, cast):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (33,))
    name = original_name(made.pictures.get().sha256)
    Path(default_storage.path(name)).write_bytes(b"")
    put(juniper, cast.passage("Pages 6–7", "ideas"), ("again.jpg", a_jpeg(33)))
    (again,) = read_all(cast.passage("Pages 6–7", "ideas"))
    assert again.state == PictureState.READY
    assert Path(default_storage.path(name)).read_bytes() == a_jpeg(33)


def test_a_file_put_in_twice_is_read_once_and_what_is_shown_is_not_touched(juniper, cast, monkeypatch):
    put(juniper, cast.passage("Pages 4–5", "ideas"), ("owl.jpg", a_jpeg(34, (1600, 810))))
    read_all(cast.passage("Pages 4–5", "ideas"))
    monkeypatch.setattr("reviews.tasks.pictures.make_renditions", None)
    put(juniper, cast.passage("Pages 6–7", "ideas"), ("again.jpg", a_jpeg(34, (1600, 810))))
    (again,) = read_all(cast.passage("Pages 6–7", "ideas"))
    assert (again.state, again.width_px, again.height_px, again.has_preview) == (PictureState.READY, 1600, 810, True)
    assert again.facts["scale_factors"]


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
        juniper.get(reverse("reviews:passage", args=[passage.pk]))  # that it lay open is kept once, by one query more
        with django_assert_max_num_queries(11):
            assert juniper.get(reverse("reviews:passage", args=[passage.pk])).status_code == 200


def test_a_brief_with_references_costs_the_table_one_query_more(juniper, cast, django_assert_max_num_queries):
    passage = cast.passage("Pages 4–5", "ideas")
    written(cast, passage)
    written(cast, palette="No orange.")
    referred(cast, passage)
    referred(cast, seed=8)
    handed_in(passage, cast.illustrator, tuple(range(6)))
    for seat in (cast.illustrator, cast.art_director, cast.editor, cast.agent):
        sign_in(juniper, seat.person)
        juniper.get(reverse("reviews:passage", args=[passage.pk]))
        with django_assert_max_num_queries(12):
            page = juniper.get(reverse("reviews:passage", args=[passage.pk])).content.decode()
        assert page.count("tarn.jpg") >= 2, "both references lie there"


def test_a_cover_note_with_a_nul_in_it_is_kept_without_it(juniper, cast):
    made = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    juniper.post(reverse("reviews:hand-in", args=[made.pk]), {"cover_note": "Here\0 it is."})
    assert HandIn.objects.get(pk=made.pk).cover_note == "Here it is."


def test_the_draft_says_that_files_keep_what_a_program_wrote_into_them(juniper, cast):
    page = juniper.get(reverse("reviews:draft-hand-in", args=[cast.passage("Pages 4–5", "ideas").pk])).content.decode()
    words = " ".join(page.split())
    assert "kept bit for bit, with what a camera or a program wrote into them, such as a place or a name" in words
    assert "others on the book can download them" in words
