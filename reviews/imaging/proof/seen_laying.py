"""How a photograph of a proof lies on the art, to the pixel: it is laid once more, and then judged.

Laying goes by blocks of lines, or by the sheet's outline where it was seen at an angle, and may be some millimetres off
at a corner, which along strong lines would be hatched as if the print differed. Here the whole picture has its say
(enhanced correlation, Evangelidis and Psarakis, 2008), and where places of the art still do not lie on themselves the
photograph is refused.
"""

from __future__ import annotations

import cv2
import numpy as np

from reviews.imaging.arrays import Floats32, Matrix, Pixels
from reviews.imaging.changes.findings import Alignment
from reviews.imaging.changes.laying import Laid

_STEPS = (0.25, 0.5, 1.0)  # of the working frame: the coarse one first, as only what is near is found
_STOP = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 50, 1e-5)
_SOFT = 5  # pixels across, as that function takes it
_EVEN_SHARE = 0.03  # of the width: light that changes over more than this is no part of the drawing
_ACROSS = 10  # blocks over the width, to judge by
_LEAST_TEXTURE = 2.0  # levels of 255: a block that is emptier than this tells nothing
_LEAST_BLOCKS = 12
_MOST_OFF_PX, _MOST_BLOCKS_OFF = 1.5, 0.2  # of the working frame; and the share of blocks that may be off by more


def to_photograph(laid: Laid, art_rgb: Pixels, proof_rgb: Pixels) -> Matrix | None:
    """Give the 3 x 3 map from pixels of the working frame, that of ``art_rgb``, to those of the photograph.

    None where it does not lie on the art to the pixel for all that, as a sheet that curls, and where too little is
    drawn to tell of one that was straightened.
    """
    size, (high, wide) = (art_rgb.shape[1], art_rgb.shape[0]), laid.b_rgb.shape[:2]
    if laid.bent is None:
        first = _in_pixels(laid.alignment, size, (proof_rgb.shape[1], proof_rgb.shape[0]))
    else:
        # What is "to be checked" there is how near one plain map comes; the straightened picture lies surely.
        first = laid.bent @ _in_pixels(laid.upright, size, (wide, high))
    art, proof = _drawn(art_rgb), _drawn(proof_rgb)
    laid_on = _laid_once_more(art, proof, first)
    share_off = _share_off(art, proof, laid_on) if laid_on is not None else None
    if laid_on is None or share_off is None:
        return first if laid.bent is None else None
    return laid_on if share_off <= _MOST_BLOCKS_OFF else None


def straightened_percent(laid: Laid) -> float:
    """Say by how much the page's corners were off a plain laying, in per cent of the width; 0 where they were not."""
    return next((float(one.values["percent"]) for one in laid.oddities if one.code == "at-an-angle"), 0.0)


def _in_pixels(found: Alignment, size: tuple[int, int], proof_size: tuple[int, int]) -> Matrix:
    """Give the 3 x 3 map from pixels of the working frame to pixels of a picture of ``proof_size``."""
    a_to_b = found.a_to_b()
    (wide, high), (across, down) = size, proof_size
    return np.array(
        [
            [a_to_b.a * across / wide, a_to_b.b * across / high, a_to_b.c * across],
            [a_to_b.d * down / wide, a_to_b.e * down / high, a_to_b.f * down],
            [0.0, 0.0, 1.0],
        ]
    )


def _drawn(rgb: Pixels) -> Floats32:
    """Give what is drawn, without how it is lit: light and dark around nought, levels of 255."""
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY).astype(np.float32)
    return np.asarray(grey - cv2.GaussianBlur(grey, (0, 0), _EVEN_SHARE * rgb.shape[1]), np.float32)


def _laid_once_more(art: Floats32, proof: Floats32, first: Matrix) -> Matrix | None:
    """Improve a map in perspective, coarsely first; None where the two do not come to agree."""
    found = first
    for share in _STEPS:
        scale = np.diag([share, share, 1.0])
        small = cv2.resize(art, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
        size = small.shape[1], small.shape[0]
        start = scale @ found @ np.linalg.inv(scale)
        photograph = np.asarray(cv2.resize(proof, None, fx=share, fy=share, interpolation=cv2.INTER_AREA), np.float32)
        moved, there = _on_the_art(photograph, start, size)
        try:
            _, step = cv2.findTransformECC(
                small, moved, np.eye(3, dtype=np.float32), cv2.MOTION_HOMOGRAPHY, _STOP, there, _SOFT
            )
        except cv2.error:  # it says so by an error where the two do not correlate
            return None
        found = np.asarray(np.linalg.inv(scale) @ start @ step.astype(np.float64) @ scale, np.float64)
    return np.asarray(found / found[2, 2], np.float64)


def _on_the_art(proof: Floats32, to_proof: Matrix, size: tuple[int, int]) -> tuple[Floats32, Pixels]:
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    moved = cv2.warpPerspective(proof, to_proof, size, flags=flags)
    there = cv2.warpPerspective(np.full(proof.shape, 255, np.uint8), to_proof, size, flags=flags)
    return np.asarray(moved, np.float32), np.asarray((there > 250).astype(np.uint8), np.uint8)


def _share_off(art: Floats32, proof: Floats32, to_proof: Matrix) -> float | None:
    """Say what share of the blocks all over the art does not lie where it should; None where too few tell.

    What was printed otherwise is a few of them.
    """
    moved, there = _on_the_art(proof, to_proof, (art.shape[1], art.shape[0]))
    side = art.shape[1] // _ACROSS
    window = cv2.createHanningWindow((side, side), cv2.CV_32F)
    off = []
    for top in range(0, art.shape[0] - side + 1, side):
        for left in range(0, art.shape[1] - side + 1, side):
            place = slice(top, top + side), slice(left, left + side)
            one, other = np.ascontiguousarray(art[place]), np.ascontiguousarray(moved[place])
            if not there[place].all() or min(float(one.std()), float(other.std())) < _LEAST_TEXTURE:
                continue
            (across, down), _ = cv2.phaseCorrelate(one, other, window)
            off.append(float(np.hypot(across, down)))
    return sum(far > _MOST_OFF_PX for far in off) / len(off) if len(off) >= _LEAST_BLOCKS else None
