"""Where every sheet lies, from the joints between them: all places fitted at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reviews.geometry import IDENTITY, Affine, affine_from_rows
from reviews.imaging.arrays import Floats64


@dataclass(frozen=True)
class Joint:
    """What two sheets have in common: matched points, one pair per row, in full-size pixels of each."""

    one: int
    two: int
    at_one: Floats64
    at_two: Floats64
    agreement: float


def solved(joint: Joint, weights: Floats64) -> Floats64:
    """Give the similarity (2 x 3, px to px) that brings the second sheet's points onto the first's, weighted (n,)."""
    x, y = joint.at_two.T
    one, nought = np.ones_like(x), np.zeros_like(x)
    system = np.concatenate([np.stack([x, -y, one, nought], 1), np.stack([y, x, nought, one], 1)])
    root = np.sqrt(np.tile(weights, 2))
    (a, b, c, f), *_ = np.linalg.lstsq(system * root[:, None], joint.at_one.T.ravel() * root, rcond=None)
    return np.array([[a, -b, c], [b, a, f]])


def place_sheets(joints: Sequence[Joint], n_sheets: int) -> list[Affine]:
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
        weights = [1 / (1 + (distances_apart(joint, placed) / 0.7) ** 2) ** 2 for joint in joints]
    return placed


def _equations(joint: Joint, n_sheets: int) -> tuple[Floats64, Floats64]:
    """One row per coordinate and pair: (place of sheet one) minus (place of sheet two) is nought."""
    n = len(joint.at_one)
    rows, right = np.zeros((2 * n, 4 * (n_sheets - 1))), np.zeros(2 * n)
    for sheet, points, sign in ((joint.one, joint.at_one, 1.0), (joint.two, joint.at_two, -1.0)):
        x, y = points.T
        if sheet == 0:
            right -= sign * np.concatenate([x, y])
            continue
        at = 4 * (sheet - 1)
        rows[:n, at : at + 4] += sign * np.stack([x, -y, np.ones(n), np.zeros(n)], 1)
        rows[n:, at : at + 4] += sign * np.stack([y, x, np.zeros(n), np.ones(n)], 1)
    return rows, right


def distances_apart(joint: Joint, placed: Sequence[Affine]) -> Floats64:
    """Give how far the two sheets' common points lie apart once placed, in px, (n,)."""
    one, two = (np.array(placed[n].rows()) for n in (joint.one, joint.two))
    distances: Floats64 = np.hypot(*(applied(one, joint.at_one) - applied(two, joint.at_two)).T)
    return distances


def applied(matrix: Floats64, points: Floats64) -> Floats64:
    """Map points (n, 2) by a 2 x 3 matrix."""
    moved: Floats64 = points @ matrix[:, :2].T + matrix[:, 2]
    return moved
