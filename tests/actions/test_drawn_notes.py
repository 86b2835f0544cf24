"""A note drawn over the art: kept, changed, bounded, shown in the letter and on its paper."""

from __future__ import annotations

import io
import json

import pytest
from django.urls import reverse
from PIL import Image

from reviews.actions import notes
from reviews.geometry import Box, region_from_json
from reviews.imaging.marked_crop import cut_marked_place
from reviews.models import Note
from reviews.pages.note_crops import mark_of
from reviews.queries.held_check import check_held
from reviews.rules.strokes import runs_of
from tests.cast import gather, sign_in
from tests.letter_scene import BOX
from tests.makers import a_book, handed_in
from tests.refusing import refusal

pytestmark = pytest.mark.django_db

STROKES = [[[0.2, 0.2, 0.5], [0.4, 0.3, 0.5]], [[0.3, 0.6, 1.0]]]


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def picture(cast):
    return handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [1]).pictures.get()


def drawn(cast, picture, **changes) -> Note:
    given = {"region": None, "strokes": STROKES, "words": "Like this.", "cause": "direction"} | changes
    return notes.pin_note(picture.hand_in.passage_id, picture.pk, **given, actor=cast.editor)


def test_a_drawing_is_kept_with_the_box_around_it_and_held_by_the_ledger(cast, picture):
    note = drawn(cast, picture, region=BOX)
    note.refresh_from_db()
    assert note.strokes == STROKES
    box = region_from_json(note.region).box
    assert (box.x0, box.y0, box.x1, box.y1) == (0.195, 0.195, 0.405, 0.605), (
        "the drawing is the place, not what was sent"
    )
    assert check_held(cast.book).faults == []
    Note.objects.filter(pk=note.pk).update(strokes=[])
    assert [fault.code for fault in check_held(cast.book).faults] != []


def test_another_place_takes_the_drawing_away_and_other_words_leave_it(cast, picture):
    note = drawn(cast, picture)
    notes.edit_note(note.pk, words="Rather so.", cause="direction", actor=cast.editor)
    assert Note.objects.get().strokes == STROKES
    notes.edit_note(note.pk, words="Rather here.", cause="direction", region=BOX, actor=cast.editor)
    assert (Note.objects.get().strokes, Note.objects.get().region) == ([], BOX)
    assert check_held(cast.book).faults == []


def test_a_drawing_that_is_none_is_refused_and_nothing_is_kept(cast, picture):
    assert refusal(drawn, cast, picture, strokes="x") == "strokes-unreadable"
    assert refusal(drawn, cast, picture, strokes=[[[0.1, 0.1, 0.5]]] * 61) == "strokes-too-many"
    assert refusal(drawn, cast, picture, strokes=[], region=None) == "bad-region"
    assert not Note.objects.exists()


def test_it_is_posted_as_the_page_does_and_another_tab_notices(cast, picture, client):
    sign_in(client, cast.editor.person)
    path = reverse("reviews:pin-note", args=[picture.hand_in.passage_id])
    data = {"picture": picture.pk, "region": json.dumps(BOX), "words": "So.", "cause": "direction"}
    client.post(path, data | {"strokes": json.dumps(STROKES)})
    note = Note.objects.get()
    assert note.strokes == STROKES
    seen = note.seen_own
    note.strokes = STROKES[:1]
    assert note.seen_own != seen
    table = client.get(reverse("reviews:passage", args=[note.passage_id])).content.decode()
    assert '"strokes": [[[0.2, 0.2, 0.5]' in table
    huge = client.post(path, data | {"strokes": "[" * 100_000}, headers={"accept": "application/json"})
    assert huge.status_code == 409
    assert Note.objects.count() == 1


def test_the_letters_picture_draws_the_strokes_in_place_of_the_box(cast, picture):
    mark = mark_of(drawn(cast, picture), picture, "1")
    assert mark.strokes[0].path.startswith("M101 51L202 77")
    assert len({stroke.width for stroke in mark.strokes}) == 2, "what was pressed harder is drawn wider"
    plain = mark_of(notes.pin_note(
        picture.hand_in.passage_id, picture.pk, region=BOX, words="Here.", cause="direction", actor=cast.editor
    ), picture, "2")  # fmt: skip
    assert plain.strokes == ()


def test_on_paper_the_strokes_are_red_where_they_were_drawn_and_no_box_is():
    out = io.BytesIO()
    Image.new("RGB", (1000, 500), (128, 128, 128)).save(out, "JPEG", quality=95)
    region = region_from_json({"kind": "box", "points": [[0.1, 0.1], [0.9, 0.9]]})
    runs = [(run.points, run.width) for run in runs_of([[[0.2, 0.5, 1.0], [0.8, 0.5, 1.0]]])]
    data = cut_marked_place(out.getvalue(), region, lambda *_: Box(0, 0, 1, 1), runs)
    with Image.open(io.BytesIO(data)) as cut:
        at = {name: cut.getpixel((round(x * cut.width), round(y * cut.height))) for name, x, y in (
            ("on the stroke", 0.5, 0.5), ("on the box", 0.1, 0.5), ("beside", 0.5, 0.75))}  # fmt: skip
    red, box, beside = at.values()
    assert red[0] > 150 and red[1] < 70
    assert all(abs(value - 128) < 8 for value in (*box, *beside))
