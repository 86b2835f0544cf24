"""Scans whose truth is known: a drawing on paper, in sheets turned, scaled and lit a little differently."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.geometry import Affine, affine_from_rows

Pixels = NDArray[np.uint8]


def ink_coverage(
    width: int, height: int, dice: np.random.Generator, n_figures: int = 40, share_filled: float = 0.12
) -> NDArray[np.float32]:
    """How much of each pixel is ink, 0 to 1: closed and open curves, hatching and a few filled shapes."""
    fine = 2
    sheet = np.zeros((height * fine, width * fine), np.uint8)
    for _ in range(n_figures):
        middle = dice.uniform((0, 0), (width, height)) * fine
        size = dice.uniform(0.03, 0.14) * width * fine
        angles = np.linspace(0, 2 * np.pi, 60)
        radii = size * (1 + 0.35 * np.sin(angles * dice.integers(2, 6) + dice.uniform(0, 6)))
        points = np.stack(
            [middle[0] + radii * np.cos(angles), middle[1] + radii * np.sin(angles) * dice.uniform(0.5, 1)], 1
        )
        curve = [points.round().astype(np.int32)]
        kind = dice.random()
        if kind < share_filled:
            cv2.fillPoly(sheet, [curve[0] // 1], 255, cv2.LINE_AA)
        else:
            cv2.polylines(sheet, curve, kind < 0.7, 255, int(dice.integers(3, 9)), cv2.LINE_AA)
        if kind > 0.6:
            for step in np.arange(-0.8, 0.8, 0.12):
                start = middle + size * np.array([step, -0.6])
                end = start + size * np.array([0.35, 0.9])
                cv2.line(sheet, *(tuple(int(v) for v in p.round()) for p in (start, end)), 255, 3, cv2.LINE_AA)
    return np.asarray(cv2.resize(sheet, (width, height), interpolation=cv2.INTER_AREA), np.float32) / 255


def paper(width: int, height: int, dice: np.random.Generator) -> NDArray[np.float32]:
    """Paper as a scanner sees it: warm white, tooth at two sizes; reflectance per channel."""
    tooth = dice.normal(0, 0.018, (height, width)).astype(np.float32)
    coarse = cv2.GaussianBlur(dice.normal(0, 1, (height, width)).astype(np.float32), (0, 0), 2.2)
    tooth = cv2.GaussianBlur(tooth, (0, 0), 0.6) + 0.06 * coarse / max(1e-6, float(coarse.std())) * 0.25
    return np.asarray((0.93 + tooth)[..., None] * np.array([1.0, 0.985, 0.95]), np.float32)


def drawn_on_paper(width: int, height: int, seed: int) -> NDArray[np.float32]:
    """A drawing in ink on paper, (rows, columns, 3) reflectance 0 to 1."""
    dice = np.random.default_rng(seed)
    ink = ink_coverage(width, height, dice)[..., None]
    return np.asarray(paper(width, height, dice) * (1 - ink * 0.92), np.float32)


@dataclass(frozen=True)
class Scanned:
    """A sheet and the truth about it: the map from its pixels to the drawing's."""

    picture: Pixels
    to_drawing: Affine


def scan(
    drawing: NDArray[np.float32],
    left: int,
    top: int,
    width: int,
    height: int,
    seed: int,
    *,
    turn: float = 0.0,
    scale: float = 1.0,
) -> Scanned:
    """Scan a part of a drawing: turned, scaled, lit unevenly, with the scanner's own noise."""
    dice = np.random.default_rng(seed)
    cos, sin = scale * np.cos(np.radians(turn)), scale * np.sin(np.radians(turn))
    middle = np.array([(width - 1) / 2, (height - 1) / 2])
    linear = np.array([[cos, -sin], [sin, cos]])
    shift = np.array([left, top]) + middle - linear @ middle
    matrix = np.column_stack([linear, shift])
    part = cv2.warpAffine(
        drawing,
        matrix,
        (width, height),
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderValue=(0.93, 0.92, 0.88),
    )
    across, down = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    light = 1 + 0.04 * (dice.normal() * across + dice.normal() * down)[..., None] * 0.5
    seen = part * light * (1 + dice.normal(0, 0.015, 3)) + dice.normal(0, 0.008, part.shape)
    return Scanned(np.clip(seen * 255, 0, 255).round().astype(np.uint8), affine_from_rows(matrix))


PENCIL_LIGHT = {"orange": (0.93, 0.50, 0.20), "red": (0.88, 0.28, 0.30), "blue": (0.35, 0.62, 0.88)}


def inked_over_pencil(
    width: int, height: int, seed: int, pencil: str, share_filled: float = 0.12
) -> tuple[Pixels, NDArray[np.bool_]]:
    """Scan black ink over a coloured pencil sketch on toothed paper; gives the scan and where there is ink.

    The pencil is broken by the paper's tooth and pressed unevenly; the ink follows other lines than the pencil.
    """
    dice = np.random.default_rng(seed)
    sheet = paper(width, height, dice)
    grain = cv2.GaussianBlur(dice.normal(0, 1, (height, width)).astype(np.float32), (0, 0), 0.8)
    grain = np.clip(0.65 + 0.5 * grain / float(grain.std()) * 0.6, 0, 1)
    pressure = cv2.GaussianBlur(dice.normal(0, 1, (height, width)).astype(np.float32), (0, 0), 60)
    pressure = np.clip(0.75 + 0.25 * pressure / float(pressure.std()), 0.25, 1.0)
    laid = cv2.GaussianBlur(ink_coverage(width, height, dice, 45), (0, 0), 1.0)[..., None]
    laid = np.clip(laid * (grain * pressure)[..., None] * 1.3, 0, 1)
    sheet = sheet * (1 - laid * (1 - np.array(PENCIL_LIGHT[pencil])))
    ink = ink_coverage(width, height, dice, 35, share_filled)
    sheet = sheet * (1 - ink[..., None] * np.array([0.93, 0.93, 0.92]))
    seen = scan(sheet.astype(np.float32), 0, 0, width, height, seed + 1)
    return seen.picture, ink > 0.5
