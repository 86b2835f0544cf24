"""Join a drawing that was scanned in parts: find how the sheets overlap, place them, and hide the seam.

Sheets are arrays in and an array out; the sheets themselves are never changed, and the joined picture names its recipe.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.geometry import Affine
from reviews.imaging.arrays import Floats64, OnProgress, Pixels, no_progress
from reviews.imaging.sheets import seams
from reviews.imaging.sheets.placing import Joint, applied, distances_apart, place_sheets, solved
from reviews.imaging.sheets.strips import row_strips

METHOD = "joining-2"
# Places are first looked for at this size: a 300 dpi sheet keeps its lines, not its paper fibres.
_SEARCH_PX = 1400
_MIN_SCALE, _MAX_SCALE, _MAX_TURN_DEGREES = 0.9, 1.11, 12.0
# Fewer agreeing places than this happen by chance between two unrelated drawings (measured: 7 at most).
_MIN_PLACES = 14
# At any scale and turn chance agrees more often; this many are needed to say that sheets differ in size.
_SURE_PLACES, _LEAST_SIZE = 40, 0.15
# Patches compared at full size. Smaller ones are not unique on plain line work, larger ones blur a turn.
_PATCH_PX, _SEARCH_AROUND_PX = 64, 12
_MAX_PATCHES = 400
# Overlaps below this share of the smaller sheet leave the turn undetermined.
_MIN_OVERLAP = 0.02
# Share of patches that must agree on one placing within `_AGREE_PX`.
_MIN_AGREEMENT, _AGREE_PX = 0.6, 1.5


@dataclass(frozen=True, kw_only=True)
class JoinedScan:
    """Sheets joined into one picture.

    Attributes
    ----------
    picture : (rows, columns, 3) uint8, red first; white where no sheet reaches.
    maps : for each sheet, the map from its pixels (middle of the first pixel is 0, 0) to the picture's.
    residual_px : how far the places common to two sheets lie apart after joining, median.
    agreement : share of compared patches that agree with the placing within 1.5 px, over the worst joint.
    recipe : plain values from which the same picture can be made again from the same sheets.
    """

    picture: Pixels
    maps: tuple[Affine, ...]
    residual_px: float
    agreement: float
    recipe: dict[str, Any]
    method: str = METHOD


@dataclass(frozen=True)
class CouldNotJoin:
    """Sheets that could not be joined, and why. A sheet is named as people call it, or by its number."""

    code: Literal["one-sheet", "different-sizes", "no-overlap"]
    values: Mapping[str, Any] = field(default_factory=dict)
    method: str = METHOD


@dataclass(frozen=True)
class _Marks:
    """Places of a sheet that can be found again: points in the small copy, and what each looks like."""

    points: Floats64
    looks: Any


@dataclass(frozen=True)
class _OtherSize:
    """Two sheets show the same drawing at sizes too different to be joined; how many times larger the second is."""

    one: int
    two: int
    times: float


def join_scans(
    sheets: Sequence[Pixels],
    *,
    names: Sequence[str] = (),
    canvas: Callable[[int, int], Pixels] = seams.white_canvas,
    on_progress: OnProgress = no_progress,
) -> JoinedScan | CouldNotJoin:
    """Join two or more overlapping scans of one drawing.

    Parameters
    ----------
    sheets : (rows, columns, 3) uint8 arrays, red first, all at about the same resolution, in any order.
    names : what people call the sheets; numbers from 1 when left out.
    canvas : makes the white picture that is drawn into, from its height and width.
    on_progress : called with the share done, 0 to 1, and the step that is being done.

    Notes
    -----
    Rough places by SIFT features and RANSAC, then patches matched to a fraction of a pixel at full size, then one
    least-squares placing of all sheets together (turn, scale and shift each; the first sheet stays as it is).
    Does not undo the swelling of a page that does not lie flat.
    """
    if len(sheets) < 2:
        return CouldNotJoin("one-sheet")
    found = _all_joints(sheets, on_progress)
    joints = [each for each in found if isinstance(each, Joint)]
    missing = set(range(len(sheets))) - _reached(joints)
    if missing:
        called: list[str | int] = [*names] or [*range(1, len(sheets) + 1)]
        return _why_not(missing, [each for each in found if isinstance(each, _OtherSize)], called)
    placed = place_sheets(joints, len(sheets))
    apart = np.concatenate([distances_apart(joint, placed) for joint in joints])
    agreement = min(joint.agreement for joint in joints)
    on_progress(0.6, {"code": "laying-sheets"})
    composed = seams.compose(sheets, placed, canvas)
    residual_px = float(np.median(apart))
    return JoinedScan(
        picture=composed.picture,
        maps=tuple(composed.maps),
        residual_px=residual_px,
        agreement=agreement,
        recipe=_recipe(composed, residual_px, agreement),
    )


def _recipe(composed: seams.Composed, residual_px: float, agreement: float) -> dict[str, Any]:
    """Write down how the picture was made: maps to make it again, turn, size and overlap to say to people."""
    height, width = composed.picture.shape[:2]
    sheets = [
        {
            "turn_degrees": float(np.degrees(np.arctan2(to_canvas.rows()[1][0], to_canvas.rows()[0][0]))),
            "scale": float(np.hypot(to_canvas.rows()[0][0], to_canvas.rows()[1][0])),
            "overlap": overlap,
        }
        for to_canvas, overlap in zip(composed.maps, composed.overlaps, strict=True)
    ]
    return {
        "method": METHOD,
        "maps": [each.rows() for each in composed.maps],
        "size_px": [width, height],
        "sheets": sheets,
        "bare_share": composed.bare_share,
        "residual_px": residual_px,
        "agreement": agreement,
    }


def _all_joints(sheets: Sequence[Pixels], on_progress: OnProgress) -> list[Joint | _OtherSize | None]:
    """Look at every pair of sheets for what they have in common."""
    on_progress(0.0, {"code": "looking-for-shared"})
    shrink = min(1.0, _SEARCH_PX / max(max(sheet.shape) for sheet in sheets))
    marks = [_marks(sheet, shrink) for sheet in sheets]
    pairs = list(itertools.combinations(range(len(sheets)), 2))
    found = []
    for n, (one, two) in enumerate(pairs):
        found.append(_joint(sheets, marks, shrink, one, two))
        on_progress(0.1 + 0.5 * (n + 1) / len(pairs), {"code": "compared-sheets", "one": one + 1, "two": two + 1})
    return found


def _why_not(missing: set[int], other_size: Sequence[_OtherSize], called: Sequence[str | int]) -> CouldNotJoin:
    """Say which sheets could not be joined, and the likeliest reason."""
    for each in other_size:
        if missing & {each.one, each.two}:
            larger, smaller = (each.two, each.one) if each.times > 1 else (each.one, each.two)
            times = max(each.times, 1 / each.times)
            sizes = {"times": times, "larger": called[larger], "smaller": called[smaller]}
            return CouldNotJoin("different-sizes", sizes)
    return CouldNotJoin("no-overlap", {"sheets": [called[n] for n in sorted(missing)]})


def _reached(joints: Sequence[Joint]) -> set[int]:
    """The sheets that hang together with the first one."""
    reached = {0}
    while grown := {n for j in joints if reached & {j.one, j.two} for n in (j.one, j.two)} - reached:
        reached |= grown
    return reached


def _grey(sheet: Pixels) -> Pixels:
    return np.asarray(cv2.cvtColor(sheet, cv2.COLOR_RGB2GRAY), np.uint8)


def _joint(
    sheets: Sequence[Pixels], marks: Sequence[_Marks | None], shrink: float, one: int, two: int
) -> Joint | _OtherSize | None:
    """Find what two sheets have in common; None where nothing certain is found."""
    first, second = marks[one], marks[two]
    rough, n_places = _rough_map(first, second, shrink) if first and second else (None, 0)
    if rough is None or not _is_plausible(rough):
        return _other_size(one, two, rough, n_places)
    found = _patches(_grey(sheets[one]), _grey(sheets[two]), rough)
    if found is None:
        return None
    at_one, at_two = found
    fitted = _fit_similarity(at_two, at_one)
    apart = np.hypot(*(applied(fitted, at_two) - at_one).T)
    agreement = float(np.mean(apart < _AGREE_PX))
    if agreement < _MIN_AGREEMENT:
        return None
    good = apart < 2 * _AGREE_PX
    return Joint(one, two, at_one[good], at_two[good], agreement)


def _marks(sheet: Pixels, shrink: float) -> _Marks | None:
    """Find places in a small copy of a sheet; None on a sheet with hardly anything on it."""
    small = cv2.resize(_grey(sheet), None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    finder = cv2.SIFT.create(nfeatures=4000, contrastThreshold=0.02)
    found, looks = finder.detectAndCompute(cv2.GaussianBlur(small, (0, 0), 1.0), None)
    if looks is None or len(found) < _MIN_PLACES:
        return None
    return _Marks(np.array([point.pt for point in found]), looks)


def _rough_map(one: _Marks, two: _Marks, shrink: float) -> tuple[Floats64 | None, int]:
    """Find the map from the second sheet's pixels to the first's, within some pixels (2 x 3), and its support."""
    pairs = [
        best
        for best, second in cv2.BFMatcher(cv2.NORM_L2).knnMatch(two.looks, one.looks, k=2)
        if best.distance < 0.8 * second.distance
    ]
    if len(pairs) < _MIN_PLACES:
        return None, 0
    there = two.points[[pair.queryIdx for pair in pairs]]
    here = one.points[[pair.trainIdx for pair in pairs]]
    cv2.setRNGSeed(7)
    fitted, inliers = cv2.estimateAffinePartial2D(
        there, here, ransacReprojThreshold=2.5, maxIters=5000, confidence=0.999
    )
    if fitted is None or int(inliers.sum()) < _MIN_PLACES:
        return None, 0
    rough = np.asarray(fitted, np.float64)
    # From pixels of the small copies to pixels of the sheets: middles of pixels are half a pixel from their edges.
    turned_half = rough[:, :2] @ np.array([0.5, 0.5])
    rough[:, 2] = (rough[:, 2] + 0.5 - turned_half) / shrink - 0.5 + turned_half
    return rough, int(inliers.sum())


def _other_size(one: int, two: int, rough: Floats64 | None, n_places: int) -> _OtherSize | None:
    """Say that two sheets show one drawing at different sizes, where that is beyond chance."""
    if rough is None or n_places < _SURE_PLACES or not _LEAST_SIZE < _scale_of(rough) < 1 / _LEAST_SIZE:
        return None
    return None if _MIN_SCALE < _scale_of(rough) < _MAX_SCALE else _OtherSize(one, two, 1 / _scale_of(rough))


def _scale_of(found: Floats64) -> float:
    return float(np.hypot(found[0, 0], found[1, 0]))


def _is_plausible(found: Floats64) -> bool:
    """Say whether two scans can lie like this: at one size, and straight or turned on the glass by quarters."""
    turn = float(np.degrees(np.arctan2(found[1, 0], found[0, 0])))
    return _MIN_SCALE < _scale_of(found) < _MAX_SCALE and abs(turn - 90 * round(turn / 90)) < _MAX_TURN_DEGREES


def _patches(one: Pixels, two: Pixels, rough: Floats64) -> tuple[Floats64, Floats64] | None:
    """Match small patches of the overlap at full size, to a fraction of a pixel; None when too little overlaps."""
    rows, columns = one.shape
    warped: Pixels = np.asarray(
        cv2.warpAffine(two, rough, (columns, rows), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), np.uint8
    )
    covered = cv2.warpAffine(np.full_like(two, 255), rough, (columns, rows)) == 255
    if covered.mean() * one.size < _MIN_OVERLAP * min(one.size, two.size):
        return None
    corners = _distinct_corners(one, covered)
    back = np.asarray(cv2.invertAffineTransform(rough), np.float64)
    at_one, at_two = [], []
    for left, top in corners:
        moved = _shift_of(one, warped, int(left), int(top))
        if moved is not None:
            middle = np.array([left + (_PATCH_PX - 1) / 2, top + (_PATCH_PX - 1) / 2])
            at_one.append(middle)
            at_two.append(applied(back, (middle + moved)[None])[0])
    if len(at_one) < _MIN_PLACES:
        return None
    return np.array(at_one), np.array(at_two)


def _distinct_corners(grey: Pixels, covered: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Choose patches that can only fit in one place: corners and crossings, spread over the overlap."""
    reach = _PATCH_PX + 2 * _SEARCH_AROUND_PX
    inner = cv2.erode(covered.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=reach // 2, borderValue=0)
    found = []
    # Whole cells per strip, and a margin as wide as what the response looks at.
    for strip in row_strips(grey.shape[0], margin=_PATCH_PX, step=4 * _PATCH_PX):
        seen = cv2.GaussianBlur(np.ascontiguousarray(grey[strip.seen]), (0, 0), 1.5)
        response = cv2.cornerMinEigenVal(seen, _PATCH_PX // 2)[strip.inner]
        response = np.where(inner[strip.rows] > 0, response, 0)
        for at in range(0, strip.bottom - strip.top, _PATCH_PX):
            for left in range(0, grey.shape[1], _PATCH_PX):
                cell = response[at : at + _PATCH_PX, left : left + _PATCH_PX]
                y, x = np.unravel_index(int(cell.argmax()), cell.shape)
                if cell[y, x] > 0:
                    top = strip.top + at + int(y) - _PATCH_PX // 2
                    found.append((float(cell[y, x]), left + int(x) - _PATCH_PX // 2, top))
    found.sort(reverse=True)
    return np.array([place[1:] for place in found[:_MAX_PATCHES]], np.int64).reshape(-1, 2)


def _shift_of(one: Pixels, warped: Pixels, left: int, top: int) -> Floats64 | None:
    """Find how far a patch of the first sheet has moved in the warped second; None without a clear answer."""
    around = _SEARCH_AROUND_PX
    if min(left, top) < around or top + _PATCH_PX + around > one.shape[0] or left + _PATCH_PX + around > one.shape[1]:
        return None
    patch = one[top : top + _PATCH_PX, left : left + _PATCH_PX]
    field = warped[top - around : top + _PATCH_PX + around, left - around : left + _PATCH_PX + around]
    scores = cv2.matchTemplate(field, patch, cv2.TM_CCOEFF_NORMED)
    _, best, _, (x, y) = cv2.minMaxLoc(scores)
    if best < 0.6 or not (0 < x < scores.shape[1] - 1 and 0 < y < scores.shape[0] - 1):
        return None
    return np.array([x + _peak(*scores[y, x - 1 : x + 2]) - around, y + _peak(*scores[y - 1 : y + 2, x]) - around])


def _peak(before: float, at: float, after: float) -> float:
    """The top of the parabola through three neighbouring scores, from the middle one."""
    bend = float(before) - 2 * float(at) + float(after)
    return 0.0 if bend >= 0 else float(np.clip(0.5 * (float(before) - float(after)) / bend, -0.5, 0.5))


def _fit_similarity(there: Floats64, here: Floats64) -> Floats64:
    """Fit turn, scale and shift robustly; 2 x 3."""
    weights = np.ones(len(there))
    for _ in range(12):
        fitted = solved(Joint(0, 1, here, there, 0.0), weights)
        apart = np.hypot(*(applied(fitted, there) - here).T)
        weights = 1 / (1 + (apart / 0.7) ** 2) ** 2
    return fitted
