"""The demo drawings: what there is, that it comes out the same each time, and that what is said to move does."""

from collections import Counter

import numpy as np
import pytest

from reviews.demo import openings
from reviews.demo.draw import Commission, commissions, paint, scene_of
from reviews.demo.looks import colour, flat
from reviews.demo.marks import channels
from reviews.demo.pencil import text_room
from reviews.demo.plates import Hand, lines
from reviews.demo.scenes import CHANGES, DRIFT, OPEN, notes_for, notes_on

# No chance in this hand: two pictures differ only where their scenes do.
STEADY = Hand(weight=1.0, wobble=0.0, passes=1, sway=0.0)
CHANGED_SHARE = 0.012  # of a region's pixels; untouched regions have 0, the smallest edit told of has 0.04


def _find(piece: str, stage: str, version: int = 1, option: int = 0) -> Commission:
    return next(c for c in commissions() if (c.piece, c.stage, c.version, c.option) == (piece, stage, version, option))


@pytest.mark.parametrize("wanted", [("16-17", "sketch", 1, 0), ("24-25", "ideas", 1, 1), ("cover", "finish", 1, 0)])
def test_the_same_commission_gives_the_same_bytes(wanted, tmp_path):
    commission = _find(*wanted)
    first, second = tmp_path / "first", tmp_path / "second"
    first.mkdir()
    second.mkdir()
    assert paint(commission, first).read_bytes() == paint(commission, second).read_bytes()


def test_the_book_is_mid_way():
    states = Counter((c.piece, c.stage) for c in commissions())
    assert states["cover", "ideas"] == 6
    assert states["cover", "finish"] == states["6-7", "proof"] == states["12-13", "ink"] == 1
    assert all(states[piece, "colour"] == 1 for piece in ("cover", "4-5", "6-7", "8-9"))
    assert states["10-11", "sketch"] == 4
    assert all(states[piece, "ideas"] in (4, 5) for piece in ("20-21", "22-23", "24-25"))
    assert not any(piece in ("26-27", "28-29") for piece, _ in states)


def test_file_names_and_what_they_stand_for_are_unique():
    everything = commissions()
    assert len({c.file_name for c in everything}) == len(everything)
    assert len({(c.piece, c.stage, c.version, c.option) for c in everything}) == len(everything)


def test_one_tiff_one_psd_and_png_plates_among_the_jpegs():
    endings = Counter(c.file_name.rsplit(".", 1)[1] for c in commissions())
    assert (endings["tif"], endings["psd"], endings["png"]) == (1, 1, 2)
    assert endings["jpg"] == len(commissions()) - 4


def _every_change():
    return [(key, change) for table in (CHANGES, DRIFT) for key, changes in table.items() for change in changes]


@pytest.mark.parametrize(("key", "change"), _every_change(), ids=lambda value: getattr(value, "edit", None))
def test_places_lie_on_the_picture(key, change):
    boxes = [box for box in (change.before, change.after) if box]
    assert boxes
    for x0, y0, x1, y1 in boxes:
        assert 0 <= x0 < x1 <= 1
        assert 0 <= y0 < y1 <= 1


def test_notes_are_written_as_professionals_write():
    notes = [note for key in CHANGES for note in notes_for(*key)] + [note for some in OPEN.values() for note in some]
    assert {note.shape for note in notes} == {"box", "point", "outline"}
    assert {note.cause.partition(":")[0] for note in notes} == {"brief", "new_direction", "text_change", "question"}
    assert {note.role for note in notes} == {"art_director", "editor"}
    for note in notes:
        assert 8 <= len(note.words.split()) <= 30, note.words
        assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in note.points)


def test_notes_on_a_version_are_those_the_next_one_answers():
    assert notes_on("10-11", "sketch", 1) == notes_for("10-11", "sketch", 2) != []
    assert notes_on("10-11", "sketch", 4) == list(OPEN["10-11", "sketch", 4])
    assert notes_on("2-3", "sketch", 1) == []


def _steady_lines(commission: Commission) -> np.ndarray:
    scene = scene_of(commission)
    return np.maximum(lines(scene, 1200, STEADY, "the same hand"), text_room(scene, 1200, "the same hand"))


def _changed_share(one: np.ndarray, other: np.ndarray, box: tuple[float, float, float, float]) -> float:
    high, wide = one.shape
    rows, columns = slice(int(box[1] * high), int(box[3] * high)), slice(int(box[0] * wide), int(box[2] * wide))
    return float(np.mean(np.abs(one[rows, columns].astype(int) - other[rows, columns]) > 60))


@pytest.mark.parametrize("key", CHANGES, ids=str)
def test_what_is_said_to_move_really_moves(key):
    piece, stage, version = key
    before, after = (_steady_lines(_find(piece, stage, number)) for number in (version - 1, version))
    for change in CHANGES[key]:
        for box in (change.before, change.after):
            if box:
                assert _changed_share(before, after, box) > CHANGED_SHARE, (change.edit, box)


def test_what_nobody_mentioned_stays():
    before, after = (_steady_lines(_find("16-17", "sketch", version)) for version in (1, 2))
    assert _changed_share(before, after, (0.0, 0.0, 0.45, 1.0)) == 0


def test_the_snail_drifts_between_the_approved_sketch_and_the_line():
    approved, line = _steady_lines(_find("8-9", "sketch", 2)), _steady_lines(_find("8-9", "line"))
    (drift,) = DRIFT["8-9", "line", 1]
    assert _changed_share(approved, line, drift.before) > CHANGED_SHARE
    assert _changed_share(approved, line, drift.after) > CHANGED_SHARE
    assert _changed_share(approved, line, (0.0, 0.0, 0.6, 1.0)) == 0


def test_flats_keep_the_palette_and_colour_does_not():
    scene = openings.leaving_home(2)
    bark = (round(600 * 96 / 506), round(600 * 130 / 506))  # on the stump, above the door
    assert tuple(flat(scene, 600, "flat")[bark[1], bark[0]]) == channels("#7d5640")
    assert tuple(colour(scene, 600, "colour")[bark[1], bark[0]]) != channels("#7d5640")
