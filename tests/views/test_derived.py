"""From the draft's page: tick scans, see what comes of them beside them, keep or drop it; and who may see the scans."""

from __future__ import annotations

import hashlib
import io
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from reviews import storage
from reviews.actions.hand_ins import add_picture, hand_in
from reviews.models import Derivation, HandIn, Job, LedgerEntry, Passage, Picture
from reviews.tasks.runner import run_job
from tests.cast import Cast, gather, sign_in
from tests.imaging.scanned import Pixels, drawn_on_paper, inked_over_pencil, scan
from tests.imaging.test_pointed_stroke import LAID, a_point, sketched
from tests.makers import a_book, draft

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


@pytest.fixture
def juniper(client: Client, cast: Cast) -> Client:
    sign_in(client, cast.illustrator.person)
    return client


def png(pixels: Pixels) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG", dpi=(300, 300))
    return out.getvalue()


def put(cast: Cast, files: dict[str, bytes]) -> HandIn:
    """Put files into a draft and let the worker read them."""
    passage = cast.passage("Pages 4–5", "ideas")
    for name, data in files.items():
        add_picture(
            passage.pk, SimpleUploadedFile(name, data), sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator
        )
    work()
    return HandIn.objects.get(passage=passage)


def work() -> None:
    """Do what waits for the worker, with the real engine."""
    for job in Job.objects.filter(state="queued", kind__in=["renditions", "derive"]).order_by("pk"):
        run_job(job.pk)


def two_parts() -> dict[str, bytes]:
    drawing = drawn_on_paper(900, 560, 501)
    return {
        "tarn left.png": png(scan(drawing, 0, 0, 540, 560, 1).picture),
        "tarn right.png": png(scan(drawing, 360, 4, 540, 560, 2, turn=0.6).picture),
    }


def ask(client: Client, hand_in: HandIn, making: str, pictures: list[Picture], **more: str) -> str:
    path = reverse("reviews:make-derived", args=[hand_in.pk])
    answer = client.post(path, {"making": making, "picture": [p.pk for p in pictures], **more}, follow=True)
    assert answer.status_code == 200
    return answer.content.decode()


def choose(client: Client, derivation: Derivation, choice: str) -> str:
    path = reverse("reviews:choose-derived", args=[derivation.pk, choice])
    return client.post(path, follow=True).content.decode()


def page_of(client: Client, passage: Passage) -> str:
    return client.get(reverse("reviews:draft-hand-in", args=[passage.pk])).content.decode()


def test_sheets_are_joined_looked_at_kept_taken_back_and_handed_in(juniper: Client, cast: Cast) -> None:
    files = two_parts()
    hand_in_ = put(cast, files)
    sheets = list(hand_in_.pictures.all())
    page = ask(juniper, hand_in_, "join", sheets)
    assert "The sheets are being joined" in page and "Joining tarn left.png and tarn right.png" in page
    work()
    work()
    derivation = Derivation.objects.get()
    page = page_of(juniper, hand_in_.passage)
    assert "tarn left, joined.png" in page and "Use it in place of the sheets" in page
    assert "tarn right.png is turned 0.6° clockwise" in page or "tarn right.png is turned 0.6° anticlockwise" in page
    assert choose(juniper, derivation, "keep").count("in place of") >= 1
    picture = hand_in_.pictures.get(removed_at=None)
    assert picture.pk == derivation.picture_id and picture.width_px > 850
    assert picture.facts["ppi_x"] == pytest.approx(300, abs=0.1)
    assert "tarn left.png" in choose(juniper, derivation, "again")
    assert hand_in_.pictures.filter(removed_at=None).count() == 2
    choose(juniper, derivation, "keep")
    juniper.post(reverse("reviews:hand-in", args=[hand_in_.pk]))
    told = LedgerEntry.objects.get(deed="hand-in").data["pictures"]
    assert told == [
        {
            "picture": picture.pk,
            "sha256": picture.sha256,
            "made_from": [hashlib.sha256(data).hexdigest() for data in files.values()],
        }
    ]
    for sheet, data in zip(sheets, files.values(), strict=True):
        assert storage.read_all(storage.original_name(sheet.sha256)) == data


def test_the_wedges_beside_a_crooked_sheet_are_named_on_the_hand_in_page(juniper: Client, cast: Cast) -> None:
    drawing = drawn_on_paper(900, 560, 502)
    left, right = scan(drawing, 0, 0, 540, 560, 1), scan(drawing, 360, 0, 540, 560, 2, turn=2.5)
    hand_in_ = put(cast, {"left.png": png(left.picture), "right.png": png(right.picture)})
    ask(juniper, hand_in_, "join", list(hand_in_.pictures.all()))
    work()
    work()
    assert "these wedges at its edges are white. Crop them." in page_of(juniper, hand_in_.passage)


def test_the_ink_is_left_alone_and_the_scan_stays(juniper: Client, cast: Cast) -> None:
    picture, ink = inked_over_pencil(700, 500, 502, "blue")
    hand_in_ = put(cast, {"heron.png": png(picture)})
    ask(juniper, hand_in_, "ink", list(hand_in_.pictures.all()), pencil="blue")
    work()
    work()
    made = Derivation.objects.get().picture
    with Image.open(io.BytesIO(storage.read_all(storage.original_name(made.sha256)))) as image:
        assert image.mode == "L"
        left = np.asarray(image) < 128
    assert (left & ink).sum() / ink.sum() > 0.95
    assert "The blue under-drawing of heron.png is taken out" in page_of(juniper, hand_in_.passage)


def test_a_stroke_is_pointed_at_and_its_pencil_goes(juniper: Client, cast: Cast) -> None:
    seen, ink, alone = sketched(LAID["violet"], 409)
    hand_in_ = put(cast, {"heron.png": png(seen)})
    (scan_,) = hand_in_.pictures.all()
    path, out = (reverse(f"reviews:{name}", args=[scan_.pk]) for name in ("point-at-pencil", "take-pencil-out"))
    assert path in page_of(juniper, hand_in_.passage)
    assert "Point at the pencil" in juniper.get(path).content.decode()
    x, y = a_point(alone, 1)
    juniper.post(out, {"across": f"{100 * x:.3f}".replace(".", ","), "down": f"{100 * y:.3f} %"})
    work()
    work()
    derivation = Derivation.objects.get()
    assert derivation.options == {"at": [pytest.approx(x, abs=1e-4), pytest.approx(y, abs=1e-4)]}
    assert "The violet under-drawing of heron.png is taken out" in page_of(juniper, hand_in_.passage)
    with Image.open(io.BytesIO(storage.read_all(storage.original_name(derivation.picture.sha256)))) as image:
        left = np.asarray(image) < 128
    assert (left & ink).sum() / ink.sum() > 0.95


def test_pointing_at_paper_is_told_and_can_be_done_again(juniper: Client, cast: Cast) -> None:
    hand_in_ = put(cast, {"bare.png": png(np.full((300, 400, 3), 240, np.uint8))})
    (scan_,) = hand_in_.pictures.all()
    path, out = (reverse(f"reviews:{name}", args=[scan_.pk]) for name in ("point-at-pencil", "take-pencil-out"))
    for words in ({"across": "101", "down": "5"}, {"across": "nan", "down": "5"}, {"across": "left"}, {}):
        answer = juniper.post(out, words, HTTP_ACCEPT="application/json")
        assert answer.status_code == 409 and "between 0 and 100 per cent" in answer.json()["sentence"]
    assert not Derivation.objects.exists()
    juniper.post(out, {"across": "50", "down": "50"})
    work()
    page = page_of(juniper, hand_in_.passage)
    assert "There is only paper where you pointed" in page
    assert page.count(path) == 2, "once beside the ticks, once beside the refusal"


def test_only_the_illustrator_points_and_only_in_a_draft(juniper: Client, cast: Cast) -> None:
    hand_in_ = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    (scan_,) = hand_in_.pictures.all()
    path, out = (reverse(f"reviews:{name}", args=[scan_.pk]) for name in ("point-at-pencil", "take-pencil-out"))
    for seat in (cast.art_director, cast.agent):
        sign_in(juniper, seat.person)
        assert juniper.get(path).status_code == 404
        assert juniper.post(out, {"across": "5", "down": "5"}).status_code == 404
    hand_in(hand_in_.pk, actor=cast.illustrator)
    sign_in(juniper, cast.illustrator.person)
    assert juniper.get(path).status_code == 302
    answer = juniper.post(out, {"across": "5", "down": "5"}, HTTP_ACCEPT="application/json")
    assert answer.status_code == 409
    assert not Derivation.objects.exists()


def painted() -> bytes:
    down, across = np.mgrid[0:300, 0:400]
    tone = 70 + 40 * np.sin(down / 30) * np.cos(across / 45)
    return png(np.stack([tone * 0.5, tone * 0.8, tone * 1.3], 2).clip(0, 255).astype(np.uint8))


@pytest.mark.parametrize(
    ("making", "files", "words"),
    [
        ("join", ("stranger one", "stranger two"), "No certain overlap was found for stranger two.png"),
        ("join", ("left", "right twice"), "2.0 times as large on right twice.png as on left.png"),
        ("ink", ("painted",), "does not look like a scan of ink on paper"),
        ("ink", ("black on white",), "No orange, red or blue under-drawing was found"),
    ],
)
def test_what_cannot_be_made_is_said_in_a_sentence(juniper: Client, cast: Cast, making, files, words) -> None:
    drawing = drawn_on_paper(900, 560, 503)
    right = Image.fromarray(scan(drawing, 360, 0, 540, 560, 2).picture)
    known = {
        "stranger one": lambda: png(scan(drawing, 0, 0, 500, 500, 1).picture),
        "stranger two": lambda: png(scan(drawn_on_paper(600, 600, 504), 0, 0, 500, 500, 1).picture),
        "left": lambda: png(scan(drawing, 0, 0, 540, 560, 1).picture),
        "right twice": lambda: png(np.asarray(right.resize((1080, 1120), Image.Resampling.BICUBIC))),
        "painted": painted,
        "black on white": lambda: png(scan(drawing, 0, 0, 500, 500, 1).picture),
    }
    hand_in_ = put(cast, {f"{name}.png": known[name]() for name in files})
    ask(juniper, hand_in_, making, list(hand_in_.pictures.all()))
    work()
    page = page_of(juniper, hand_in_.passage)
    assert words in page
    assert hand_in_.pictures.count() == len(files)
    assert "dismissed" in choose(juniper, Derivation.objects.get(), "drop").lower()
    assert words not in page_of(juniper, hand_in_.passage)


def test_one_sheet_and_nonsense_are_refused_at_once(juniper: Client, cast: Cast) -> None:
    hand_in_ = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1, 2))
    sheets = list(hand_in_.pictures.all())
    path = reverse("reviews:make-derived", args=[hand_in_.pk])
    asked: list[tuple[dict[str, Any], str]] = [
        ({"making": "join", "picture": [sheets[0].pk]}, "Tick two or more sheets"),
        ({"making": "ink", "picture": [sheets[0].pk, sheets[1].pk]}, "one scan at a time"),
        ({"making": "frame", "picture": [sheets[0].pk]}, "Choose what to do"),
        ({"making": "ink", "picture": [sheets[0].pk], "pencil": "green"}, "Choose what to do"),
        ({"making": "join", "picture": ["9" * 30, "x", sheets[0].pk]}, "Tick two or more sheets"),
        ({}, "Choose what to do"),
    ]
    for given, words in asked:
        answer = juniper.post(path, given, HTTP_ACCEPT="application/json")
        assert answer.status_code == 409 and words in answer.json()["sentence"], given
    assert not Derivation.objects.exists()
    ask(juniper, hand_in_, "join", sheets)
    nonsense = juniper.post(
        reverse("reviews:choose-derived", args=[Derivation.objects.get().pk, "burn"]), HTTP_ACCEPT="application/json"
    )
    assert nonsense.status_code == 409


def test_the_page_that_waits_is_told_how_far_it_is(juniper: Client, cast: Cast) -> None:
    hand_in_ = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1, 2))
    ask(juniper, hand_in_, "join", list(hand_in_.pictures.all()))
    said = juniper.get(reverse("reviews:derived-state", args=[Derivation.objects.get().pk])).json()
    assert said["state"] == "asked" and said["percent"] == 0 and not said["is_settled"]
    assert said["progress"] == "Waiting for its turn"


def handed_in_joined(cast: Cast) -> tuple[HandIn, list[Picture]]:
    hand_in_ = put(cast, two_parts())
    sheets = list(hand_in_.pictures.all())
    client = Client()
    sign_in(client, cast.illustrator.person)
    ask(client, hand_in_, "join", sheets)
    work()
    work()
    choose(client, Derivation.objects.get(), "keep")
    return hand_in(hand_in_.pk, actor=cast.illustrator), sheets


def test_the_scans_go_where_the_joined_picture_goes(client: Client, cast: Cast) -> None:
    """Whoever may download originals may download the scans of what was handed in; before that nobody else may."""
    hand_in_, sheets = handed_in_joined(cast)
    passage = hand_in_.passage
    guest = cast.invite_guest(passage)
    path = reverse("reviews:picture-original", args=[sheets[0].pk])
    for seat in (cast.illustrator, cast.art_director, cast.editor, cast.agent, cast.production):
        sign_in(client, seat.person)
        answer = client.get(path)
        assert answer.status_code == 200, seat.role
        assert b"".join(answer.streaming_content)
        table = client.get(reverse("reviews:passage", args=[passage.pk])).content.decode()
        assert "Joined from 2 scans" in table and path in table
    sign_in(client, guest.person)
    assert client.get(path).status_code == 404
    assert "Joined from" not in client.get(reverse("reviews:passage", args=[passage.pk])).content.decode()


def test_scans_and_what_was_dropped_stay_the_illustrators(client: Client, cast: Cast) -> None:
    hand_in_ = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1, 2, 3))
    out = hand_in_.pictures.last()
    sign_in(client, cast.illustrator.person)
    client.post(reverse("reviews:remove-picture", args=[out.pk]))
    ask(client, hand_in_, "join", list(hand_in_.pictures.filter(removed_at=None)))
    derivation = Derivation.objects.get()
    for seat in (cast.art_director, cast.agent):
        sign_in(client, seat.person)
        assert client.get(reverse("reviews:derived-state", args=[derivation.pk])).status_code == 404
        assert client.post(reverse("reviews:choose-derived", args=[derivation.pk, "drop"])).status_code == 404
    hand_in(hand_in_.pk, actor=cast.illustrator)
    for seat in (cast.art_director, cast.agent):
        sign_in(client, seat.person)
        assert client.get(reverse("reviews:picture-original", args=[out.pk])).status_code == 404


def test_the_draft_page_takes_at_most_twelve_queries(juniper, cast, django_assert_max_num_queries) -> None:
    hand_in_ = draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator, tuple(range(8)))
    pictures = list(hand_in_.pictures.all())
    for n in range(0, 8, 2):
        ask(juniper, hand_in_, "join", pictures[n : n + 2])
    with django_assert_max_num_queries(12):
        page_of(juniper, hand_in_.passage)
