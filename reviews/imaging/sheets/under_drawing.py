"""Take a coloured under-drawing out of a scan, leaving the black ink.

A coloured pencil lets most light of its own colour through; ink lets none through. So each pixel's darkness, as optical
density over the local paper, is split into an amount of ink (the same in red, green and blue) and an amount of
pencil (a density colour measured in the scan itself).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from reviews.imaging.arrays import Bools, Floats32, OnProgress, Pixels, no_progress
from reviews.imaging.results import PencilName
from reviews.imaging.sheets.pointed_stroke import LEAST_LEAN, hue_of, stroke_colour
from reviews.imaging.sheets.strips import Strip, enlarged, row_strips

METHOD = "ink-only-4"
# Density colour of a pencil before the scan has been looked at: red, green, blue; only the direction counts.
PENCILS: dict[PencilName, tuple[float, float, float]] = {
    "orange": (0.10, 0.50, 1.0),
    "red": (0.12, 0.9, 0.85),
    "blue": (1.0, 0.45, 0.12),
}
# Paper tone is taken over about this share of the longer side: wider than any filled black we expect to meet white in.
_PAPER_SHARE = 0.05
# Densities below this are paper tooth and scanner noise.
_FAINT = 0.10
# Of a pencil that somebody named fainter strokes are believed: light blue on bright paper has 0.05.
_FAINT_NAMED = 0.03
# A pixel speaks of the pencil when its colour leans this much of its own density; ink and paper do not.
_LEAN = 0.45
# Share of the picture that must lean to one pencil, or there is none to take out.
_MIN_SHARE = 0.0005
# How alike (cosine) a leaning pixel and a pencil's colour must be.
_ALIKE = 0.93
# Black ink reflects about this share of what paper does; a pixel is ink when it is more than half covered, that is
# darker than the middle between the two in light (not in density, which would fatten every line by half a pixel).
_INK_REFLECTS = 0.07
_HALF_COVERED = (1 + _INK_REFLECTS) / 2
# Paper this bright (of 255, mean of the channels) is light; toned drawing papers are.
_LIGHT_PAPER = 160
# Rows that the filters of a strip reach beyond it: four times the wider blur and one for the spreading.
_MARGIN_ROWS = 8


@dataclass(frozen=True, kw_only=True)
class InkOnly:
    """A scan with its under-drawing taken out.

    Attributes
    ----------
    picture : (rows, columns) uint8 grey, ink on clean white.
    ink : (rows, columns) bool, where there is ink.
    pencil : which pencil was taken out, or "" when none was found.
    pencil_share : share of the picture's pixels that were pencil.
    light_share : share of the picture under which there is light paper; low in paintings.
    recipe : plain values from which the same picture can be made again from the same scan.
    """

    picture: Pixels
    ink: Bools
    pencil: PencilName
    pencil_share: float
    light_share: float
    recipe: dict[str, Any]
    method: str = METHOD


def take_out_under_drawing(
    scan_rgb: Pixels,
    pencil: PencilName = "",
    *,
    at: tuple[float, float] | None = None,
    on_progress: OnProgress = no_progress,
) -> InkOnly:
    """Leave the ink of a scan and take out the coloured pencil under it.

    Parameters
    ----------
    scan_rgb : (rows, columns, 3) uint8, red first.
    pencil : "orange", "red" or "blue"; found by itself when "".
    at : a point on a stroke of the pencil, as shares of width and height: its colour is measured there, whatever it is.
    on_progress : called with the share done, 0 to 1, and the step that is being done.

    Notes
    -----
    Where ink lies over pencil both are seen through each other, and what pencil adds to ink is taken off. Ink of a
    colour, or black pencil as faint as the paper's tooth, is not told from pencil: the method is for black ink.
    Raises NoStroke where no stroke of a colour lies at the point.
    """
    if at is None and pencil and pencil not in PENCILS:
        raise ValueError(f"A pencil is one of {', '.join(PENCILS)}.")
    paper = _paper(scan_rgb)
    on_progress(0.1, {"code": "looking-for-pencil"})
    if at is None:
        found, colour, share = _pencil_colour(scan_rgb, paper, pencil)
    else:
        found, colour, share = _pointed_colour(scan_rgb, paper, at)
    on_progress(0.4, {"code": "taking-pencil-out"})
    picture = np.full(scan_rgb.shape[:2], 255, np.uint8)
    mask = np.zeros(scan_rgb.shape[:2], np.bool_)
    for strip, density in _densities(scan_rgb, paper):
        ink = _ink_amount(density, colour) if found else density.min(axis=2)
        light = np.asarray(10.0**-ink, np.float32)
        # A single noisy pixel is no ink; a line two pixels wide survives this.
        inked = cv2.GaussianBlur(light, (0, 0), 0.5) < _HALF_COVERED
        near = cv2.dilate(inked.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
        cover = np.clip((1 - light) / (1 - _INK_REFLECTS), 0, 1)
        picture[strip.rows] = np.where(near, 255 * (1 - cover), 255).round().astype(np.uint8)[strip.inner]
        mask[strip.rows] = inked[strip.inner]
    recipe = {
        "method": METHOD,
        "pencil": found,
        "pencil_density": [round(float(v), 4) for v in colour],
        "pencil_share": share,
    }
    if at is not None:
        recipe |= {"pencil_at": list(at), "pencil_hue": hue_of(colour)}
    light_share = float((paper.mean(axis=2) > _LIGHT_PAPER).mean())
    return InkOnly(picture=picture, ink=mask, pencil=found, pencil_share=share, light_share=light_share, recipe=recipe)


def _densities(scan_rgb: Pixels, paper: Floats32) -> Iterator[tuple[Strip, Floats32]]:
    """Give the optical density over the local paper, strip by strip and per channel; 0 is paper."""
    size = (scan_rgb.shape[1], scan_rgb.shape[0])
    for strip in row_strips(scan_rgb.shape[0], margin=_MARGIN_ROWS):
        tone = enlarged(paper, size, strip.seen)
        seen = np.maximum(scan_rgb[strip.seen].astype(np.float32), 2.0)
        yield strip, np.asarray(np.clip(np.log10(np.maximum(tone, 8.0) / seen), -0.2, 2.0), np.float32)


def _paper(scan_rgb: Pixels) -> Floats32:
    """The paper's tone under the drawing, at a reduced size: bright values of the surroundings, smoothed."""
    longest = max(scan_rgb.shape[:2])
    size = (max(1, round(scan_rgb.shape[1] * 400 / longest)), max(1, round(scan_rgb.shape[0] * 400 / longest)))
    small = cv2.resize(scan_rgb, size, interpolation=cv2.INTER_AREA)
    reach = max(3, int(_PAPER_SHARE * 400) | 1)
    bright = cv2.dilate(cv2.medianBlur(small, 3), np.ones((reach, reach), np.uint8))
    bright = cv2.erode(bright, np.ones((reach, reach), np.uint8))
    # Inside a black larger than the reach there is no paper to see: the sheet's own tone stands in.
    usual = np.percentile(small.reshape(-1, 3), 75, axis=0)
    filled = np.where(bright.min(axis=2, keepdims=True) < 0.6 * usual.min(), usual, bright).astype(np.float32)
    return np.asarray(cv2.GaussianBlur(filled, (0, 0), reach / 2), np.float32)


def _pencil_colour(scan_rgb: Pixels, paper: Floats32, wanted: PencilName) -> tuple[PencilName, Floats32, float]:
    """Measure the pencil's density colour in the scan; gives its name ("" for none), its colour and its share."""
    leaning, n_looked_at = _leaning(scan_rgb, paper, _FAINT_NAMED if wanted else _FAINT, _LEAN)
    best: tuple[PencilName, Floats32, float] = ("", np.ones(3, np.float32), 0.0)
    for name in [wanted] if wanted else list(PENCILS):
        near = _alike(leaning, np.array(PENCILS[name], np.float32))
        share = len(near) / n_looked_at
        if share > max(_MIN_SHARE, best[2]):
            best = (name, _colour_of(near), share)
    return best


def _pointed_colour(scan_rgb: Pixels, paper: Floats32, at: tuple[float, float]) -> tuple[PencilName, Floats32, float]:
    """Measure a stroke where it is pointed at, then in all that is like it, since one place may be grainy."""
    stroke = stroke_colour(scan_rgb, paper, at)
    leaning, n_looked_at = _leaning(scan_rgb, paper, _FAINT_NAMED, LEAST_LEAN)
    near = _alike(leaning, stroke)
    return "pointed", _colour_of(near) if len(near) else stroke, len(near) / n_looked_at


def _leaning(scan_rgb: Pixels, paper: Floats32, faint: float, lean: float) -> tuple[Floats32, int]:
    """Give the densities of pixels that have a colour of their own, and how many were looked at."""
    leaning, n_looked_at = [], 0
    for strip, density in _densities(scan_rgb, paper):
        calm = cv2.GaussianBlur(density, (0, 0), 1.0)[strip.inner][::2, ::2].reshape(-1, 3)
        strength = calm.max(1)
        leaning.append(calm[(strength > faint) & (strength - calm.min(1) > lean * strength)])
        n_looked_at += len(calm)
    return np.concatenate(leaning), n_looked_at


def _alike(densities: Floats32, colour: Floats32) -> Floats32:
    expected = colour / np.linalg.norm(colour)
    return np.asarray(densities[densities @ expected > _ALIKE * np.linalg.norm(densities, axis=1)], np.float32)


def _colour_of(densities: Floats32) -> Floats32:
    return np.asarray(np.median(densities / densities.max(1, keepdims=True), axis=0), np.float32)


def _ink_amount(density: Floats32, pencil: Floats32) -> Floats32:
    """Split each pixel's density into ink (1, 1, 1) and pencil, least squares, neither below nought; gives the ink."""
    ones = np.ones(3, np.float32)
    matrix = np.stack([ones, pencil], 1)
    ink, coloured = np.moveaxis(density @ np.linalg.pinv(matrix).T.astype(np.float32), 2, 0)
    # Where a share comes out below nought it is set to nought and the other fitted alone.
    ink = np.where(coloured < 0, density.mean(axis=2), np.maximum(ink, 0))
    # The channel in which the pencil is palest bounds the ink: nothing can be more ink than it is dark there.
    palest = int(np.argmin(pencil))
    return np.asarray(np.minimum(ink, np.maximum(density[..., palest], 0)), np.float32)
