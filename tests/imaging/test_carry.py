"""Notes on the approved picture: where their subject is on the new one, and whether anything was touched there."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reviews.geometry import Point, Region
from reviews.imaging.changes.comparing import compare
from reviews.pages.wording.changes import note_sentence
from tests.bench.changes import auc
from tests.drawing_pairs import Pair
from tests.drawings import apply
from tests.imaging.compared import HELD_OUT, compared, height_mm, note_at, pair_of

pytestmark = pytest.mark.slow


def off_mm(pair: Pair, after: tuple[float, float], region: Region) -> float:
    want = apply(pair.b_to_px, np.array([after]))[0]
    at = np.array([region.centre.x * pair.b.shape[1] - 0.5, region.centre.y * pair.b.shape[0] - 0.5])
    return float(np.hypot(*(at - want)) / np.hypot(pair.b_to_px[0, 0], pair.b_to_px[1, 0]))


def test_notes_land_within_1_percent_of_the_width():
    errors = []
    for kind, seed in HELD_OUT:
        pair, placed, found = compared(kind, seed)
        both = zip(placed, found.notes, strict=True)
        errors += [off_mm(pair, p.centre_after, n.on_b) for p, n in both if p.centre_after]
    assert len(errors) > 100
    assert np.mean(np.array(errors) < 5.0) >= 0.97


def test_a_note_on_what_moved_follows_it():
    far = 20.0
    pair, placed, found = compared("sketch>line", 120, n_edits=1, edit_kind="move", move_mm=far)
    moved = [(p, n) for p, n in zip(placed, found.notes, strict=True) if p.kind == "moved"]
    assert moved
    whole, note = moved[0]
    assert note.state == "followed"
    assert off_mm(pair, whole.centre_after, note.on_b) < 2.0
    assert off_mm(pair, whole.centre_after, note.by_page) > far - 2.0
    assert note.evidence.verdict == "touched"


def test_notes_on_parts_of_what_moved_go_with_the_whole():
    pair, placed, found = compared("sketch>ink", 127, n_edits=4, edit_kind="move")
    both = zip(placed, found.notes, strict=True)
    errors = [off_mm(pair, p.centre_after, n.on_b) for p, n in both if p.kind == "moved"]
    assert len(errors) >= 6
    assert max(errors) < 5.0


def test_a_note_on_one_of_many_alike_does_not_wander_to_its_neighbour():
    pair = pair_of("line>ink", 105)
    x, y = free_spot(pair)

    def with_rings(*steps: int) -> np.ndarray:
        picture = pair.a.copy()
        for step in steps:
            middle = round((x + 7 + 12 * step) / pair.mm_per_px), round((y + 7) / pair.mm_per_px)
            cv2.circle(picture, middle, round(4 / pair.mm_per_px), (40, 40, 40), 2, cv2.LINE_AA)
        return picture

    note = note_at(pair, (x + 1, y + 1, x + 13, y + 13))
    (found,) = compare(with_rings(-1, 0, 1), with_rings(-1, 1), pair.width_mm, [note]).notes
    assert found.state != "followed"
    assert found.evidence.verdict == "touched"


def test_a_note_on_what_was_taken_away_is_not_placed_with_certainty():
    _, placed, found = compared("line>ink", 124, n_edits=2, edit_kind="remove")
    whole = {p.ident: n for p, n in reversed(list(zip(placed, found.notes, strict=True))) if p.kind == "gone"}
    assert whole
    for note in whole.values():
        assert note.state == "cannot-tell" or note.evidence.verdict == "touched"
    assert any(n.state == "cannot-tell" for n in whole.values())


def test_touched_and_untouched_are_told_apart():
    scores, truth = [], []
    for kind, seed in HELD_OUT:
        _, placed, found = compared(kind, seed)
        for pin, note in zip(placed, found.notes, strict=True):
            if not 0.005 <= pin.changed_share <= 0.1:
                scores.append(note.evidence.score)
                truth.append(pin.changed_share > 0.1)
    assert sum(truth) > 15
    assert auc(scores, truth) >= 0.94


def test_under_free_redrawing_few_untouched_notes_look_touched():
    _, placed, found = compared("sketch>ink", 123, wobble=4.0, figure_jitter=1.0, n_edits=0)
    assert len(placed) > 10
    assert np.mean([n.evidence.verdict == "touched" for n in found.notes]) <= 0.08


def test_a_note_keeps_its_kind_and_one_on_bare_paper_stays_by_the_page():
    pair, placed, _ = compared("line>ink", 105)
    x0, y0, x1, y1 = (v / s for v, s in zip(placed[0].box, (pair.width_mm, height_mm(pair)) * 2, strict=True))
    point = Region("point", (Point((x0 + x1) / 2, (y0 + y1) / 2),))
    outline = Region("outline", (Point(x0, y0), Point(x1, y0), Point(x1, y1)))
    bare = note_at(pair, (*free_spot(pair), *np.add(free_spot(pair), 14)))
    notes = compare(pair.a, pair.b, pair.width_mm, [point, outline, bare]).notes
    assert [n.on_b.kind for n in notes] == ["point", "outline", "box"]
    assert [len(n.on_b.points) for n in notes] == [1, 3, 2]
    assert notes[2].state == "here" and notes[2].evidence.verdict == "cannot-tell"


def free_spot(pair: Pair) -> tuple[float, float]:
    """Return the corner (mm) of 14 x 14 mm of bare paper with 5 mm around it, that B shows too."""
    taken, k = pair.owners_a > 0, 2
    for y in range(30, taken.shape[0] // k - 50, 4):
        for x in range(60, 420, 4):
            if not taken[(y - 5) * k : (y + 19) * k, (x - 5) * k : (x + 19) * k].any():
                return float(x), float(y)
    raise AssertionError("the scene has no bare paper")


def test_what_is_said_of_a_note_is_evidence_and_no_accusation():
    _, _, found = compared("sketch>ink", 103)
    said = {note_sentence(n.state, n.evidence.verdict) for n in found.notes}
    assert any("No change found here." in s for s in said)
    assert not any(word in s.lower() for s in said for word in ("ignored", "not done", "failed", "forgot"))
