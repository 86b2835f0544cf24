"""Before handing in, the illustrator sees what the publisher would; the publisher sees nothing of it."""

from __future__ import annotations

import hashlib
import io
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image, ImageDraw

from reviews.actions import comparisons, hand_ins, letters, notes
from reviews.models import CarriedNote, Comparison, HandIn, Job, Letter, Note
from reviews.queries.letters import letter_fingerprint
from reviews.rules.states import Refused
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.tasks.test_comparisons import OWL, OWL_AFTER, SIZE, a_drawing, deliver, do_all

pytestmark = [pytest.mark.django_db, pytest.mark.slow, pytest.mark.usefixtures("comparisons_made_once")]
OWL_NOTE, STONE_NOTE = "Move the owl two centimetres to the right.", "Is this stone where it was?"
MOTH = (260, 620)  # where nothing was asked


def with_a_moth(data: bytes) -> bytes:
    image = Image.open(io.BytesIO(data))
    draw, (x, y) = ImageDraw.Draw(image), MOTH
    draw.rectangle((x - 75, y - 75, x + 75, y + 75), fill=(244, 240, 230))
    draw.ellipse((x - 60, y - 30, x, y + 30), outline=(20, 20, 20), width=5)
    draw.ellipse((x, y - 30, x + 60, y + 30), outline=(20, 20, 20), width=5)
    draw.line((x, y - 50, x, y + 50), fill=(20, 20, 20), width=6)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90)
    return out.getvalue()


def put(cast, passage, data: bytes):
    upload = SimpleUploadedFile("owl.jpg", data)
    picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    do_all("renditions")
    return picture


@pytest.fixture
def asked():
    """A letter asked to move the owl, and about a stone."""
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    first = deliver(cast, passage, a_drawing(OWL)).pictures.get()
    for words, (x0, y0, x1, y1) in ((OWL_NOTE, (655, 230, 745, 370)), (STONE_NOTE, (1180, 480, 1420, 700))):
        region = {"kind": "box", "points": [[x0 / SIZE[0], y0 / SIZE[1]], [x1 / SIZE[0], y1 / SIZE[1]]]}
        notes.pin_note(passage.pk, first.pk, region=region, words=words, cause="direction", actor=cast.editor)
    letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    draft = Letter.objects.get(sent_at=None)
    letters.send_letter(draft.pk, looked_at=letter_fingerprint(draft), actor=cast.art_director)
    passage.refresh_from_db()
    return cast, passage


def checked(client, cast, passage):
    sign_in(client, cast.illustrator.person)
    answer = client.get(reverse("reviews:check-draft", args=[passage.pk]))
    assert answer.status_code == 200
    return answer


def test_each_note_and_each_change_is_told_before_handing_in(asked, client, django_assert_max_num_queries):
    cast, passage = asked
    put(cast, passage, with_a_moth(a_drawing(OWL_AFTER)))
    do_all("compare")
    for note in Note.objects.all():
        notes.answer_note(note.pk, response="done", actor=cast.illustrator)
    sign_in(client, cast.illustrator.person)
    with django_assert_max_num_queries(12):
        answer = client.get(reverse("reviews:check-draft", args=[passage.pk]))
    seen = answer.context
    told = {note["words"]: (note["is_doubted"], note["evidence"]) for note in seen["notes"]}
    assert told[OWL_NOTE] == (False, "It moved to here. A change was found here.")
    assert told[STONE_NOTE] == (True, "No change was found here.")
    (pair,) = seen["pairs"]
    asked_for = [one["place"]["words"] for one in pair["places"] if one["is_asked"]]
    assert asked_for == ["Moved 20 mm to the right"]
    unasked = [one for one in pair["places"] if not one["is_asked"]]
    assert len(unasked) == seen["n_unasked"] >= 1
    for one in unasked:
        assert one["cover_words"].startswith("Also changed since hand-in 1:")
        assert "at the bottom left" in one["cover_words"], "where the moth is"
    page = " ".join(answer.content.decode().split())
    assert "says done, and no change was found there" in page
    assert "where no note asked for anything" in page


def test_while_it_is_compared_nothing_is_claimed_and_handing_in_waits_for_nothing(asked, client):
    cast, passage = asked
    picture = put(cast, passage, a_drawing(OWL_AFTER))
    page = checked(client, cast, passage)
    assert page.context["state"] == "waits"
    words = page.content.decode()
    assert "is being compared" in words
    for claim in ("No change was found", "A change was found", "No note asked"):
        assert claim not in words
    hand_ins.hand_in(picture.hand_in_id, actor=cast.illustrator)
    assert Job.objects.filter(kind="compare").count() == 1, "the hand-in asks for what is asked for already"


def test_the_publisher_sees_and_finds_nothing_of_it(asked, client):
    cast, passage = asked
    picture = put(cast, passage, a_drawing(OWL_AFTER))
    do_all("compare")
    found = CarriedNote.objects.filter(picture=picture)
    assert found.count() == 2
    for seat in (cast.art_director, cast.editor, cast.agent, cast.production):
        sign_in(client, seat.person)
        assert client.get(reverse("reviews:check-draft", args=[passage.pk])).status_code in (403, 404)
        data = client.get(reverse("reviews:changes", args=[passage.pk]), HTTP_ACCEPT="application/json").json()
        assert data["comparisons"] == [] and data["carried"] == []
    for number in (picture.pk, picture.pk + 1000):
        with pytest.raises(Refused) as refusal:
            comparisons.place_note(
                found[0].note_id, number, {"kind": "point", "points": [[0.2, 0.2]]}, actor=cast.editor
            )
        assert refusal.value.code == "no-answer-yet"


def test_what_was_found_before_is_what_the_publisher_sees_after(asked, client):
    cast, passage = asked
    picture = put(cast, passage, a_drawing(OWL_AFTER))
    do_all("compare")
    before = [(note["mark"], note["evidence"]) for note in checked(client, cast, passage).context["notes"]]
    hand_ins.hand_in(picture.hand_in_id, actor=cast.illustrator)
    sign_in(client, cast.art_director.person)
    data = client.get(reverse("reviews:changes", args=[passage.pk]), HTTP_ACCEPT="application/json").json()
    assert [(note["mark"], note["evidence"]) for note in data["carried"]] == before
    assert data["comparisons"][0]["is_compared"]


def test_each_of_several_options_is_compared_and_nothing_is_said_of_what_was_asked(
    asked, client, django_assert_max_num_queries
):
    cast, passage = asked
    moved, with_moth = a_drawing(OWL_AFTER), with_a_moth(a_drawing(OWL))
    first, second = put(cast, passage, moved), put(cast, passage, with_moth)
    page = checked(client, cast, passage)
    assert page.context["state"] == "waits" and "is being compared" in page.content.decode()
    do_all("compare")
    sign_in(client, cast.illustrator.person)
    with django_assert_max_num_queries(12):
        answer = client.get(reverse("reviews:check-draft", args=[passage.pk]))
    assert answer.context["state"] == "told"
    told = {pair["pair"]["after"]: pair for pair in answer.context["pairs"]}
    assert list(told) == [first.pk, second.pk]
    assert [place["place"]["words"] for place in told[first.pk]["places"]] == ["Moved 20 mm to the right"]
    assert any(place["place"]["where"] == "at the bottom left" for place in told[second.pk]["places"])
    page = " ".join(answer.content.decode().split())
    heads = re.findall(r"(Option \d), owl[^<]*\.jpg: changed since ([^<]*)</h3>", page)
    assert [option for option, _ in heads] == ["Option 1", "Option 2"]
    assert all("hand-in 1" in name for _, name in heads), heads
    for claim in ("No note asked for this", "A change was found", "No change was found", "says done"):
        assert claim not in page
    sign_in(client, cast.art_director.person)
    assert client.get(reverse("reviews:check-draft", args=[passage.pk])).status_code in (403, 404)


def test_of_many_options_only_the_first_are_compared_and_the_others_are_told(asked, client, monkeypatch):
    cast, passage = asked
    monkeypatch.setattr("reviews.actions.comparisons.MOST_OPTIONS", 2)
    monkeypatch.setattr("reviews.pages.before_handing_in.MOST_OPTIONS", 2)
    pictures = [put(cast, passage, a_drawing((640 + 20 * n, 300))) for n in range(3)]
    compared = set(Comparison.objects.values_list("sha256_b", flat=True))
    assert compared == {picture.sha256 for picture in pictures[:2]}
    page = " ".join(checked(client, cast, passage).content.decode().split())
    assert "The last option is not compared: what changed in it is not known." in page
    hand_ins.remove_picture(pictures[2].pk, actor=cast.illustrator)
    assert "not compared" not in checked(client, cast, passage).content.decode()


def test_a_second_picture_makes_it_several_and_taking_it_out_compares_again(asked, client):
    cast, passage = asked
    kept, other = put(cast, passage, a_drawing(OWL_AFTER)), put(cast, passage, a_drawing((640, 300)))
    assert checked(client, cast, passage).context["is_several"]
    hand_ins.remove_picture(kept.pk, actor=cast.illustrator)
    assert checked(client, cast, passage).context["state"] == "waits"
    assert Comparison.objects.filter(sha256_b=other.sha256).count() == 1
    do_all("compare")
    assert checked(client, cast, passage).context["state"] == "told"


def test_the_same_file_again_is_told(asked, client):
    cast, passage = asked
    put(cast, passage, a_drawing(OWL))
    page = checked(client, cast, passage)
    assert page.context["same_as"] == 1
    assert "This is the same file as hand-in 1" in page.content.decode()


def test_a_first_picture_has_nothing_to_be_compared_with(client):
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    put(cast, passage, a_drawing(OWL))
    page = checked(client, cast, passage)
    assert page.context["state"] == "told" and page.context["pairs"] == []
    assert "There is nothing earlier to compare this with" in page.content.decode()
    assert HandIn.objects.get().number is None and not Comparison.objects.exists()
