"""Pages of a PDF or TIFF become pictures of the draft in their order; a scan is turned and cropped."""

from __future__ import annotations

import io

import pytest
from django.urls import reverse
from PIL import Image, ImageDraw

from reviews.actions import hand_ins
from reviews.actions.derived import take_pages
from reviews.models import Derivation, HandIn, Job, LedgerEntry, Picture
from reviews.pages.wording.ledger import sentence
from reviews.queries.ledger import lines_for
from reviews.rules.derived import pages_named, turn_options
from reviews.rules.states import Deed, Refused
from reviews.tasks.runner import run_job
from tests.actions.test_proofs import PLAN as WITH_PROOFS
from tests.cast import gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, a_jpeg
from tests.views.test_hand_ins import put

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def passage(cast):
    return cast.passage("Pages 4–5", "ideas")


@pytest.fixture
def juniper(client, cast):
    sign_in(client, cast.illustrator.person)
    return client


def a_file(kind: str, n_pages: int = 4) -> bytes:
    pages = []
    for n in range(n_pages):
        page = Image.new("RGB", (400 + 10 * n, 200), (240, 236, 226))
        ImageDraw.Draw(page).ellipse((20 + 30 * n, 40, 90 + 30 * n, 150), outline=(20, 20, 20), width=5)
        pages.append(page)
    out = io.BytesIO()
    pages[0].save(out, kind, save_all=True, append_images=pages[1:])
    return out.getvalue()


def work(*, last_first: bool = False) -> None:
    order = "-pk" if last_first else "pk"
    while job := Job.objects.filter(state="queued", kind__in=["renditions", "derive"]).order_by(order).first():
        run_job(job.pk)
        job.refresh_from_db()
        assert job.state == "done", job.error


def in_draft() -> list[tuple[str, int | None]]:
    pictures = HandIn.objects.get().pictures.filter(removed_at=None).order_by("position", "pk")
    return list(pictures.values_list("file_name", "width_px"))


@pytest.mark.parametrize(("kind", "ending"), [("PDF", "pdf"), ("TIFF", "tif")])
@pytest.mark.parametrize("last_first", [False, True])
def test_all_pages_stand_where_their_file_stood_in_their_order(juniper, passage, kind, ending, last_first):
    put(juniper, passage, ("a.jpg", a_jpeg(1)))
    put(juniper, passage, (f"ideas.{ending}", a_file(kind)))
    put(juniper, passage, ("z.jpg", a_jpeg(2)))
    work()
    file = Picture.objects.get(file_name=f"ideas.{ending}")
    answer = juniper.post(reverse("reviews:take-pages", args=[file.pk]), {"which": "all"}, follow=True)
    assert "4 pages are being taken out of ideas" in answer.content.decode()
    work(last_first=last_first)
    names = [name for name, _ in in_draft()]
    assert names == ["a.jpg", *(f"ideas, page {n}.{ending}" for n in (1, 2, 3, 4)), "z.jpg"]
    widths = [width for _, width in in_draft()[1:5]]
    assert widths == sorted(widths) and len(set(widths)) == 4, "each is its own page"
    handed = hand_ins.hand_in(HandIn.objects.get().pk, actor=HandIn.objects.get().by)
    entry = LedgerEntry.objects.get(deed=Deed.HAND_IN)
    assert [one.get("made_from") for one in entry.data["pictures"]][1:5] == [[file.sha256]] * 4
    assert [one.position for one in handed.pictures.filter(removed_at=None).order_by("position")] == [1, 2, 3, 4, 5, 6]


def test_only_the_pages_named_are_taken_and_each_can_be_taken_out_again(juniper, cast, passage):
    put(juniper, passage, ("ideas.pdf", a_file("PDF")))
    work()
    file = Picture.objects.get()
    juniper.post(reverse("reviews:take-pages", args=[file.pk]), {"which": "named", "pages": "4, 2-3"})
    work()
    assert [name for name, _ in in_draft()] == [f"ideas, page {n}.pdf" for n in (2, 3, 4)]
    told = [sentence(entry.as_entry()) for entry in LedgerEntry.objects.filter(deed=Deed.DERIVE_PICTURE)]
    assert "Page 2 of the 4 in ideas.pdf, as it is there." in told[0]
    for name in ("page 3", "page 2", "page 4"):
        hand_ins.remove_picture(Picture.objects.get(file_name__contains=name).pk, actor=cast.illustrator)
    assert [name for name, _ in in_draft()] == ["ideas.pdf"], "with its last page gone the file is back"


def test_the_publisher_learns_of_pages_only_when_they_are_handed_in(juniper, client, cast, passage):
    put(juniper, passage, ("ideas.pdf", a_file("PDF")))
    work()
    take_pages(Picture.objects.get().pk, "1-2", actor=cast.illustrator)
    for seat in (cast.art_director, cast.agent):
        sign_in(client, seat.person)
        assert client.post(reverse("reviews:take-pages", args=[Picture.objects.first().pk])).status_code in (403, 404)
        assert (
            "ideas" not in client.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode().split("<ol")[-1]
        )


@pytest.mark.parametrize(
    ("words", "code"), [("5", "bad-pages"), ("0", "bad-pages"), ("3-2", "bad-pages"), ("one", "bad-pages")]
)
def test_pages_that_are_not_there_are_refused(juniper, cast, passage, words, code):
    put(juniper, passage, ("ideas.pdf", a_file("PDF")))
    work()
    with pytest.raises(Refused) as refusal:
        take_pages(Picture.objects.get().pk, words, actor=cast.illustrator)
    assert refusal.value.code == code
    assert not Derivation.objects.exists()


def test_more_pages_than_a_hand_in_holds_and_a_file_of_one_page_are_refused(juniper, cast, passage):
    put(juniper, passage, ("long.pdf", a_file("PDF", 21)))
    put(juniper, passage, ("one.jpg", a_jpeg(1)))
    work()
    long, one = Picture.objects.order_by("pk")
    for picture, code in ((long, "too-many-pages-taken"), (one, "one-page")):
        with pytest.raises(Refused) as refusal:
            take_pages(picture.pk, "", actor=cast.illustrator)
        assert refusal.value.code == code
    assert take_pages(long.pk, "1-19", actor=cast.illustrator) == list(range(1, 20))
    assert take_pages(long.pk, "3", actor=cast.illustrator) == [], "a page on its way is not taken twice"


def test_a_scan_is_put_upright_and_cropped(juniper, cast, passage):
    put(juniper, passage, ("scan.jpg", a_jpeg(3, (400, 200))))
    work()
    draft = HandIn.objects.get()
    form = {
        "making": "turn",
        "picture": str(Picture.objects.get().pk),
        "turn": "right",
        "cut_left": "10",
        "cut_top": "25",
    }
    juniper.post(reverse("reviews:make-derived", args=[draft.pk]), form)
    work()
    derivation = Derivation.objects.get()
    assert (derivation.picture.width_px, derivation.picture.height_px) == (180, 300)
    page = juniper.get(reverse("reviews:draft-hand-in", args=[passage.pk])).content.decode()
    assert "scan.jpg, turned 90° clockwise, with 10 % at the left and 25 % at the top cropped." in page
    juniper.post(reverse("reviews:choose-derived", args=[derivation.pk, "keep"]))
    assert in_draft() == [("scan, turned.png", 180)]


@pytest.mark.parametrize(
    ("form", "code"),
    [
        ({}, "nothing-to-turn"),
        ({"cut_left": "46"}, "bad-cut"),
        ({"cut_left": "-3"}, "bad-cut"),
        ({"cut_top": "x"}, "bad-cut"),
    ],
)
def test_a_turn_of_nothing_and_a_crop_of_too_much_get_a_sentence(juniper, passage, form, code):
    put(juniper, passage, ("scan.jpg", a_jpeg(3)))
    work()
    draft = HandIn.objects.get()
    whole = {"making": "turn", "picture": str(Picture.objects.get().pk)} | form
    answer = juniper.post(reverse("reviews:make-derived", args=[draft.pk]), whole, HTTP_ACCEPT="application/json")
    assert answer.status_code == 409 and not Derivation.objects.exists()
    expected = {"nothing-to-turn": "Choose how far", "bad-cut": "Crop between 0 and 45"}[code]
    assert expected in answer.json()["sentence"]


def test_pages_are_read_as_people_write_them():
    assert pages_named("", 3) == [1, 2, 3]
    assert pages_named(" 3 ; 1–2,2", 3) == [1, 2, 3]
    for words in ("1,,2", "-2", "2-", "9" * 5000, "1e1"):
        if words == "2-":
            assert pages_named(words, 3) == [2]
            continue
        with pytest.raises(Refused):
            pages_named(words, 3)


def test_what_a_png_cannot_hold_is_turned_into_a_tiff():
    assert turn_options(1, (0, 0, 0, 0), "CMYK")["ending"] == "tif"
    assert turn_options(1, (0, 0, 0, 0), "RGBA")["ending"] == "png"


def test_production_takes_pages_out_of_a_proof_and_nobody_else_hears_of_its_draft(client):
    cast = gather(a_book(inside=WITH_PROOFS))
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    proof = cast.passage("Pages 4–5", "proof")
    sign_in(client, cast.production.person)
    put(client, proof, ("proofs.pdf", a_file("PDF")))
    work()
    draft = HandIn.objects.get(state="draft", passage=proof)
    taking = reverse("reviews:take-pages", args=[draft.pictures.get().pk])
    assert taking in client.get(reverse("reviews:draft-hand-in", args=[proof.pk])).content.decode()
    assert client.post(taking, {"which": "named", "pages": "2"}).status_code == 302
    work()
    assert list(draft.pictures.filter(removed_at=None).values_list("file_name", flat=True)) == ["proofs, page 2.pdf"]
    told = LedgerEntry.objects.filter(deed__in=[Deed.MAKE_DERIVED, Deed.DERIVE_PICTURE])
    assert {entry.sight for entry in told} == {"publisher"}
    for seat, n in ((cast.illustrator, 0), (cast.agent, 0), (cast.production, 2)):
        assert sum(line.entry.deed in (Deed.MAKE_DERIVED, Deed.DERIVE_PICTURE) for line in lines_for(seat)) == n
