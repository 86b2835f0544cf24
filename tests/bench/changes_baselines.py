"""What simpler methods say of a pair: feature matching, plain difference, structural similarity."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np

from tests.drawing_pairs import Pair
from tests.drawing_truth import Pin, corner_error, hits

BASE_PX = 1200
MmBox = tuple[float, float, float, float]


def baseline_errors(pair: Pair) -> dict[str, float]:
    """Return the corner errors of alignments anyone would try first, on grey pictures of 1200 px."""
    fa, fb = (BASE_PX / max(p.shape[:2]) for p in (pair.a, pair.b))
    a, b = (
        cv2.resize(cv2.cvtColor(p, cv2.COLOR_RGB2GRAY), None, fx=f, fy=f, interpolation=cv2.INTER_AREA)
        for p, f in ((pair.a, fa), (pair.b, fb))
    )
    found = {"none": np.eye(3), "ecc": _ecc(a, b), "phase": _phase(a, b), **_by_all_features(a, b)}
    up, down = np.diag([1 / fb, 1 / fb, 1]), np.diag([fa, fa, 1])
    return {name: corner_error(pair, tuple((up @ m @ down)[:2].ravel())) for name, m in found.items()}


def _ecc(a: Any, b: Any) -> Any:
    """Return the affine map of one ECC run from identity, at half the size: single scale is the point of it."""
    warp = np.eye(2, 3, dtype=np.float32)
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 60, 1e-5)
    small = [cv2.resize(p, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA) for p in (a, b)]
    try:
        _, warp = cv2.findTransformECC(small[0], small[1], warp, cv2.MOTION_AFFINE, stop, None, 5)
    except cv2.error:  # it throws where it does not converge
        return np.eye(3)
    half = np.array([[0.5, 0, -0.25], [0, 0.5, -0.25], [0, 0, 1]])
    return np.linalg.inv(half) @ np.vstack([warp, [0, 0, 1]]) @ half


def _phase(a: Any, b: Any) -> Any:
    h, w = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    one, two = (np.ascontiguousarray(p[:h, :w], np.float64) for p in (a, b))
    shift, _ = cv2.phaseCorrelate(one, two, cv2.createHanningWindow((w, h), cv2.CV_64F))
    return np.array([[1, 0, shift[0]], [0, 1, shift[1]], [0, 0, 1]])


def _by_all_features(a: Any, b: Any) -> dict[str, Any]:
    return {
        "orb": _by_features(a, b, cv2.ORB_create(2000), cv2.NORM_HAMMING),
        "sift": _by_features(a, b, cv2.SIFT_create(2000), cv2.NORM_L2),
    }


def _by_features(a: Any, b: Any, finder: Any, norm: int) -> Any:
    (ka, da), (kb, db) = finder.detectAndCompute(a, None), finder.detectAndCompute(b, None)
    if da is None or db is None:
        return np.eye(3)
    pairs = cv2.BFMatcher(norm, crossCheck=True).match(da, db)
    if len(pairs) < 4:
        return np.eye(3)
    src, dst = (
        np.array([k[i].pt for k, i in ends], np.float32)
        for ends in ([(ka, m.queryIdx) for m in pairs], [(kb, m.trainIdx) for m in pairs])
    )
    matrix, _ = cv2.estimateAffinePartial2D(src, dst, method=cv2.RANSAC, ransacReprojThreshold=3)
    return np.eye(3) if matrix is None else np.vstack([matrix, [0, 0, 1]])


def differences(pair: Pair, placed: list[Pin], edits: list[Any]) -> dict[str, Any]:
    """Return what plain difference and structural similarity say with the true alignment given to them for nothing."""
    f = BASE_PX / pair.a.shape[1]
    k, size = f / pair.mm_per_px, (BASE_PX, round(pair.a.shape[0] * f))
    grow = np.diag([f, f, 1])
    a = cv2.cvtColor(cv2.resize(pair.a, size, interpolation=cv2.INTER_AREA), cv2.COLOR_RGB2GRAY)
    to_b = (pair.a_to_b @ np.linalg.inv(grow))[:2]
    b = cv2.warpAffine(
        cv2.cvtColor(pair.b, cv2.COLOR_RGB2GRAY), to_b, size, flags=cv2.INTER_AREA | cv2.WARP_INVERSE_MAP
    )
    out: dict[str, Any] = {}
    unlike = np.asarray(255 * np.clip(1 - structural_similarity(a, b), 0, 1), np.uint8)
    for name, apart in (("difference", cv2.GaussianBlur(cv2.absdiff(a, b), (0, 0), 2)), ("ssim", unlike)):
        out[f"{name}_spots"] = [[i for i, e in enumerate(edits) if hits(box, box, e)] for box in _spots_in(apart, k)]
        out[f"{name}_pins"] = [
            float(apart[int(p.box[1] * k) : int(p.box[3] * k) + 1, int(p.box[0] * k) : int(p.box[2] * k) + 1].mean())
            for p in placed
        ]
    return out


def _spots_in(apart: Any, k: float) -> list[MmBox]:
    """Return the boxes (mm) of what differs by more than Otsu's threshold, (4 mm)^2 and more."""
    _, mask = cv2.threshold(apart, 0, 255, cv2.THRESH_OTSU)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8))
    _, _, stats, _ = cv2.connectedComponentsWithStats(mask)
    return [(x / k, y / k, (x + w) / k, (y + h) / k) for x, y, w, h, n in stats[1:] if n > (4 * k) ** 2]


def structural_similarity(a: Any, b: Any) -> Any:
    """Return the SSIM map of two greys (Wang et al. 2004: Gaussian window of 1.5 px, K1 0.01, K2 0.03)."""
    x, y = a.astype(np.float64), b.astype(np.float64)

    def soft(picture: Any) -> Any:
        return cv2.GaussianBlur(picture, (0, 0), 1.5)

    mx, my = soft(x), soft(y)
    vx, vy, vxy = soft(x * x) - mx * mx, soft(y * y) - my * my, soft(x * y) - mx * my
    c1, c2 = (0.01 * 255) ** 2, (0.03 * 255) ** 2
    return ((2 * mx * my + c1) * (2 * vxy + c2)) / ((mx * mx + my * my + c1) * (vx + vy + c2))
