"""After a new version is handed in: what changed is told, and the letter's notes are found again."""

from __future__ import annotations

import hashlib
import io
import random

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image, ImageDraw

from reviews.actions import comparisons, hand_ins, letters, notes
from reviews.actions.second_voice import agree
from reviews.models import CarriedNote, Comparison, Job, LedgerEntry, Letter
from reviews.pages.changes import comparisons_of
from reviews.pages.wording.ledger import sentence
from reviews.queries.letters import letter_fingerprint
from reviews.rules.states import Refused
from reviews.tasks.runner import run_job
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, sent
from tests.makers import a_book

pytestmark = [pytest.mark.django_db, pytest.mark.slow, pytest.mark.usefixtures("comparisons_made_once")]
SIZE = (1518, 768)
# Where the owl sits before and after, in pixels; the spread is 506 mm wide, so 60 px are 20 mm.
OWL, OWL_AFTER = (700, 300), (760, 300)


def a_drawing(owl: tuple[int, int]) -> bytes:
    """A page full of still things, and one owl."""
    image = Image.new("RGB", SIZE, (244, 240, 230))
    draw, chance = ImageDraw.Draw(image), random.Random(7)
    for _ in range(46):
        x, y, r = chance.randrange(40, 1480), chance.randrange(30, 740), chance.randrange(14, 46)
        if abs(x - 730) < 190 and abs(y - 300) < 170:
            continue
        shape = chance.choice([draw.ellipse, draw.rectangle])
        shape((x - r, y - r * 0.7, x + r, y + r * 0.7), outline=(30, 30, 40), width=3)
        draw.line((x - r, y + r, x + r, y - r), fill=(60, 40, 40), width=2)
    x, y = owl
    draw.ellipse((x - 45, y - 70, x + 45, y + 70), outline=(20, 20, 20), width=4)
    draw.ellipse((x - 30, y - 45, x - 5, y - 20), outline=(20, 20, 20), width=3)
    draw.ellipse((x + 5, y - 45, x + 30, y - 20), outline=(20, 20, 20), width=3)
    draw.polygon([(x - 8, y - 15), (x + 8, y - 15), (x, y)], outline=(20, 20, 20))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90)
    return out.getvalue()


def deliver(cast, passage, data: bytes):
    upload = SimpleUploadedFile("owl.jpg", data)
    picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    do_all("renditions")
    return hand_ins.hand_in(picture.hand_in_id, actor=cast.illustrator)


def do_all(kind: str) -> None:
    for job in Job.objects.filter(kind=kind, state="queued"):
        run_job(job.pk)
        job.refresh_from_db()
        assert job.state == "done", job.error


@pytest.fixture
def two_versions():
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    first = deliver(cast, passage, a_drawing(OWL))
    for words, box in (
        ("Move the owl two centimetres to the right.", (655, 230, 745, 370)),
        ("Is this stone where it was?", (1180, 480, 1420, 700)),
    ):
        x0, y0, x1, y1 = box
        region = {"kind": "box", "points": [[x0 / SIZE[0], y0 / SIZE[1]], [x1 / SIZE[0], y1 / SIZE[1]]]}
        notes.pin_note(
            passage.pk, first.pictures.get().pk, region=region, words=words, cause="direction", actor=cast.editor
        )
    letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    draft = Letter.objects.get(sent_at=None)
    letters.send_letter(draft.pk, looked_at=letter_fingerprint(draft), actor=cast.art_director)
    second = deliver(cast, passage, a_drawing(OWL_AFTER))
    do_all("compare")
    return cast, passage, second


def test_what_moved_is_told_in_millimetres_and_the_note_follows_it(two_versions):
    _cast, _passage, _second = two_versions
    result = Comparison.objects.get().result
    assert result["state"] == "aligned"
    moved = [change for change in result["changes"] if change["label"] == "moved"]
    assert len(moved) == 1
    assert moved[0]["vector_mm"][0] == pytest.approx(20, abs=1) and abs(moved[0]["vector_mm"][1]) < 1
    owl, stone = CarriedNote.objects.order_by("note__number")
    if owl.note.words.startswith("Is this"):
        owl, stone = stone, owl
    assert (owl.state, owl.verdict) == ("followed", "touched")
    assert owl.region["points"][0][0] == pytest.approx((655 + 60) / SIZE[0], abs=0.01)
    assert (stone.state, stone.verdict) == ("here", "untouched")


def test_the_table_shows_what_changed_within_its_queries(two_versions, client, django_assert_max_num_queries):
    cast, passage, _second = two_versions
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        client.get(reverse("reviews:passage", args=[passage.pk]))  # that it lay open is kept once
        with django_assert_max_num_queries(11):
            table = client.get(reverse("reviews:passage", args=[passage.pk])).context["table_data"]
        with django_assert_max_num_queries(11):
            data = client.get(table["urls"]["changes"], HTTP_ACCEPT="application/json").json()
        assert client.get(table["urls"]["changes"]).status_code == 200
        assert [pair["name"] for pair in data["comparisons"]] == ["hand-in 1"]
        assert {carried["evidence"] for carried in data["carried"]} == {
            "It moved to here. A change was found here.",
            "No change was found here.",
        }


def test_done_but_untouched_is_brought_to_the_art_directors_eye_only(two_versions, client):
    cast, passage, _second = two_versions
    stone = CarriedNote.objects.get(verdict="untouched")
    notes.answer_note(stone.note_id, response="done", actor=cast.illustrator)
    for seat, looks in ((cast.art_director, [True]), (cast.illustrator, [False])):
        sign_in(client, seat.person)
        path = reverse("reviews:changes", args=[passage.pk])
        data = client.get(path, HTTP_ACCEPT="application/json").json()
        assert [c["asks_for_a_look"] for c in data["carried"] if c["id"] == stone.note_id] == looks


def test_a_place_shown_by_hand_is_kept_when_the_pictures_are_compared_again(two_versions):
    cast, _passage, _second = two_versions
    owl = CarriedNote.objects.get(state="followed")
    by_hand = {"kind": "point", "points": [[0.25, 0.5]]}
    comparisons.place_note(owl.note_id, owl.picture_id, by_hand, actor=cast.art_director)
    row = owl.comparison
    comparisons.keep_comparison(
        row.pk,
        row.result,
        [{"note": owl.note_id, "picture": owl.picture_id, "state": "here", "region": owl.by_page,
          "by_page": owl.by_page, "verdict": "untouched", "score": 0.1}],
    )  # fmt: skip
    owl.refresh_from_db()
    assert owl.place == by_hand
    assert LedgerEntry.objects.get(deed="place-note").by == "Corvin Mallowe"


def test_a_comparison_is_kept_with_all_its_notes_or_not_at_all(two_versions):
    row = Comparison.objects.get()
    Comparison.objects.update(result=None, made_at=None)
    with pytest.raises(KeyError):
        comparisons.keep_comparison(row.pk, row.result, [{"note": 1, "picture": 1}])
    assert Comparison.objects.get().result is None


def test_a_place_shown_by_hand_is_put_back_once_and_told(two_versions):
    cast, _passage, _second = two_versions
    owl = CarriedNote.objects.get(state="followed")
    with pytest.raises(Refused) as refusal:
        comparisons.put_back_note(owl.note_id, owl.picture_id, actor=cast.art_director)
    assert refusal.value.code == "not-placed-by-hand"
    by_hand = {"kind": "point", "points": [[0.25, 0.5]]}
    comparisons.place_note(owl.note_id, owl.picture_id, by_hand, actor=cast.art_director)
    comparisons.put_back_note(owl.note_id, owl.picture_id, actor=cast.illustrator)
    owl.refresh_from_db()
    assert owl.place == owl.region and owl.corrected_by is None
    told = [sentence(entry.as_entry()) for entry in LedgerEntry.objects.filter(deed="place-note").order_by("seq")]
    name = f"note 1.{owl.note.number}"
    assert f"showed by hand where {name} is" in told[0]
    assert told[1].startswith(f"Juniper Aldersea put {name} ") and "back where it was found" in told[1]


def test_a_note_says_where_it_is_by_the_other_reading(two_versions, client):
    cast, passage, _second = two_versions
    owl, row = CarriedNote.objects.get(state="followed"), Comparison.objects.get()
    seen = {"region": owl.by_page, "by_page": owl.by_page, "state": "here", "verdict": "untouched", "score": 0.1}
    comparisons.keep_comparison(row.pk, row.result | {"other_notes": {str(owl.note_id): seen}}, [])
    sign_in(client, cast.art_director.person)
    address = reverse("reviews:changes", args=[passage.pk])
    sheets = client.get(address, HTTP_ACCEPT="application/json").json()
    assert all("other_notes" not in pair["result"] for pair in sheets["comparisons"]), "they may be another book's"
    told = {one["id"]: one["other"] for one in sheets["carried"]}
    assert told.pop(owl.note_id) == {
        "region": owl.by_page, "by_page": owl.by_page, "state": "here", "evidence": "No change was found here.",
        "sign": "=",
    }  # fmt: skip
    assert set(told.values()) == {None}
    assert "By the other reading" in client.get(address).content.decode()
    comparisons.place_note(owl.note_id, owl.picture_id, owl.by_page, actor=cast.art_director)
    assert "By the other reading" not in client.get(address).content.decode()


def test_what_an_older_method_found_is_still_shown(two_versions, client):
    cast, passage, _second = two_versions
    row = Comparison.objects.get()
    result = {key: value for key, value in row.result.items() if key not in ("other_changes", "rates")}
    Comparison.objects.update(method="an older one", result=result)
    sign_in(client, cast.art_director.person)
    address = reverse("reviews:changes", args=[passage.pk])
    data = client.get(address, HTTP_ACCEPT="application/json").json()
    assert [len(pair["places"]) for pair in data["comparisons"]] == [len(result["changes"])]
    assert data["rates"] == "" and data["comparisons"][0]["other_places"] == []
    assert b"How far to trust the signs" not in client.get(address).content


def test_one_file_handed_in_at_two_stages_shows_its_places_once():
    cast = gather(a_book())
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    sketch, line = cast.passage("Pages 4–5", "sketch"), cast.passage("Pages 4–5", "line")
    drawn = deliver(cast, sketch, a_drawing(OWL))
    answered(cast, sketch, "approve")
    sent(cast)
    agree(drawn.pk, actor=cast.editor)
    deliver(cast, line, a_drawing(OWL))
    again = deliver(cast, line, a_drawing(OWL_AFTER))
    do_all("compare")
    told = comparisons_of(line, list(again.pictures.all()), cast.art_director)
    assert [pair["name"] for pair in told] == ["hand-in 1"], "the approved sketch is the same file"


def test_the_same_pair_is_compared_once(two_versions):
    _cast, passage, second = two_versions
    before = Comparison.objects.get()
    again = comparisons.ask_for_comparison(passage.hand_ins.first().pictures.get(), second.pictures.get(), passage)
    assert again == before and Job.objects.filter(kind="compare").count() == 1
