"""Where the subject of a note is on the new version.

The page's own map first. Then what lies in the note's place is looked for within 30 mm of it, also a little larger,
smaller or turned; the find is accepted only if it is plainly better than staying. A note that stays is never
polished: that loses more than it gains.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import cv2
import numpy as np

from reviews.imaging.fields import Complexes, Floats32, Matrix, fetch_field, reduced, two_channels
from reviews.imaging.laid import Laid
from reviews.imaging.matching import box_correlation, cut_out, peak_fraction
from reviews.imaging.strokes import Unmatched

BoxPx = tuple[float, float, float, float]

METHOD = "followed-strokes 2"
_REACH_MM, _AROUND_MM = 30.0, 2.0
_SCALES = (0.72, 0.8, 0.9, 1.12, 1.25, 1.38)
_TURNS_DEG = (-22.0, -15.0, -8.0, 8.0, 15.0, 22.0)
_FAR_COST, _BENT_COST = 0.10, 0.04
# A part goes with its figure unless it is found plainly better elsewhere.
_WITH_THE_FIGURE, _LEAST_WITH_FIGURE = 0.35, 0.45
_LIES_ON = 0.5  # share of the note that lies on a figure for it to be part of it
_BARE_MM, _PART_SHARE = 8.0, 0.5
_AT_HOME, _GAIN_AWAY, _GAIN_FROM_HOME = 0.6, 0.06, 0.3
_PLAIN, _PLAIN_GAIN = 0.8, 0.35  # such a match is believed whatever the lines say
LOST = 0.42  # a match under this: the subject is not there any more


@dataclass(frozen=True)
class Carried:
    """Where the content of a box went, in px of A's working frame."""

    dx: float
    dy: float
    scale: float
    turn_deg: float
    match: float
    match_at_rest: float
    is_followed: bool
    is_with_figure: bool = False  # by what its whole figure did, however little can be seen of itself there


@dataclass(frozen=True, eq=False)
class Ground:
    """Both versions at half the working size, made once and used for every note."""

    laid: Laid
    unmatched: Unmatched
    moves: tuple[tuple[BoxPx, float, float], ...] = ()  # what is known to have moved, and how far in px

    @cached_property
    def a(self) -> Complexes:
        return reduced(self.laid.za, 0.5)

    @cached_property
    def b(self) -> Complexes:
        """B before drift was taken out, with a border as wide as the search."""
        pad = self.reach
        padded = cv2.copyMakeBorder(
            two_channels(reduced(self.laid.zb_undrifted, 0.5)), pad, pad, pad, pad, cv2.BORDER_CONSTANT
        )
        return np.ascontiguousarray(padded).view(np.complex64)[..., 0]

    @cached_property
    def fresh_a(self) -> Floats32:
        soft = cv2.dilate(self.unmatched.a, np.ones((3, 3), np.uint8))
        return np.asarray(cv2.resize(soft, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), np.float32)

    @property
    def reach(self) -> int:
        return round(_REACH_MM * self.laid.px_per_mm / 2)


def carry(ground: Ground, box: BoxPx) -> Carried:
    """Follow the content of a box (px of A's working frame: left, top, right, bottom)."""
    x0, y0, x1, y1 = _half_box(ground, box)
    if x1 - x0 < 6 or y1 - y0 < 6:
        return Carried(0, 0, 1, 0, 0, 0, False)
    part = ground.a[y0:y1, x0:x1]
    mass, share = _unmatched_in(ground, box)
    best, rest = _best_place(ground, part, (x0, y0, x1, y1))
    along = _along_a_move(ground, box, rest)
    is_bare, is_bent = line_mm(ground, box) < _BARE_MM, (best.scale, best.turn_deg) != (1.0, 0.0)
    if along and (is_bare or best.match < max(along.match + _WITH_THE_FIGURE, _PLAIN if is_bent else 0.5)):
        return along
    is_better = best.match > _to_beat(rest) and share > 0.1 and (best.match > 0.5 or mass > 50)
    is_plain = best.match > max(_PLAIN, rest + _PLAIN_GAIN) and not (is_bare and is_bent)
    if is_better or is_plain:
        return _refined(ground, best, box)
    if mass > 25 and share > 0.2 and rest < _AT_HOME:
        weighted = (part * np.minimum(1, 2 * ground.fresh_a[y0:y1, x0:x1])).astype(np.complex64)
        second, rest_2 = _best_place(ground, weighted, (x0, y0, x1, y1))
        is_plain = second.match > 0.55 and second.match > rest_2 + 0.3 and share > 0.35
        if is_plain or (mass > 60 and second.match > 0.38 and second.match > rest_2 + 0.2):
            return _refined(ground, second, box)
    return Carried(0, 0, 1, 0, rest, rest, False)


def _to_beat(rest: float) -> float:
    """Return the match that speaks for a move: what is still found well where it was has hardly gone."""
    return rest + (_GAIN_AWAY if rest < _AT_HOME else _GAIN_FROM_HOME)


def _along_a_move(ground: Ground, box: BoxPx, rest: float) -> Carried | None:
    """Return the find where a figure that the box lies on went, however far.

    The content must be found there; what is bare, or mostly lines that left their place, goes along without that.
    """
    area = max(1.0, (box[2] - box[0]) * (box[3] - box[1]))
    is_bare, is_part = line_mm(ground, box) < _BARE_MM, _unmatched_in(ground, box)[1] > _PART_SHARE
    finds = []
    for old, dx, dy in ground.moves:
        w, h = min(box[2], old[2]) - max(box[0], old[0]), min(box[3], old[3]) - max(box[1], old[1])
        if w <= 0 or h <= 0 or w * h < _LIES_ON * area:
            continue
        found = _refined(ground, Carried(dx, dy, 1, 0, 0, rest, True), box)
        is_there = found.match > max(_LEAST_WITH_FIGURE, _to_beat(rest))
        if is_there or is_bare or (is_part and found.match > rest - 0.05):
            finds.append(replace(found, is_with_figure=True))
    return max(finds, key=lambda f: f.match, default=None)


def _half_box(ground: Ground, box: BoxPx) -> tuple[int, int, int, int]:
    k = ground.laid.px_per_mm
    height, width = ground.a.shape
    x0, y0 = (max(0, int((v - _AROUND_MM * k) / 2)) for v in box[:2])
    x1, y1 = (int(np.ceil((v + _AROUND_MM * k) / 2)) for v in box[2:])
    return x0, y0, min(width, x1), min(height, y1)


def line_mm(ground: Ground, box: BoxPx) -> float:
    """Return mm of A's line inside the box."""
    x0, y0, x1, y1 = (max(0, round(v)) for v in box)
    return float(ground.unmatched.ridges_a[y0:y1, x0:x1].sum()) / ground.laid.px_per_mm


def _unmatched_in(ground: Ground, box: BoxPx) -> tuple[float, float]:
    """Return mm of A's line without a counterpart inside the box, and as a share of the lines there."""
    x0, y0, x1, y1 = (max(0, round(v)) for v in box)
    loose = float(ground.unmatched.a[y0:y1, x0:x1].sum()) / ground.laid.px_per_mm
    return loose, loose / max(line_mm(ground, box), 1.0 / ground.laid.px_per_mm)


def _best_place(ground: Ground, part: Complexes, at: tuple[int, int, int, int]) -> tuple[Carried, float]:
    """Return the best place over shifts, some scales and some turns (`match` without costs), and the match at rest."""
    reach = ground.reach
    x0, y0, x1, y1 = at
    window = ground.b[y0 : y1 + 2 * reach, x0 : x1 + 2 * reach]
    prior = _far_cost(reach)
    top, chosen, rest = -1.0, Carried(0, 0, 1, 0, 0, 0, False), 0.0
    for scale, turn in [(1.0, 0.0), *((s, 0.0) for s in _SCALES), *((1.0, t) for t in _TURNS_DEG)]:
        bent = part if scale == 1 and turn == 0 else _bent(part, scale, turn)
        found = box_correlation(window, bent)
        if scale == 1 and turn == 0:
            rest = float(found[reach, reach])
        judged = found - prior - (_BENT_COST if (scale, turn) != (1.0, 0.0) else 0.0)
        row, column = divmod(int(np.argmax(judged)), judged.shape[1])
        if float(judged[row, column]) > top:
            top = float(judged[row, column])
            chosen = Carried(
                2.0 * (column - reach), 2.0 * (row - reach), scale, turn, float(found[row, column]), rest, True
            )
    return chosen, rest


def _far_cost(reach: int) -> Floats32:
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1].astype(np.float32)
    return np.asarray(_FAR_COST * np.hypot(x, y) / max(1, reach), np.float32)


def _bent(part: Complexes, scale: float, degrees: float) -> Complexes:
    """Return the part resized and turned about its middle, in a frame of the same size."""
    height, width = part.shape
    c, s = scale * np.cos(np.deg2rad(degrees)), scale * np.sin(np.deg2rad(degrees))
    x, y = (width - 1) / 2, (height - 1) / 2
    forward: Matrix = np.array([[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y], [0, 0, 1]])
    return fetch_field(part, np.asarray(np.linalg.inv(forward), np.float64), (width, height))


def _refined(ground: Ground, found: Carried, box: BoxPx) -> Carried:
    """Settle an accepted find at the full working size, within 4 px, to a fraction of a pixel."""
    laid, near = ground.laid, 4
    x0, y0, x1, y1 = (round(v) for v in (max(0, box[0] - 5), max(0, box[1] - 5), box[2] + 5, box[3] + 5))
    part = laid.za[y0:y1, x0:x1]
    if (found.scale, found.turn_deg) != (1.0, 0.0):
        part = _bent(part, found.scale, found.turn_deg)
    height, width = part.shape
    left, top = x0 + round(found.dx) - near, y0 + round(found.dy) - near
    window = cut_out(laid.zb_undrifted, left, top, width + 2 * near, height + 2 * near)
    scores = box_correlation(window, part)
    row, column = divmod(int(np.argmax(scores)), scores.shape[1])
    sub_x, sub_y = peak_fraction(scores, row, column)
    return Carried(
        left + column + sub_x - x0,
        top + row + sub_y - y0,
        found.scale,
        found.turn_deg,
        found.match or float(scores[row, column]),
        found.match_at_rest,
        True,
    )
