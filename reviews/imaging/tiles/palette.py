"""The few colours that a picture is mostly made of, by clusters in OKLab. Runs in the worker, on what is shown of it.

OKLab is Björn Ottosson's space ("A perceptual color space for image processing", 2020), made so that equal distances
look about equally far. Clusters are k-means whose start is not drawn by lot: the same pixels give the same colours.
"""

from __future__ import annotations

import cv2
import numpy as np

from reviews.imaging.arrays import Floats64, Pixels

#: At most so many colours; near ones are told as one. Our own choice: a strip of more is no longer read at a glance.
MOST = 6
#: Colours nearer than this in OKLab are one (white to black is 1.0). Our own choice.
_SAME = 0.05
#: A colour of less than this share of the picture is left out.
_LEAST_SHARE = 0.015
_SIDE_PX = 64
_TURNS = 20

_TO_LMS = np.array([
    [0.4122214708, 0.5363325363, 0.0514459929],
    [0.2119034982, 0.6806995451, 0.1073969566],
    [0.0883024619, 0.2817188376, 0.6299787005],
])  # fmt: skip
_TO_LAB = np.array([
    [0.2104542553, 0.7936177850, -0.0040720468],
    [1.9779984951, -2.4285922050, 0.4505937099],
    [0.0259040371, 0.7827717662, -0.8086757660],
])  # fmt: skip


def oklab_of(rgb: Floats64) -> Floats64:
    """Turn rows of sRGB (0 to 1) into rows of OKLab: lightness 0 to 1, then green-red and blue-yellow around 0."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return np.asarray(np.cbrt(linear @ _TO_LMS.T) @ _TO_LAB.T, np.float64)


def rgb_of(lab: Floats64) -> Floats64:
    """Turn rows of OKLab back into rows of sRGB (0 to 1); what no screen shows is cut off."""
    linear = (lab @ np.linalg.inv(_TO_LAB).T) ** 3 @ np.linalg.inv(_TO_LMS).T
    linear = np.clip(linear, 0, 1)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def main_colours(shown: Pixels) -> list[tuple[str, float]]:
    """Name the main colours of a picture (rows, columns, red green blue), dark to light, as "#rrggbb" and share.

    The shares add up to 1: what is too small to be told is given to the others in proportion.
    """
    rows, columns = shown.shape[:2]
    size = (min(columns, _SIDE_PX), min(rows, _SIDE_PX))
    small = cv2.resize(shown, size, interpolation=cv2.INTER_AREA).reshape(-1, 3)
    lab = oklab_of(small.astype(np.float64) / 255)
    centres, shares = _joined(*_clusters(lab))
    kept = shares >= _LEAST_SHARE
    centres, shares = centres[kept], shares[kept] / shares[kept].sum()
    order = np.argsort(centres[:, 0])
    codes = ("#{:02x}{:02x}{:02x}".format(*np.rint(255 * rgb).astype(int)) for rgb in rgb_of(centres[order]))
    return [(code, round(float(share), 3)) for code, share in zip(codes, shares[order], strict=True)]


def _clusters(lab: Floats64) -> tuple[Floats64, Floats64]:
    """Find k-means centres and their shares, beginning at the mean and then at what lies farthest from all so far."""
    centres = lab.mean(axis=0)[None]
    while len(centres) < MOST:
        away = _distances(lab, centres).min(axis=1)
        if away.max() < _SAME:
            break
        centres = np.vstack([centres, lab[int(away.argmax())]])
    nearest = np.zeros(len(lab), np.intp)
    for _ in range(_TURNS):
        nearest = _distances(lab, centres).argmin(axis=1)
        moved = np.array(
            [
                lab[nearest == one].mean(axis=0) if np.any(nearest == one) else centre
                for one, centre in enumerate(centres)
            ]
        )
        if np.allclose(moved, centres, atol=1e-5):
            break
        centres = moved
    shares = np.bincount(nearest, minlength=len(centres)) / len(lab)
    return centres, shares


def _joined(centres: Floats64, shares: Floats64) -> tuple[Floats64, Floats64]:
    """Make one of two centres that look alike, the nearest pair first."""
    while len(centres) > 1:
        between = _distances(centres, centres) + 9 * np.eye(len(centres))
        one, other = np.unravel_index(int(between.argmin()), between.shape)
        if between[one, other] >= _SAME:
            break
        weight = shares[[one, other]]
        total = weight.sum()
        if total > 0:
            centres[one] = (centres[[one, other]] * weight[:, None]).sum(axis=0) / total
        shares[one] = total
        centres, shares = np.delete(centres, other, axis=0), np.delete(shares, other)
    return centres, shares


def _distances(rows: Floats64, others: Floats64) -> Floats64:
    return np.asarray(np.linalg.norm(rows[:, None, :] - others[None, :, :], axis=2), np.float64)
