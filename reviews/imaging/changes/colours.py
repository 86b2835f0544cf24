"""Changes of colour, tone and small inner details between two versions in the same medium.

Lines do not see them: the orientation field has no colour. If the colours of A go over into those of B by one
smooth map for the whole page (the two are in the same medium), what still differs after that map, after slow light
and after the hand's tolerance, is a change of the paint or a detail.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Bools, BoxPx, Floats32
from reviews.imaging.changes.colour_maps import explained_share, in_colours_of, lab_distance
from reviews.imaging.changes.warp import WarpedPair

METHOD = "colour-map 4"
SAME_MEDIUM = 0.72  # share of B's Lab variance that one colour map for the page explains
_LEAST_DIFFERENCE, _NOISE_FACTOR = 7.0, 4.5  # CIE Lab units, and multiples of the page's own median difference
_LEAST_AREA_MM2 = 7.0
# Two drawings on bare paper go over into each other by some map nearly always. They are in the same medium only if
# no map is needed at all: a line drawing and its correction, not a sketch and its ink.
_DRY_EXPLAINED = 0.9
# Where another hand, grade or grain lies between the two, more than this is left on the page's median and patches tell
# that, not what was painted anew. Pairs of one hand leave at most 2, others 3.7 and more (tuning pairs).
MOST_LEFT = 3.0
_WET_DIFFERENCE = 11.0  # brush dabs of another hand differ by up to about this
_PAPER_SHARE = 0.93
_JOIN_MM = 2.5
_CORE, _SHELLS = 0.45, 2  # a patch reaches to this share of its greatest difference; what lies around is asked again


@dataclass(frozen=True, eq=False)
class PaintedPatch:
    """A place whose paint differs, in px of A's working frame."""

    box: BoxPx
    area_mm2: float
    difference: float  # mean, in Lab units


@dataclass(frozen=True, eq=False)
class Paint:
    explained: float  # share of variance one colour map explains, 0..1
    is_same_medium: bool
    painted: tuple[bool, bool]  # whether A and B are painted, not drawn on bare paper
    patches: tuple[PaintedPatch, ...]  # largest first; none unless the colours can be compared
    usual: float | None = None  # median difference left over the page (Lab units), where colours were brought together

    @property
    def is_compared(self) -> bool:
        """Whether a new colour would have been seen: in one medium, with little left over the page as a whole."""
        return self.is_same_medium and self.usual is not None and self.usual <= MOST_LEFT

    def mm2_in(self, box: BoxPx) -> float:
        """Give how many mm2 were painted differently within a box, each patch as if spread evenly over its own box."""
        area = 0.0
        for patch in self.patches:
            w = min(box[2], patch.box[2]) - max(box[0], patch.box[0])
            h = min(box[3], patch.box[3]) - max(box[1], patch.box[1])
            whole = (patch.box[2] - patch.box[0]) * (patch.box[3] - patch.box[1])
            if w > 0 and h > 0:
                area += patch.area_mm2 * w * h / whole
        return area


def is_painted(lab: Floats32, inside: Bools) -> bool:
    """Return whether a Lab picture (rows, columns, 3) is painted: its lines wiped out, not nearly all is paper.

    Only where B covers A: the darkness beyond B's sheet made every drawing look painted.
    """
    small = cv2.resize(lab, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    kernel = np.ones((5, 5), np.uint8)
    seen = cv2.erode(cv2.resize(inside.astype(np.uint8), small.shape[1::-1], interpolation=cv2.INTER_AREA), kernel) > 0
    if not seen.any():
        return False
    light = cv2.dilate(small[..., 0], kernel)[seen]
    chroma = cv2.erode(np.hypot(small[..., 1], small[..., 2]), kernel)[seen]
    paper = (light > float(np.percentile(light, 95)) - 12) & (chroma < 14)
    return float(paper.mean()) < _PAPER_SHARE


def find_paint_changes(pair: WarpedPair) -> Paint:
    """Compare the paint of two versions in the same medium."""
    painted = is_painted(pair.lab_a, pair.inside), is_painted(pair.lab_b, pair.inside)
    if painted[0] != painted[1]:
        return Paint(0.0, False, painted, ())
    a, b, inside = (_half(x) for x in (pair.lab_a, pair.lab_b, pair.inside.astype(np.float32)))
    seen = inside > 0.99
    if seen.sum() < 200:
        return Paint(0.0, False, painted, ())
    k = pair.px_per_mm / 2
    if not all(painted):
        explained = explained_share(a[seen][::7], b[seen][::7])
        is_same = explained >= _DRY_EXPLAINED
        # What changes in a drawing is its lines, and they are compared as lines. A few flat colours on bare paper are
        # seen by their hue; no map is needed between two such sheets, or they would not be in the same medium.
        hues = (_without_lines(_hue(a)), _without_lines(_hue(b))) if is_same else None
        return Paint(explained, is_same, painted, *(_painted_anew(*hues, pair, seen) if hues else ((), None)))
    a, b = _without_lines(a), _without_lines(b)
    mapped, explained = in_colours_of(a, b, seen, k)
    if explained < SAME_MEDIUM:
        return Paint(explained, False, painted, ())
    return Paint(explained, True, painted, *_painted_anew(mapped, b, pair, seen))


def _painted_anew(a: Floats32, b: Floats32, pair: WarpedPair, seen: Bools) -> tuple[tuple[PaintedPatch, ...], float]:
    """Gather where the paint differs, both in B's colours and at half the working size; and how much is left usually.

    Too much left all over the page: then nothing of it is told of any place.
    """
    k = pair.px_per_mm / 2
    difference = tolerant_difference(a, b, max(1, round(0.6 * pair.looseness * k)))
    wide = cv2.morphologyEx(np.where(seen, difference, 0).astype(np.float32), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    soft = np.asarray(cv2.GaussianBlur(wide, (0, 0), max(0.6, 0.6 * k)), np.float32)
    usual = float(np.median(soft[seen])) if seen.any() else 0.0
    if usual > MOST_LEFT:
        return (), usual
    return tuple(p for p in _patches(soft, usual, k) if p.difference >= _WET_DIFFERENCE), usual


def _hue(lab: Floats32) -> Floats32:
    """Return the picture without its lightness: pencil and ink have none of what is left."""
    return lab * np.array([0, 1, 1], np.float32)


def _without_lines(lab: Floats32) -> Floats32:
    """Return the paint without thin lines: one drawn over it, or left out, is what lines are compared for."""
    return np.stack([cv2.medianBlur(np.ascontiguousarray(lab[..., i]), 5) for i in range(3)], 2)


def _half(picture: Floats32) -> Floats32:
    return np.asarray(cv2.resize(picture, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), np.float32)


def tolerant_difference(one: Floats32, other: Floats32, reach_px: int) -> Floats32:
    """Return the Lab distance left when either side may shift by `reach_px`: an edge a little off is no change.

    Where the two differ by less than anything shown the plain distance stands, which is never less.
    """
    soft = [np.asarray(cv2.GaussianBlur(p, (0, 0), 0.8), np.float32) for p in (one, other)]
    out = lab_distance(soft[0], soft[1])
    rows, columns = np.nonzero(out > _LEAST_DIFFERENCE)
    ways = []
    for fixed, loose in ((soft[0], soft[1]), (soft[1], soft[0])):
        padded = cv2.copyMakeBorder(loose, *(reach_px,) * 4, cv2.BORDER_REPLICATE)
        mine, best = fixed[rows, columns], np.full(len(rows), np.inf, np.float32)
        for dy in range(2 * reach_px + 1):
            for dx in range(2 * reach_px + 1):
                step = mine - padded[rows + dy, columns + dx]
                np.minimum(best, (step * step).sum(1), out=best)
        ways.append(np.sqrt(best))
    out[rows, columns] = np.maximum(*ways)
    return out


def _patches(soft: Floats32, usual: float, k: float) -> tuple[PaintedPatch, ...]:
    """Gather what differs by more than the page's own noise, `usual`, into patches."""
    least = max(_LEAST_DIFFERENCE, _NOISE_FACTOR * usual)
    left = soft > least
    found: list[PaintedPatch] = []
    for _ in range(_SHELLS):
        strong = _cores(soft, left, k)
        found += _gathered(soft, strong, k)
        around = cv2.dilate(strong.astype(np.uint8), _disc(_JOIN_MM * k))
        left = left & (around == 0)
    return tuple(sorted(found, key=lambda p: -p.area_mm2 * p.difference))


def _disc(across_px: float) -> NDArray[np.uint8]:
    side = 2 * max(1, round(across_px / 2)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), np.uint8)


def _cores(soft: Floats32, mask: Bools, k: float) -> Bools:
    """Keep of every connected part what differs about half as much as the most of it: a halo has no own border."""
    joined = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, _disc(_JOIN_MM * k))
    count, labels = cv2.connectedComponents(joined, connectivity=8)
    rows, columns = np.nonzero(mask)
    owner, value = labels[rows, columns], soft[rows, columns]
    top = np.zeros(count, np.float32)
    np.maximum.at(top, owner.astype(np.intp), value)
    out = np.zeros_like(mask)
    strong = value > _CORE * top[owner]
    out[rows[strong], columns[strong]] = True
    return out


def _gathered(soft: Floats32, mask: Bools, k: float) -> list[PaintedPatch]:
    joined = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, _disc(_JOIN_MM * k))
    count, labels = cv2.connectedComponents(joined, connectivity=8)
    rows, columns = np.nonzero(mask)
    owner = labels[rows, columns]
    area = np.bincount(owner, minlength=count) / k**2
    found = []
    for i in np.nonzero(area >= _LEAST_AREA_MM2)[0]:
        y, x = rows[owner == i], columns[owner == i]
        x0, y0, x1, y1 = (float(2 * end) for end in (x.min(), y.min(), x.max() + 1, y.max() + 1))
        found.append(PaintedPatch((x0, y0, x1, y1), float(area[i]), float(soft[y, x].mean())))
    return found
