"""A photographed or scanned proof beside the art: laid on it, an overall colour cast taken out, the rest a map.

Indicative only, and no measurement: a camera sees by its own light and its own colours, so what is left after the cast
may be the proof, the lamp, a shadow or the camera. And a cast that is taken out may have been the press.

The cast is one affine map of the art's colours for the whole sheet, fitted robustly on colours softened over a
millimetre and a half, so that neither the print's screen nor the paper's grain has a say, nor a place that differs.
Light that falls off over the sheet is fitted beside it, as one smooth slope alike for all colours, and told. A sheet
that was photographed at an angle is put straight first, where it is sure how (``seen_laying``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from reviews.imaging._vips import Image
from reviews.imaging.arrays import Bools, Floats32, Matrix, Pixels
from reviews.imaging.changes.laying import lay
from reviews.imaging.proof.seen_laying import straightened_percent, to_photograph
from reviews.press.seen_proof import LEAST_PLACE_MM, LEAST_SEEN_DE, MOST_SEEN, ColourCast, NotSeen, SeenFound

METHOD = "seen-2"
_PX_PER_MM = 2.0
_MOST_PX = 1400
_SOFT_MM = 1.5
_ROUNDS, _TURNS = 8, 3  # of weighing what differs, and of fitting cast and slope after each other
_FIT_POINTS = 20_000
_LEAST_COVER = 0.6  # of the art that the photograph must show
_LEAST_EXPLAINED = 0.5  # of the art's light and dark, that the photograph must share once they lie on each other
_LEAST_GAIN = 0.25  # a channel of the photograph follows the art's by at least so much
_LEAST_SPREAD = 3.0  # levels of 255: an empty page lies on any other
_LEAST_LIT, _MOST_SLOPE = 0.1, 2.5  # of full light: darker says nothing of the lamp; no lamp falls off by more
_STRIPE = 10


@dataclass(frozen=True, eq=False)
class SeenMap:
    """What was found, and a sheet to lay over the photograph: hatched where it differs, (rows, columns, 4) uint8."""

    found: SeenFound
    sheet: Pixels


def see(art_rgb: Pixels, proof_rgb: Pixels, width_mm: float) -> SeenMap | NotSeen:
    """Hold a photograph of a proof against the art.

    Parameters
    ----------
    art_rgb, proof_rgb : (rows, columns, 3) uint8 sRGB, red first.
    width_mm : of the art in print.

    Returns
    -------
    SeenMap; or why it cannot be told: the two do not surely lie on each other, or too little of the art is seen.
    """
    if min(float(one.std()) for one in (art_rgb, proof_rgb)) < _LEAST_SPREAD:
        return NotSeen.NOT_LAID
    laid = lay(art_rgb, proof_rgb)
    if laid.bent is None and laid.alignment.state != "aligned":
        return NotSeen.NOT_LAID if laid.alignment.state == "not-aligned" else NotSeen.NOT_SURE
    per_mm = min(_PX_PER_MM, _MOST_PX / (width_mm * max(1.0, art_rgb.shape[0] / art_rgb.shape[1])))
    size = round(width_mm * per_mm), round(width_mm * per_mm * art_rgb.shape[0] / art_rgb.shape[1])
    resized = np.asarray(cv2.resize(art_rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    to_proof = to_photograph(laid, resized, proof_rgb)
    if to_proof is None:
        return NotSeen.NOT_SURE
    art = _as_floats(resized)
    proof, shown = _on_the_art(proof_rgb, to_proof, size)
    if shown.mean() < _LEAST_COVER:
        return NotSeen.TOO_LITTLE
    art, proof = (_softened(one, _SOFT_MM * per_mm) for one in (art, proof))
    inner = np.asarray(cv2.erode(shown.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0, np.bool_)
    cast, light = _cast_and_light(art, proof, inner)
    expected = _cast_on(art, cast, light)
    if not _is_a_cast(cast) or _explained(expected[inner], proof[inner]) < _LEAST_EXPLAINED:
        return NotSeen.NOT_SURE
    left = np.where(inner, _difference(expected, proof), 0).astype(np.float32)
    differs = _places(left, inner, per_mm)
    found = SeenFound(
        cast=_told(art[inner], _cast_on(art, cast)[inner]),
        left_de=round(float(np.median(left[inner])), 1),
        worst_de=round(float(left.max()), 1),
        area=float(differs.sum() / inner.sum()),
        seen_share=round(float(shown.mean()), 3),
        places=_boxes(differs, to_proof, proof_rgb.shape[1::-1]),
        straightened=straightened_percent(laid),
        uneven=round(float(light[inner].max() / light[inner].min()) - 1, 3),
    )
    return SeenMap(found, _sheet(left, differs, to_proof, proof_rgb.shape[1::-1]))


def _on_the_art(proof_rgb: Pixels, to_proof: Matrix, size: tuple[int, int]) -> tuple[Floats32, Bools]:
    """Bring the photograph into the art's frame, and say where there is any of it."""
    shrink = max(1.0, float(np.sqrt(abs(np.linalg.det(to_proof[:2, :2])))))
    soft = cv2.GaussianBlur(proof_rgb, (0, 0), 0.5 * shrink) if shrink > 1.2 else proof_rgb
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    moved = cv2.warpPerspective(soft, to_proof, size, flags=flags)
    there = cv2.warpPerspective(np.full(proof_rgb.shape[:2], 255, np.uint8), to_proof, size, flags=flags)
    return _as_floats(moved), np.asarray(there > 250, np.bool_)


def _as_floats(picture: Any) -> Floats32:
    """Give 0 to 1 for 0 to 255."""
    return np.asarray(picture, np.float32) * np.float32(1 / 255)


def _softened(picture: Floats32, sigma: float) -> Floats32:
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), max(0.8, sigma)), np.float32)


def _cast(art: Floats32, proof: Floats32) -> Matrix:
    """Fit the affine map (4 x 3) from the art's colours to the photograph's; places that differ have no say."""
    few = max(1, len(art) // _FIT_POINTS)
    one, other = art[::few].astype(np.float64), proof[::few].astype(np.float64)
    full = np.concatenate([one, np.ones((len(one), 1))], axis=1)
    weight = np.ones(len(one))
    fitted = np.zeros((4, 3))
    for _ in range(_ROUNDS):
        weighted = full * weight[:, None]
        # Held to "no cast" a little, so that a picture of few colours gets no map that its colours do not tell.
        held = np.eye(4) * 1e-3 * weight.sum()
        fitted = np.linalg.solve(full.T @ weighted + held, weighted.T @ other + held @ np.eye(4)[:, :3])
        off = np.linalg.norm(full @ fitted - other, axis=1)
        spread = 1.48 * float(np.median(off)) + 1e-3
        weight = np.clip(1 - (off / (4 * spread)) ** 2, 0, 1) ** 2
    return fitted


def _is_a_cast(cast: Matrix) -> bool:
    """Say whether a map is one of light and camera: each channel follows its own, and mostly its own."""
    own = np.diag(cast[:3])
    others = np.abs(cast[:3]).sum(axis=0) - np.abs(own)
    return bool((own > _LEAST_GAIN).all() and (others < own).all())


def _cast_and_light(art: Floats32, proof: Floats32, inner: Bools) -> tuple[Matrix, Floats32]:
    """Fit the cast and how the light falls off over the sheet, one after the other until both stand.

    Returns the cast and (rows, columns) the light, 1 in the middle of what it does.
    """
    light = np.ones(art.shape[:2], np.float32)
    cast = _cast(art[inner], proof[inner])
    for _ in range(_TURNS):
        light = _light(_cast_on(art, cast), proof, inner)
        cast = _cast(art[inner], proof[inner] / light[inner][:, None])
    return cast, light


def _light(expected: Floats32, proof: Floats32, inner: Bools) -> Floats32:
    """Fit a smooth slope, of second order across and down, to how much lighter or darker each place is."""
    rows, columns = (np.linspace(-1, 1, n) for n in inner.shape)
    y, x = np.meshgrid(rows, columns, indexing="ij")
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    means = expected.mean(axis=2), proof.mean(axis=2)
    told = inner & (np.minimum(*means) > _LEAST_LIT)
    few = max(1, int(told.sum()) // _FIT_POINTS)
    full, wanted = terms[told][::few], np.log(means[1][told][::few] / means[0][told][::few]).astype(np.float64)
    if len(wanted) < 10 * terms.shape[-1]:
        return np.ones(inner.shape, np.float32)
    weight, fitted = np.ones(len(wanted)), np.zeros(terms.shape[-1])
    for _ in range(_ROUNDS):
        weighted = full * weight[:, None]
        # Held to "even" a little: a sheet that is dark in most places tells little of its lamp.
        held = np.eye(terms.shape[-1]) * 1e-3 * weight.sum()
        fitted = np.linalg.solve(full.T @ weighted + held, weighted.T @ wanted)
        off = np.abs(full @ fitted - wanted)
        weight = np.clip(1 - (off / (4 * (1.48 * float(np.median(off)) + 1e-3))) ** 2, 0, 1) ** 2
    slope = terms @ fitted
    most = np.log(_MOST_SLOPE) / 2
    return np.asarray(np.exp(np.clip(slope - np.median(slope[inner]), -most, most)), np.float32)


def _cast_on(art: Floats32, cast: Matrix, light: Floats32 | None = None) -> Floats32:
    """Give the art's colours as the cast has them, and as the light falls on them."""
    seen = art @ cast[:3] + cast[3]
    return np.asarray(np.clip(seen if light is None else seen * light[..., None], 0, 1), np.float32)


def _explained(expected: Floats32, proof: Floats32) -> float:
    """Give the share of the photograph's light and dark that the art explains."""
    light = proof.mean(axis=1)
    varies = float(light.var())
    return 1 - float(((expected.mean(axis=1) - light) ** 2).mean()) / varies if varies > 1e-5 else 0.0


def _lab(picture: Floats32) -> Floats32:
    return np.asarray(cv2.cvtColor(np.ascontiguousarray(picture), cv2.COLOR_RGB2LAB), np.float32)


def _difference(one: Floats32, other: Floats32) -> Floats32:
    """Give CIEDE2000 for each pixel of two pictures of sRGB values, 0 to 1."""
    high, wide = one.shape[:2]
    labs = [
        Image.new_from_memory(_lab(picture), wide, high, 3, "float").copy(interpretation="lab")
        for picture in (one, other)
    ]
    return np.asarray(labs[0].dE00(labs[1]).numpy(), np.float32).reshape(high, wide)


def _told(art: Floats32, expected: Floats32) -> ColourCast:
    """Say what the cast does to the art on the whole, in L*, a*, b*."""
    shift = (_lab(expected[:, None, :]) - _lab(art[:, None, :])).reshape(-1, 3)
    light, red, yellow = (round(float(v), 1) for v in np.median(shift, axis=0))
    return ColourCast(lighter=light, redder=red, yellower=yellow)


def _places(left: Floats32, inner: Bools, per_mm: float) -> Bools:
    """Find where more is left than may be, in places of some size."""
    over = ((left > LEAST_SEEN_DE) & inner).astype(np.uint8)
    side = max(3, round(LEAST_PLACE_MM * per_mm / 2) * 2 + 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    return np.asarray(cv2.morphologyEx(over, cv2.MORPH_OPEN, disc) > 0, np.bool_)


def _boxes(differs: Bools, to_proof: Matrix, proof_size: tuple[int, int]) -> tuple[tuple[float, ...], ...]:
    """Give the places as boxes of fractions of the photograph, largest first."""
    n, _labels, boxes, _ = cv2.connectedComponentsWithStats(differs.astype(np.uint8), connectivity=8)
    largest = sorted((tuple(int(v) for v in boxes[at]) for at in range(1, n)), key=lambda box: -box[4])
    told = []
    for left, top, wide, high, _area in largest[:MOST_SEEN]:
        corners = np.array([(x, y, 1) for x in (left, left + wide) for y in (top, top + high)], np.float64)
        seen = corners @ to_proof.T
        on = seen[:, :2] / seen[:, 2:] / np.array(proof_size)
        told.append(tuple(round(float(v), 4) for v in (*on.min(axis=0).clip(0, 1), *on.max(axis=0).clip(0, 1))))
    return tuple(told)


def _sheet(left: Floats32, differs: Bools, to_proof: Matrix, proof_size: tuple[int, int]) -> Pixels:
    """Hatch the photograph where it differs, closer where it differs by twice as much."""
    level = np.where(differs, np.where(left > 2 * LEAST_SEEN_DE, 255, 128), 0).astype(np.uint8)
    on_proof = cv2.warpPerspective(level, to_proof, proof_size, flags=cv2.INTER_NEAREST)
    rows, columns = np.indices(on_proof.shape, np.int32)
    slant = rows + columns
    is_light = slant // (_STRIPE // 2) % 2 == 0
    drawn = (on_proof == 255) | ((on_proof == 128) & (slant % (2 * _STRIPE) < _STRIPE))
    sheet = np.zeros((*on_proof.shape, 4), np.uint8)
    sheet[drawn & is_light] = (255, 255, 255, 255)
    sheet[drawn & ~is_light] = (0, 0, 0, 255)
    return sheet
