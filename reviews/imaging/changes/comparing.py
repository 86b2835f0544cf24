"""Everything that is said about two versions of a passage, from their pixels and the print width."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from reviews.geometry import Affine, Box, Point, Region, map_region
from reviews.imaging.arrays import BoxPx, Matrix, Pixels
from reviews.imaging.changes import (
    candidates,
    colours,
    local_strain,
    photographs,
    pieces,
    ranking,
    registration,
    similar_figures,
    touch_evidence,
    transfer,
)
from reviews.imaging.changes.as_photographed import bent_back
from reviews.imaging.changes.candidates import find_candidates
from reviews.imaging.changes.colours import Paint, find_paint_changes
from reviews.imaging.changes.fields import WORK_PX, PreparedPicture, prepare
from reviews.imaging.changes.findings import (
    Alignment,
    ComparisonResult,
    Evidence,
    FoundChange,
    Media,
    NoteState,
    Remark,
    TransferredNote,
)
from reviews.imaging.changes.laying import Laid, lay
from reviews.imaging.changes.oddities import is_negative, repeating
from reviews.imaging.changes.pieces import find_pieces
from reviews.imaging.changes.place_evidence import Page
from reviews.imaging.changes.ranking import Ranked, rank_candidates
from reviews.imaging.changes.regions import FoundRegion
from reviews.imaging.changes.remarks import remarks_on
from reviews.imaging.changes.shared_part import coverage
from reviews.imaging.changes.strokes import Unmatched, find_unmatched
from reviews.imaging.changes.touch_evidence import AtNotes, evidence
from reviews.imaging.changes.transfer import Ground, TransferredBox, line_mm, transfer_box
from reviews.imaging.changes.warp import WarpedPair, warp_pair

_STEPS = (
    registration, photographs, pieces, local_strain, similar_figures, candidates, colours, ranking, transfer,
    touch_evidence,
)  # fmt: skip
METHOD = " + ".join(step.METHOD for step in _STEPS)
_MOST_PX_PER_MM, _USUAL_PX_PER_MM = 3.2, 2.4  # a small page needs no finer working size than the hand is steady
_POINT_MM = 6.5  # a point stands for what lies this near it
_LEAST_LINE_MM = 8.0
_UNKNOWN = Evidence("cannot-tell", 0.5, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Frame:
    """A's working frame: fractions of A to working pixels and back."""

    full_size: tuple[int, int]
    factor: float

    def to_px(self, box: Box) -> BoxPx:
        """Return a box in working pixels, counted from the middle of the first."""
        w, h = (side * self.factor for side in self.full_size)
        return box.x0 * w - 0.5, box.y0 * h - 0.5, box.x1 * w - 0.5, box.y1 * h - 0.5

    def to_box(self, px: BoxPx) -> Box:
        """Return a box of pixel edges as fractions."""
        w, h = (side * self.factor for side in self.full_size)
        return Box(px[0] / w, px[1] / h, px[2] / w, px[3] / h)


def compare(a_rgb: Pixels, b_rgb: Pixels, width_mm: float, notes: Sequence[Region] = ()) -> ComparisonResult:
    """Align the approved picture with the new one and say what changed and where each note is now.

    Parameters
    ----------
    a_rgb, b_rgb : (rows, columns, 3) uint8, sRGB, red first; 1200-4096 px on the longer side is plenty.
    width_mm : what the width of A measures in print. B needs no width: it is registered to A.
    notes : regions of A, fractions.

    Notes
    -----
    A picture turned by quarters, mirrored, squeezed or made a negative is compared after that was undone, and it is
    said. So is a photograph in perspective where it is sure how to straighten it, and it is never called certain. Two
    calls with the same pixels give the same numbers on the same machine.
    """
    if not width_mm > 0:
        raise ValueError("The print width must be a length over 0 mm.")
    laid = lay(a_rgb, b_rgb)
    if not laid.alignment.is_usable:
        return _side_by_side(laid.alignment, width_mm, notes)
    ground = _at_working_size(laid.a, laid.b, a_rgb, laid.b_rgb, width_mm)
    pair = warp_pair(ground.a, ground.b, ground.work_map(laid.upright), ground.px_per_mm)
    if is_negative(pair):
        positive = np.asarray(255 - laid.b_rgb, np.uint8)
        laid = replace(laid, b_rgb=positive, oddities=(*laid.oddities, Remark("negative")))
        ground = _at_working_size(laid.a, prepare(positive), a_rgb, positive, width_mm)
        pair = warp_pair(ground.a, ground.b, ground.work_map(laid.upright), ground.px_per_mm)
    return _compared(laid, ground, pair, width_mm, notes)


def _compared(
    laid: Laid, ground: _Prepared, pair: WarpedPair, width_mm: float, notes: Sequence[Region]
) -> ComparisonResult:
    """Say all there is to say of two pictures that lie on each other."""
    a, b, k = ground.a, ground.b, ground.px_per_mm
    at_rest = ground.work_map(laid.upright)
    repeats = repeating(a, k)
    oddities = (*laid.oddities, *([] if repeats is None else [repeats]))
    alignment = laid.alignment
    if laid.bent is None:
        result = _result(alignment, pair, ground.frame, width_mm, notes)
    else:
        straight = _result(laid.upright, pair, ground.frame, width_mm, notes)
        result = bent_back(straight, laid.bent, alignment)
    result = with_remarks(replace(result, coverage=coverage(a, b, at_rest), oddities=oddities))
    if len(alignment.readings) < 2:
        return result
    # What changed depends on what is taken for still, so the other reading has its own places and its own notes.
    turned, upright = (replace(one, readings=one.readings[::-1]) for one in (alignment, laid.upright))
    other = _result(turned, warp_pair(a, b, ground.work_map(upright), k), ground.frame, width_mm, notes)
    return replace(result, other_changes=other.changes, other_notes=other.notes)


@dataclass(frozen=True, eq=False)
class _Prepared:
    """Both pictures at the working size, with what a millimetre of print is there."""

    a: PreparedPicture
    b: PreparedPicture
    px_per_mm: float

    @property
    def frame(self) -> Frame:
        return Frame(self.a.full_size, self.a.factor)

    def work_map(self, alignment: Alignment) -> Matrix:
        """Return the first reading of an alignment as a map between working pixels."""
        full = np.vstack([np.array(alignment.readings[0].a_to_b_px).reshape(2, 3), [0.0, 0.0, 1.0]])
        return np.asarray(self.b.to_work @ full @ np.linalg.inv(self.a.to_work), np.float64)


def _at_working_size(
    a: PreparedPicture, b: PreparedPicture, a_rgb: Pixels, b_rgb: Pixels, width_mm: float
) -> _Prepared:
    """Take both as they were laid, or prepared anew and smaller where the page itself is small."""
    k = a.factor * a.full_size[0] / width_mm
    if k > _MOST_PX_PER_MM:
        work_px = max(300, round(WORK_PX * _USUAL_PX_PER_MM / k))
        a, b = prepare(a_rgb, work_px=work_px), prepare(b_rgb, work_px=work_px)
        k = a.factor * a.full_size[0] / width_mm
    return _Prepared(a, b, k)


def _side_by_side(alignment: Alignment, width_mm: float, notes: Sequence[Region]) -> ComparisonResult:
    """Say that the two could not be aligned: where each note is now cannot be told."""
    lost = tuple(_at_rest("cannot-tell", note, 0.0, _UNKNOWN) for note in notes)
    return with_remarks(ComparisonResult(method=METHOD, alignment=alignment, width_mm=width_mm, notes=lost))


def _result(
    alignment: Alignment, pair: WarpedPair, frame: Frame, width_mm: float, notes: Sequence[Region]
) -> ComparisonResult:
    """Say what changed and where the notes are by the first reading of an alignment."""
    unmatched, paint, k = find_unmatched(pair), find_paint_changes(pair), pair.px_per_mm
    pieces = find_pieces(pair, unmatched, paint)
    ranked = rank_candidates(Page(pair, unmatched, paint, find_candidates(pair, unmatched, paint, pieces)))
    to_b = alignment.a_to_b()
    # Not only the moves worth showing: a note asks each of them whether its subject went along.
    moves = tuple((s.old, s.vector_mm[0] * k, s.vector_mm[1] * k) for s in pieces if s.old and s.vector_mm)
    ground = Ground(pair, unmatched, moves)
    at_notes = AtNotes(ground, paint, ranked.traces)
    return ComparisonResult(
        method=METHOD,
        alignment=alignment,
        width_mm=width_mm,
        changes=tuple(_as_change(region, score, frame, to_b) for region, score in ranked.shown),
        unsure=tuple(_as_change(region, score, frame, to_b) for region, score in ranked.unsure),
        notes=tuple(_transferred_note(note, at_notes, frame, to_b) for note in notes),
        redraw_mm=pair.redraw_mm,
        least_move_mm=round(1.2 * max(1.0, pair.looseness), 1),
        largest_move_mm=_largest_move(pair, unmatched, ranked),
        media=_media(paint),
        is_colour_compared=paint.is_compared,
    )


def _media(paint: Paint) -> Media:
    return ("drawn", "one-painted", "both-painted")[sum(paint.painted)]


def with_remarks(result: ComparisonResult) -> ComparisonResult:
    """Give the comparison with what a person should know of it; all else stays as it is."""
    return replace(result, remarks=remarks_on(result))


def _largest_move(pair: WarpedPair, unmatched: Unmatched, ranked: Ranked) -> float:
    """Return the largest reported move, or else how far the still lines drifted (99 in 100 of them), in mm."""
    moves = [float(np.hypot(*s.vector_mm)) for s, _ in ranked.shown if s.vector_mm]
    if moves:
        return max(moves)
    drift = np.hypot(pair.drift[..., 0], pair.drift[..., 1])[unmatched.ridges_a]
    return float(np.percentile(drift, 99)) / pair.px_per_mm if drift.size else 0.0


def _as_change(region: FoundRegion, score: float, frame: Frame, to_b: Affine) -> FoundChange:
    old, new = (frame.to_box(b).clamped() if b else None for b in (region.old, region.new))
    whole = frame.to_box(region.box)
    on_b = map_region(Region("box", (Point(whole.x0, whole.y0), Point(whole.x1, whole.y1))), to_b).box
    mass = region.mass_mm if region.mass_mm > 0 else float(np.sqrt(region.paint_mm2))
    return FoundChange(
        label=region.label,
        old_on_a=old,
        new_on_a=new,
        on_b=on_b,
        vector_mm=region.vector_mm,
        mass_mm=mass,
        score=score,
        scale=region.scale,
        turn_deg=region.turn_deg,
    )


def _transferred_note(note: Region, seen_of: AtNotes, frame: Frame, to_b: Affine) -> TransferredNote:
    """Transfer one note: by the page's map, then to where its subject was followed."""
    ground = seen_of.ground
    k = ground.pair.px_per_mm
    box = frame.to_px(note.box)
    if note.kind == "point":
        reach = _POINT_MM * k
        box = box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach
    found = transfer_box(ground, box)
    seen = evidence(seen_of, box, found)
    by_page = map_region(note, to_b)
    is_lost = found.match < transfer.LOST and line_mm(ground, box) >= _LEAST_LINE_MM and not found.is_with_figure
    if is_lost or not _is_on_b(note, to_b):
        return _at_rest("cannot-tell", by_page, found.match, seen)
    at_rest = _at_rest("here", by_page, found.match, seen)
    if not found.is_followed:
        return at_rest
    return replace(
        at_rest,
        state="followed",
        on_b=map_region(note, to_b.after(_own_motion(note, found, frame))),
        vector_mm=(found.dx / k, found.dy / k),
        scale=found.scale,
        turn_deg=found.turn_deg,
    )


def _at_rest(state: NoteState, by_page: Region, match: float, seen: Evidence) -> TransferredNote:
    return TransferredNote(
        state=state,
        by_page=by_page,
        on_b=by_page,
        vector_mm=(0.0, 0.0),
        scale=1.0,
        turn_deg=0.0,
        match=match,
        evidence=seen,
    )


def _is_on_b(note: Region, to_b: Affine) -> bool:
    centre = to_b.apply(note.centre)
    return 0 <= centre.x <= 1 and 0 <= centre.y <= 1


def _own_motion(note: Region, found: TransferredBox, frame: Frame) -> Affine:
    """Return the subject's motion on A, in fractions: turn and scale about the note's middle, then the shift."""
    w, h = (side * frame.factor for side in frame.full_size)
    cos = found.scale * float(np.cos(np.deg2rad(found.turn_deg)))
    sin = found.scale * float(np.sin(np.deg2rad(found.turn_deg)))
    x, y = note.centre.x * w, note.centre.y * h
    dx, dy = x + found.dx - cos * x + sin * y, y + found.dy - sin * x - cos * y
    return Affine(cos, -sin * h / w, dx / w, sin * w / h, cos, dy / h)
