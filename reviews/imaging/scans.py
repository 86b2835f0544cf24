"""Join a drawing that was scanned in parts: find how the sheets overlap, place them, and hide the seam.

Sheets are arrays in and an array out; the sheets themselves are never changed, and the joined picture names its recipe.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.geometry import IDENTITY, Affine, affine_from_rows
from reviews.imaging import seams

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float64]

METHOD = "joining-1"
# Places are first looked for at this size: a 300 dpi sheet keeps its lines, not its paper fibres.
_SEARCH_PX = 1400
_MIN_SCALE, _MAX_SCALE, _MAX_TURN_DEGREES = 0.9, 1.11, 12.0
# Fewer agreeing places than this happen by chance between two unrelated drawings (measured: 7 at most).
_MIN_PLACES = 14
# Patches compared at full size. Smaller ones are not unique on plain line work, larger ones blur a turn.
_PATCH_PX, _SEARCH_AROUND_PX = 64, 12
_MAX_PATCHES = 400
# Overlaps below this share of the smaller sheet leave the turn undetermined.
_MIN_OVERLAP = 0.02
# Share of patches that must agree on one placing within `_AGREE_PX`.
_MIN_AGREEMENT, _AGREE_PX = 0.6, 1.5


@dataclass(frozen=True)
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
    """Sheets that could not be joined, and why, in a sentence."""

    code: str
    sentence: str
    method: str = METHOD


@dataclass(frozen=True)
class _Joint:
    """What two sheets have in common: matched points, one pair per row, in full-size pixels of each."""

    one: int
    two: int
    at_one: Floats
    at_two: Floats
    agreement: float


def join_scans(sheets: Sequence[Pixels]) -> JoinedScan | CouldNotJoin:
    """Join two or more overlapping scans of one drawing.

    Parameters
    ----------
    sheets : (rows, columns, 3) uint8 arrays, red first, all at about the same resolution, in any order.

    Notes
    -----
    Rough places by SIFT features and RANSAC, then patches matched to a fraction of a pixel at full size, then one
    least-squares placing of all sheets together (turn, scale and shift each; the first sheet stays as it is).
    Does not undo the swelling of a page that does not lie flat.
    """
    if len(sheets) < 2:
        return CouldNotJoin("one-sheet", "There is only one sheet; joining needs two or more that overlap.")
    joints = [
        joint
        for one, two in itertools.combinations(range(len(sheets)), 2)
        if (joint := _joint(sheets, one, two)) is not None
    ]
    missing = set(range(len(sheets))) - _reached(joints)
    if missing:
        names = ", ".join(str(n + 1) for n in sorted(missing))
        return CouldNotJoin(
            "no-overlap",
            f"No certain overlap was found for sheet {names}. Scan the parts again so that each shares at least two "
            "centimetres of drawing with its neighbour, all at the same resolution.",
        )
    placed = _place(joints, len(sheets))
    apart = np.concatenate([_apart(joint, placed) for joint in joints])
    agreement = min(joint.agreement for joint in joints)
    picture, maps = seams.compose(sheets, placed)
    recipe = {"method": METHOD, "maps": [each.rows() for each in maps], "size_px": [picture.shape[1], picture.shape[0]]}
    return JoinedScan(picture, tuple(maps), float(np.median(apart)), agreement, recipe)


def _reached(joints: Sequence[_Joint]) -> set[int]:
    """The sheets that hang together with the first one."""
    reached = {0}
    while grown := {n for j in joints if reached & {j.one, j.two} for n in (j.one, j.two)} - reached:
        reached |= grown
    return reached


def _grey(sheet: Pixels) -> Pixels:
    return np.asarray(cv2.cvtColor(sheet, cv2.COLOR_RGB2GRAY), np.uint8)


def _joint(sheets: Sequence[Pixels], one: int, two: int) -> _Joint | None:
    """Find what two sheets have in common; None where nothing certain is found."""
    greys = _grey(sheets[one]), _grey(sheets[two])
    rough = _rough_map(*greys)
    if rough is None:
        return None
    found = _patches(*greys, rough)
    if found is None:
        return None
    at_one, at_two = found
    fitted = _fit_similarity(at_two, at_one)
    apart = np.hypot(*(_applied(fitted, at_two) - at_one).T)
    agreement = float(np.mean(apart < _AGREE_PX))
    if agreement < _MIN_AGREEMENT:
        return None
    good = apart < 2 * _AGREE_PX
    return _Joint(one, two, at_one[good], at_two[good], agreement)


def _rough_map(one: Pixels, two: Pixels) -> Floats | None:
    """Find the map from the second sheet's pixels to the first's, within some pixels; 2 x 3."""
    shrink = min(1.0, _SEARCH_PX / max(*one.shape, *two.shape))
    finder = cv2.SIFT.create(nfeatures=4000, contrastThreshold=0.02)
    points, marks = [], []
    for grey in (one, two):
        small = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
        found, described = finder.detectAndCompute(cv2.GaussianBlur(small, (0, 0), 1.0), None)
        if described is None or len(found) < _MIN_PLACES:
            return None
        points.append(np.array([point.pt for point in found]))
        marks.append(described)
    pairs = [
        best
        for best, second in cv2.BFMatcher(cv2.NORM_L2).knnMatch(marks[1], marks[0], k=2)
        if best.distance < 0.8 * second.distance
    ]
    if len(pairs) < _MIN_PLACES:
        return None
    there = points[1][[pair.queryIdx for pair in pairs]]
    here = points[0][[pair.trainIdx for pair in pairs]]
    cv2.setRNGSeed(7)
    fitted, inliers = cv2.estimateAffinePartial2D(
        there, here, ransacReprojThreshold=2.5, maxIters=5000, confidence=0.999
    )
    if fitted is None or int(inliers.sum()) < _MIN_PLACES or not _is_plausible(fitted):
        return None
    rough = np.asarray(fitted, np.float64)
    # From pixels of the small copies to pixels of the sheets: middles of pixels are half a pixel from their edges.
    turned_half = rough[:, :2] @ np.array([0.5, 0.5])
    rough[:, 2] = (rough[:, 2] + 0.5 - turned_half) / shrink - 0.5 + turned_half
    return rough


def _is_plausible(found: Any) -> bool:
    scale, turn = float(np.hypot(found[0, 0], found[1, 0])), float(np.degrees(np.arctan2(found[1, 0], found[0, 0])))
    return _MIN_SCALE < scale < _MAX_SCALE and abs(turn) < _MAX_TURN_DEGREES


def _patches(one: Pixels, two: Pixels, rough: Floats) -> tuple[Floats, Floats] | None:
    """Match small patches of the overlap at full size, to a fraction of a pixel; None when too little overlaps."""
    rows, columns = one.shape
    warped: Pixels = np.asarray(
        cv2.warpAffine(two, rough, (columns, rows), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), np.uint8
    )
    covered = cv2.warpAffine(np.full_like(two, 255), rough, (columns, rows)) == 255
    if covered.mean() * one.size < _MIN_OVERLAP * min(one.size, two.size):
        return None
    corners = _telling_corners(one, covered)
    back = np.asarray(cv2.invertAffineTransform(rough), np.float64)
    at_one, at_two = [], []
    for left, top in corners:
        moved = _shift_of(one, warped, int(left), int(top))
        if moved is not None:
            middle = np.array([left + (_PATCH_PX - 1) / 2, top + (_PATCH_PX - 1) / 2])
            at_one.append(middle)
            at_two.append(_applied(back, (middle + moved)[None])[0])
    if len(at_one) < _MIN_PLACES:
        return None
    return np.array(at_one), np.array(at_two)


def _telling_corners(grey: Pixels, covered: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Choose patches that can only fit in one place: corners and crossings, spread over the overlap."""
    reach = _PATCH_PX + 2 * _SEARCH_AROUND_PX
    inner = cv2.erode(covered.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=reach // 2, borderValue=0)
    response = cv2.cornerMinEigenVal(cv2.GaussianBlur(grey, (0, 0), 1.5), _PATCH_PX // 2)
    response = np.where(inner > 0, response, 0)
    found = []
    for top in range(0, grey.shape[0], _PATCH_PX):
        for left in range(0, grey.shape[1], _PATCH_PX):
            cell = response[top:top + _PATCH_PX, left:left + _PATCH_PX]
            y, x = np.unravel_index(int(cell.argmax()), cell.shape)
            if cell[y, x] > 0:
                found.append((float(cell[y, x]), left + int(x) - _PATCH_PX // 2, top + int(y) - _PATCH_PX // 2))
    found.sort(reverse=True)
    return np.array([place[1:] for place in found[:_MAX_PATCHES]], np.int64).reshape(-1, 2)


def _shift_of(one: Pixels, warped: Pixels, left: int, top: int) -> Floats | None:
    """Find how far a patch of the first sheet has moved in the warped second; None without a clear answer."""
    around = _SEARCH_AROUND_PX
    if min(left, top) < around or top + _PATCH_PX + around > one.shape[0] or left + _PATCH_PX + around > one.shape[1]:
        return None
    patch = one[top:top + _PATCH_PX, left:left + _PATCH_PX]
    field = warped[top - around:top + _PATCH_PX + around, left - around:left + _PATCH_PX + around]
    scores = cv2.matchTemplate(field, patch, cv2.TM_CCOEFF_NORMED)
    _, best, _, (x, y) = cv2.minMaxLoc(scores)
    if best < 0.6 or not (0 < x < scores.shape[1] - 1 and 0 < y < scores.shape[0] - 1):
        return None
    return np.array([x + _peak(*scores[y, x - 1:x + 2]) - around, y + _peak(*scores[y - 1:y + 2, x]) - around])


def _peak(before: float, at: float, after: float) -> float:
    """The top of the parabola through three neighbouring scores, from the middle one."""
    bend = float(before) - 2 * float(at) + float(after)
    return 0.0 if bend >= 0 else float(np.clip(0.5 * (float(before) - float(after)) / bend, -0.5, 0.5))


def _applied(matrix: Floats, points: Floats) -> Floats:
    moved: Floats = points @ matrix[:, :2].T + matrix[:, 2]
    return moved


def _fit_similarity(there: Floats, here: Floats) -> Floats:
    """Fit turn, scale and shift robustly; 2 x 3."""
    weights = np.ones(len(there))
    for _ in range(12):
        fitted = _solve(_Joint(0, 1, here, there, 0.0), weights)
        apart = np.hypot(*(_applied(fitted, there) - here).T)
        weights = 1 / (1 + (apart / 0.7) ** 2) ** 2
    return fitted


def _solve(joint: _Joint, weights: Floats) -> Floats:
    x, y = joint.at_two.T
    one, nought = np.ones_like(x), np.zeros_like(x)
    system = np.concatenate([np.stack([x, -y, one, nought], 1), np.stack([y, x, nought, one], 1)])
    root = np.sqrt(np.tile(weights, 2))
    (a, b, c, f), *_ = np.linalg.lstsq(system * root[:, None], joint.at_one.T.ravel() * root, rcond=None)
    return np.array([[a, -b, c], [b, a, f]])


def _place(joints: Sequence[_Joint], n_sheets: int) -> list[Affine]:
    """Place all sheets together: every pair of common points as close as can be, in the first sheet's frame.

    A similarity is linear in (a, b, shift x, shift y), so all joints make one least-squares problem.
    """
    weights = [np.ones(len(joint.at_one)) for joint in joints]
    for _ in range(8):
        system, wanted = [], []
        for joint, weight in zip(joints, weights, strict=True):
            rows, right = _equations(joint, n_sheets)
            root = np.sqrt(np.tile(weight, 2))
            system.append(rows * root[:, None])
            wanted.append(right * root)
        found, *_ = np.linalg.lstsq(np.concatenate(system), np.concatenate(wanted), rcond=None)
        placed = [IDENTITY] + [
            affine_from_rows([[a, -b, c], [b, a, f]]) for a, b, c, f in found.reshape(n_sheets - 1, 4)
        ]
        weights = [1 / (1 + (_apart(joint, placed) / 0.7) ** 2) ** 2 for joint in joints]
    return placed


def _equations(joint: _Joint, n_sheets: int) -> tuple[Floats, Floats]:
    """One row per coordinate and pair: (place of sheet one) minus (place of sheet two) is nought."""
    n = len(joint.at_one)
    rows, right = np.zeros((2 * n, 4 * (n_sheets - 1))), np.zeros(2 * n)
    for sheet, points, sign in ((joint.one, joint.at_one, 1.0), (joint.two, joint.at_two, -1.0)):
        x, y = points.T
        if sheet == 0:
            right -= sign * np.concatenate([x, y])
            continue
        at = 4 * (sheet - 1)
        rows[:n, at:at + 4] += sign * np.stack([x, -y, np.ones(n), np.zeros(n)], 1)
        rows[n:, at:at + 4] += sign * np.stack([y, x, np.zeros(n), np.ones(n)], 1)
    return rows, right


def _apart(joint: _Joint, placed: Sequence[Affine]) -> Floats:
    one, two = (np.array(placed[n].rows()) for n in (joint.one, joint.two))
    distances: Floats = np.hypot(*(_applied(one, joint.at_one) - _applied(two, joint.at_two)).T)
    return distances
