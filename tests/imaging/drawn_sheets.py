"""Printers' proof sheets drawn with a known trim: marks, bleed, colour bars, slug, a scanner's skew and noise."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reviews.press.proof_sheet import TrimFound

CORNERS = ("upper left", "upper right", "lower right", "lower left")
_FINE = 2  # drawn at twice the size and reduced, so that a hairline is as faint as on a scan
_PAPER = 250


@dataclass(frozen=True, kw_only=True)
class DrawnSheet:
    """A sheet in mm: its trim lies ``at`` (left, top) on it. ``corners`` are those that have marks."""

    trim: tuple[float, float] = (500.0, 250.0)
    sheet: tuple[float, float] = (560.0, 310.0)
    at: tuple[float, float] = (30.0, 30.0)
    bleed: float = 3.0
    gap: float = 5.0
    length: float = 6.0
    weight: float = 0.18
    corners: tuple[str, ...] = CORNERS
    bleed_marks: bool = False
    fold_marks: bool = False
    register_marks: bool = False
    bars: bool = False
    skew_deg: float = 0.0
    px_per_mm: float = 4096 / 560
    noise: float = 0.0
    paper: int = _PAPER
    art_lines: bool = False

    @property
    def size_px(self) -> tuple[int, int]:
        return round(self.sheet[0] * self.px_per_mm), round(self.sheet[1] * self.px_per_mm)


def drawn(one: DrawnSheet, seed: int = 0) -> np.ndarray:
    """Draw a sheet as it comes from a scanner: (rows, columns, 3) uint8 sRGB."""
    dice = np.random.default_rng(seed)
    wide, high = (side * _FINE for side in one.size_px)
    picture = np.full((high, wide, 3), 255, np.uint8)
    _paint_art(picture, one, dice)
    for corner in one.corners:
        _mark(picture, one, corner, 0.0)
        if one.bleed_marks:
            _mark(picture, one, corner, one.bleed)
    if one.fold_marks:
        _folds(picture, one)
    if one.register_marks:
        _registers(picture, one)
    if one.bars:
        _bars(picture, one, dice)
    seen = cv2.resize(_skewed(picture, one), one.size_px, interpolation=cv2.INTER_AREA)
    shade = seen.astype(np.float64) * one.paper / 255 + dice.normal(0, one.noise, seen.shape) * (one.noise > 0)
    return np.clip(shade, 0, 255).astype(np.uint8)


def trim_of(one: DrawnSheet) -> TrimFound:
    """Give where the trim is on it, turned straight."""
    (left, top), (wide, high) = one.at, one.trim
    middle = np.array([left + wide / 2, top + high / 2])
    if one.skew_deg:
        middle = _turn(one)[:, :2] @ middle + _turn(one)[:, 2] / (one.px_per_mm * _FINE)
    return TrimFound(
        left=(middle[0] - wide / 2) / one.sheet[0],
        top=(middle[1] - high / 2) / one.sheet[1],
        right=(middle[0] + wide / 2) / one.sheet[0],
        bottom=(middle[1] + high / 2) / one.sheet[1],
        turn_deg=one.skew_deg,
        n_corners=len(one.corners),
    )


def _turn(one: DrawnSheet) -> np.ndarray:
    wide, high = (side * _FINE for side in one.size_px)
    return cv2.getRotationMatrix2D((wide / 2, high / 2), -one.skew_deg, 1.0)


def _skewed(picture: np.ndarray, one: DrawnSheet) -> np.ndarray:
    if not one.skew_deg:
        return picture
    high, wide = picture.shape[:2]
    lid = (255, 255, 255)
    return cv2.warpAffine(picture, _turn(one), (wide, high), flags=cv2.INTER_LINEAR, borderValue=lid)


def _scale(one: DrawnSheet) -> float:
    return one.px_per_mm * _FINE


def _line(picture, one, start, end, weight=None, colour=(10, 10, 10)) -> None:
    """Draw a line between two places in mm; its thickness is a whole number of fine pixels."""
    by = _scale(one)
    thick = max(1, round((weight or one.weight) * by))
    (x0, x1), (y0, y1) = (sorted(round(place[axis] * by) for place in (start, end)) for axis in (0, 1))
    wide, high = (thick if low == top else top - low for low, top in ((x0, x1), (y0, y1)))
    left, top = x0 - (thick // 2 if x0 == x1 else 0), y0 - (thick // 2 if y0 == y1 else 0)
    picture[max(0, top) : top + high, max(0, left) : left + wide] = colour


def _mark(picture, one: DrawnSheet, corner: str, out: float) -> None:
    down, across = corner.split()
    x = one.at[0] - out if across == "left" else one.at[0] + one.trim[0] + out
    y = one.at[1] - out if down == "upper" else one.at[1] + one.trim[1] + out
    beside, above = (-1 if across == "left" else 1), (-1 if down == "upper" else 1)
    gap = one.gap - out
    _line(picture, one, (x, y + above * gap), (x, y + above * (gap + one.length)))
    _line(picture, one, (x + beside * gap, y), (x + beside * (gap + one.length), y))


def _folds(picture, one: DrawnSheet) -> None:
    x = one.at[0] + one.trim[0] / 2
    for y, out in ((one.at[1], -1), (one.at[1] + one.trim[1], 1)):
        _line(picture, one, (x, y + out * one.gap), (x, y + out * (one.gap + one.length)))


def _registers(picture, one: DrawnSheet) -> None:
    (left, top), (wide, high) = one.at, one.trim
    off = one.gap + 4
    for x, y in ((left + wide / 3, top - off), (left + wide / 3, top + high + off),
                 (left - off, top + high / 2), (left + wide + off, top + high / 2)):  # fmt: skip
        _line(picture, one, (x - 4, y), (x + 4, y))
        _line(picture, one, (x, y - 4), (x, y + 4))
        centre = round(x * _scale(one)), round(y * _scale(one))
        cv2.circle(picture, centre, round(2.5 * _scale(one)), (10, 10, 10), 2, cv2.LINE_AA)


def _bars(picture, one: DrawnSheet, dice) -> None:
    by = _scale(one)
    top = round((one.at[1] + one.trim[1] + one.gap + one.length + 2) * by)
    for n in range(30):
        left = round((one.at[0] + 20 + n * 9) * by)
        picture[top : top + round(6 * by), left : left + round(9 * by)] = dice.integers(0, 255, 3)
    place = round((one.at[0] + 20) * by), round(10 * by)
    words = "Proof 2  IIII llll |||| 4/4 sheet 7"
    cv2.putText(picture, words, place, cv2.FONT_HERSHEY_SIMPLEX, by / 6, (20, 20, 20), 3, cv2.LINE_AA)


def _paint_art(picture, one: DrawnSheet, dice) -> None:
    by, bleed = _scale(one), one.bleed
    left, top = (round((side - bleed) * by) for side in one.at)
    right, bottom = (round((side + size + bleed) * by) for side, size in zip(one.at, one.trim, strict=True))
    high, wide = bottom - top, right - left
    art = cv2.resize(dice.integers(60, 255, (5, 9, 3), dtype=np.uint8), (wide, high), interpolation=cv2.INTER_CUBIC)
    for _ in range(30):
        x, y, r = int(dice.integers(0, wide)), int(dice.integers(0, high)), int(dice.integers(20, high // 6))
        cv2.ellipse(art, (x, y), (r, r // 2), 20, 0, 360, tuple(int(v) for v in dice.integers(0, 255, 3)), -1)
    if one.art_lines:
        art[:] = 252
        _draw_frames(art, by, dice)
    picture[top:bottom, left:right] = art


def _draw_frames(art, by: float, dice) -> None:
    """Draw on white what looks like marks: window bars, a fence of short uprights, corners of frames that stay open."""
    high, wide = art.shape[:2]
    thin = max(1, round(0.25 * by))
    for _ in range(140):
        x, y = int(dice.integers(0, wide)), int(dice.integers(0, high))
        long = round(float(dice.uniform(3, 12)) * by)
        end = (x + long, y) if dice.random() < 0.5 else (x, y + long)
        cv2.line(art, (x, y), end, (15, 15, 15), thin)
    for _ in range(6):
        x, y = int(dice.integers(0, wide // 2)), int(dice.integers(0, high // 2))
        w, h = int(dice.integers(wide // 6, wide // 2)), int(dice.integers(high // 6, high // 2))
        cv2.rectangle(art, (x, y), (x + w, y + h), (15, 15, 15), thin)
