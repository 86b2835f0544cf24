"""The drawing desk: one scene in pencil, line, ink scan, flats or full colour, each with its own unsteady hand.

Pixel convention everywhere: an integer coordinate is the middle of a pixel. Paper, wobble and light are laid in
page millimetres, so they stay with the page whatever turn and scale a version is drawn at.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from tests.drawings import Figure, Floats, Rng, Scene, Stroke, apply

Picture = NDArray[np.uint8]
MEDIA = ("sketch", "line", "ink", "flats", "full")
EDGE = 12  # grid cells of the edge repeated around a wander, so that its spline is smooth there
PENCILS = ((214, 106, 40), (70, 120, 200), (95, 95, 100), (80, 70, 66))


class Hand:
    """A smooth displacement of the page in mm: what one person's redrawing adds. `rms_mm` is the vector rms."""

    def __init__(self, rng: Rng, rms_mm: float, spacing_mm: float = 25.0, reach_mm: float = 750.0) -> None:
        n = int(reach_mm / spacing_mm) + 5
        self.spacing, self.origin = spacing_mm, -150.0
        self.grid = rng.normal(0, 1, (2, n, n))
        fine = np.stack([ndimage.zoom(g, 3, order=3) for g in self.grid])
        self.grid *= rms_mm / max(1e-9, float(np.sqrt((fine**2).sum(0).mean())))
        self.is_still = rms_mm <= 0
        self._splines: Floats | None = None

    def widened(self, more: float) -> None:
        """Let the hand wander this much more."""
        self.grid *= more
        self._splines = None

    def move(self, points: Floats) -> Floats:
        if self.is_still:
            return points
        if self._splines is None:  # once per hand, not once per stroke
            around = ((EDGE, EDGE), (EDGE, EDGE))
            padded = (np.pad(g, around, mode="edge") for g in self.grid)
            self._splines = np.stack([ndimage.spline_filter(g, 3, mode="nearest") for g in padded])
        at = ((points[:, ::-1] - self.origin) / self.spacing).T + EDGE
        moved = (ndimage.map_coordinates(s, at, order=3, mode="nearest", prefilter=False) for s in self._splines)
        return points + np.stack(list(moved), 1)


@dataclass(frozen=True, eq=False)
class Sheet:
    """Where a version is drawn: page mm -> pixels, canvas size, and the hand that draws it."""

    to_px: Floats
    width_px: int
    height_px: int
    hand: Hand

    @property
    def px_per_mm(self) -> float:
        return float(np.hypot(self.to_px[0, 0], self.to_px[1, 0]))

    def place(self, figure: Figure, stroke: Stroke, extra: Hand | None = None) -> list[Floats]:
        """Return the stroke's rings in pixels, the outer one first."""
        return [self._ring(figure, ring, stroke.is_closed, extra) for ring in (stroke.points, *stroke.holes)]

    def _ring(self, figure: Figure, ring: Floats, is_closed: bool, extra: Hand | None) -> Floats:
        points = self.hand.move(_dense(apply(figure.placed, ring), is_closed))
        return apply(self.to_px, extra.move(points) if extra else points)

    def blank(self, value: int = 0, channels: int = 1) -> Picture:
        shape = (self.height_px, self.width_px) if channels == 1 else (self.height_px, self.width_px, channels)
        return np.full(shape, value, np.uint8)


def _dense(points: Floats, is_closed: bool, step_mm: float = 3.0) -> Floats:
    """Return the stroke with a point at least every 3 mm, so that a wobble bends straight lines too."""
    ends = np.roll(points, -1, 0) if is_closed else points[1:]
    starts = points if is_closed else points[:-1]
    apart = ends - starts
    n = np.maximum(1, (np.hypot(apart[:, 0], apart[:, 1]) / step_mm).astype(int))
    along = np.arange(n.sum()) - np.repeat(np.cumsum(n) - n, n)  # 0, 1, … within each side
    out = np.repeat(starts, n, 0) + np.repeat(apart, n, 0) * (along * np.repeat(1.0 / n, n))[:, None]
    return out if is_closed else np.concatenate([out, points[-1:]])


def _fixed(points: Floats) -> NDArray[np.int32]:
    return np.round(np.clip(points, -20000, 20000) * 16).astype(np.int32)[None]


def fill(canvas: Picture, rings: list[Floats], value: int | tuple[int, int, int]) -> None:
    fixed = [_fixed(ring)[0] for ring in rings]
    cv2.fillPoly(canvas, fixed, value if isinstance(value, tuple) else (value,), cv2.LINE_AA, 4)


def trace(canvas: Picture, rings: list[Floats], is_closed: bool, value: int, width_px: float) -> None:
    fixed = [_fixed(ring)[0] for ring in rings]
    cv2.polylines(canvas, fixed, is_closed, (value,), max(1, round(width_px)), cv2.LINE_AA, 4)


def owners(scene: Scene, px_per_mm: float = 2.0, sub: tuple[int, tuple[int, ...]] | None = None) -> NDArray[np.int32]:
    """Return which figure owns each point of the page (0: none), at `px_per_mm`, without any hand.

    With `sub` = (figure, strokes), those strokes are given the number -1.
    """
    ids = np.zeros((round(scene.height_mm * px_per_mm), round(scene.width_mm * px_per_mm)), np.int32)
    to_px = np.array([[px_per_mm, 0, -0.5], [0, px_per_mm, -0.5], [0, 0, 1]], float)
    for figure in scene.figures:
        for i, stroke in enumerate(figure.strokes):
            rings = (apply(to_px, apply(figure.placed, ring)) for ring in (stroke.points, *stroke.holes))
            points = [_fixed(ring)[0] for ring in rings]
            value = -1 if sub and sub[0] == figure.ident and i in sub[1] else figure.ident
            if stroke.is_closed:
                cv2.fillPoly(ids, points, (value,), cv2.LINE_8, 4)
            else:
                cv2.polylines(ids, points, False, (value,), 2, cv2.LINE_8, 4)
    return ids


def _noise(rng: Rng, shape: tuple[int, int], sigma: float, stretch: float = 1.0) -> NDArray[np.float32]:
    field = rng.standard_normal(shape, np.float32)
    field = cv2.GaussianBlur(field, (0, 0), sigma * stretch, sigmaY=sigma)
    return np.asarray(field / max(1e-6, float(field.std())), np.float32)


def _light(rng: Rng, sheet: Sheet, amount: float) -> NDArray[np.float32]:
    """Return a cloudy multiplier laid in page mm (50 mm cells)."""
    grid = rng.normal(0, 1, (16, 20)).astype(np.float32)
    to_grid = np.linalg.inv(sheet.to_px)
    matrix = (np.diag([1 / 50.0, 1 / 50.0, 1]) @ np.array([[1, 0, 150.0], [0, 1, 150.0], [0, 0, 1]]) @ to_grid)[:2]
    size = (sheet.width_px, sheet.height_px)
    cloudy = cv2.warpAffine(
        grid, matrix, size, flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(1 + amount * cloudy, np.float32)


def _hatch(ink: Picture, outline: Floats, rng: Rng, k: float, pressure: int) -> None:
    """Shade the inside of one outline with parallel lines 1.5-3 mm apart."""
    x0, y0 = np.maximum(np.floor(outline.min(0)).astype(int), 0)
    x1, y1 = np.minimum(np.ceil(outline.max(0)).astype(int) + 1, (ink.shape[1], ink.shape[0]))
    if x1 - x0 < 6 or y1 - y0 < 6:
        return
    part, mask = np.zeros((y1 - y0, x1 - x0), np.uint8), np.zeros((y1 - y0, x1 - x0), np.uint8)
    fill(mask, [outline - (x0, y0)], 255)
    angle, step = rng.uniform(0.5, 1.1), rng.uniform(1.5, 3.0) * k
    reach, along = float(max(part.shape)), np.array([np.cos(angle), np.sin(angle)])
    middle = np.array([part.shape[1], part.shape[0]]) / 2
    for d in np.arange(-reach * 0.4, reach * 0.1, step):
        start = middle + np.array([-along[1], along[0]]) * d
        trace(part, [np.stack([start - along * reach, start + along * reach])], False, pressure, 0.3 * k)
    window = ink[y0:y1, x0:x1]
    np.maximum(window, np.minimum(part, mask), out=window)


def _inked(scene: Scene, sheet: Sheet, rng: Rng, *, hatched: float, width_mm: float) -> Picture:
    """Return the line rendering: white fills hide what lies behind, black strokes on top (255 = ink)."""
    ink, k = sheet.blank(), sheet.px_per_mm
    for figure in scene.figures:
        for stroke in figure.strokes:
            points = sheet.place(figure, stroke)
            if stroke.is_closed:
                fill(ink, points, 0)
                if not stroke.is_inner and figure.kind != "hill" and rng.random() < hatched:
                    _hatch(ink, points[0], rng, k, 200)
            trace(ink, points, stroke.is_closed, 255, width_mm * k * (0.7 if stroke.is_inner else 1))
    return ink


def _pencilled(scene: Scene, sheet: Sheet, rng: Rng) -> Picture:
    ink, k = sheet.blank(), sheet.px_per_mm
    passes = [Hand(rng, 0.12, 9.0)] + ([Hand(rng, 0.35, 9.0)] if rng.random() < 0.6 else [])
    for figure in scene.figures:
        for stroke in figure.strokes:
            if stroke.is_inner and rng.random() < 0.25:
                continue
            if stroke.is_closed:
                inside = sheet.place(figure, stroke)
                fill(ink, inside, 0)
                if not stroke.is_inner and figure.kind != "hill" and rng.random() < 0.3:
                    _hatch(ink, inside[0], rng, k, int(rng.integers(60, 130)))
            for extra in passes:
                pressure, width = int(rng.integers(130, 250)), rng.uniform(0.4, 0.8) * k
                trace(ink, sheet.place(figure, stroke, extra), stroke.is_closed, pressure, width)
        if figure.kind != "hill" and rng.random() < 0.35:
            around = Stroke(
                np.array([[0.5 * np.cos(t), 0.55 * np.sin(t)] for t in np.linspace(0, 6.3, 40)]), None, False
            )
            faint = sheet.blank()
            trace(faint, sheet.place(figure, around), False, int(rng.integers(40, 90)), 0.4 * k)
            np.maximum(ink, faint, out=ink)
    return ink


def sketch(scene: Scene, sheet: Sheet, rng: Rng) -> Picture:
    pencil = np.array(PENCILS[int(rng.integers(len(PENCILS)))], np.float32)
    ink = _pencilled(scene, sheet, rng)
    grain = np.clip(0.8 + 0.35 * _noise(rng, ink.shape, 0.8), 0, 1.1)  # type: ignore[arg-type]
    alpha = np.clip(ink.astype(np.float32) / 255 * grain, 0, 1)[..., None]
    return _on_paper(alpha, pencil, sheet, rng, texture=2.5)


def line(scene: Scene, sheet: Sheet, rng: Rng) -> Picture:
    ink = _inked(scene, sheet, rng, hatched=0.0, width_mm=float(rng.uniform(0.5, 0.9)))
    return np.asarray(np.repeat(255 - ink[..., None], 3, 2), np.uint8)


def ink(scene: Scene, sheet: Sheet, rng: Rng) -> Picture:
    """Return an ink drawing scanned on two sheets, joined with a step of up to 0.3 mm and 0.08 degrees."""
    width = float(rng.uniform(0.5, 0.9))
    state = rng.bit_generator.state
    left = _inked(scene, sheet, rng, hatched=0.25, width_mm=width)
    rng.bit_generator.state = state
    turn, step = np.deg2rad(rng.uniform(-0.08, 0.08)), rng.uniform(-0.3, 0.3, 2) * sheet.px_per_mm
    middle = sheet.width_px * float(rng.uniform(0.4, 0.6))
    c, s, my = np.cos(turn), np.sin(turn), sheet.height_px / 2
    shift = np.array([[c, -s, middle - c * middle + s * my + step[0]], [s, c, my - s * middle - c * my + step[1]]])
    right = cv2.warpAffine(left, shift, (sheet.width_px, sheet.height_px), flags=cv2.INTER_CUBIC)
    left[:, int(middle) :] = right[:, int(middle) :]
    alpha = (left.astype(np.float32) / 255 * 0.95)[..., None]
    return _on_paper(alpha, np.array((28, 26, 30), np.float32), sheet, rng, texture=3.0)


def _on_paper(
    alpha: NDArray[np.float32], ink_rgb: NDArray[np.float32], sheet: Sheet, rng: Rng, texture: float
) -> Picture:
    shape = (sheet.height_px, sheet.width_px)
    base = np.array((250, 247, 240), np.float32) + texture * _noise(rng, shape, 1.0)[..., None]
    base = base * np.minimum(_light(rng, sheet, 0.02), 1.03)[..., None]
    return np.asarray(np.clip(base * (1 - alpha) + ink_rgb * alpha, 0, 255), np.uint8)


def flats(scene: Scene, sheet: Sheet, rng: Rng) -> Picture:
    paint = sheet.blank(255, 3)
    page = np.array([(0, 0), (scene.width_mm, 0), (scene.width_mm, scene.height_mm), (0, scene.height_mm)], float)
    fill(paint, [apply(sheet.to_px, page)], scene.sky)
    inside = sheet.blank()
    fill(inside, [apply(sheet.to_px, page)], 255)
    for figure in scene.figures:
        for stroke in figure.strokes:
            if stroke.fill is not None:
                fill(paint, sheet.place(figure, stroke), stroke.fill)
    outside = (255 - inside).astype(np.float32)[..., None] / 255
    return np.asarray(paint * (1 - outside) + 250 * outside, np.uint8)


def full(scene: Scene, sheet: Sheet, rng: Rng) -> Picture:
    """Return flats with light, grade, brush grain and 100-500 dabs; the line is absent or faint."""
    paint = flats(scene, sheet, rng)
    _dabs(paint, scene, sheet, rng)
    out = paint.astype(np.float32) * _light(rng, sheet, float(rng.uniform(0.03, 0.09)))[..., None]
    if rng.random() < 0.5:
        faint = _inked(scene, sheet, np.random.default_rng(1), hatched=0, width_mm=0.5).astype(np.float32) / 255
        out *= 1 - float(rng.uniform(0.2, 0.6)) * faint[..., None]
    out = 255 * np.clip(out / 255, 0, 1) ** float(rng.uniform(0.8, 1.25)) * rng.uniform(0.88, 1.0, 3).astype(np.float32)
    out += float(rng.uniform(1.5, 4)) * _noise(rng, paint.shape[:2], 0.9, 3.0)[..., None]  # type: ignore[arg-type]
    return np.asarray(np.clip(out, 0, 255), np.uint8)


def _dabs(paint: Picture, scene: Scene, sheet: Sheet, rng: Rng) -> None:
    """Lay soft brush marks of about a tenth of the tone below them."""
    light, dark = sheet.blank(), sheet.blank()
    for _ in range(int(rng.integers(100, 500))):
        spot, k = rng.uniform((0, 0), (scene.width_mm, scene.height_mm)), sheet.px_per_mm
        axes = (rng.uniform(1.5, 9) * k, rng.uniform(0.7, 2.5) * k)
        centre = apply(sheet.to_px, spot[None])[0]
        cv2.ellipse(
            light if rng.random() < 0.5 else dark,
            (tuple(map(float, centre)), axes, float(rng.uniform(0, 180))),
            int(rng.integers(60, 255)),
            -1,
        )
    for layer, target in ((light, 255.0), (dark, 30.0)):
        alpha = cv2.GaussianBlur(layer, (0, 0), 0.4 * sheet.px_per_mm).astype(np.float32)[..., None] / 255 * 0.13
        paint[:] = (paint * (1 - alpha) + target * alpha).astype(np.uint8)


def regraded(picture: Picture, px_per_mm: float, rng: Rng) -> Picture:
    """Return it as another desk would give it: graded anew, under light of 12 mm clouds, in few levels."""
    height, width = picture.shape[:2]
    cells = (max(4, round(height / (12 * px_per_mm))), max(4, round(width / (12 * px_per_mm))))
    clouds = cv2.resize(rng.normal(0, 1, cells).astype(np.float32), (width, height), interpolation=cv2.INTER_CUBIC)
    graded = 255 * (picture.astype(np.float32) / 255) ** rng.uniform(0.75, 1.35, 3).astype(np.float32)
    mixed = graded @ (np.eye(3) + rng.uniform(-0.08, 0.08, (3, 3))).astype(np.float32)
    step = 255 / float(rng.integers(14, 28))
    out = np.round(mixed * (1 + 0.07 * clouds[..., None]) / step) * step
    return np.asarray(np.clip(out, 0, 255), np.uint8)


DRAW = {"sketch": sketch, "line": line, "ink": ink, "flats": flats, "full": full}


def as_jpeg(picture: Picture, quality: int) -> Picture:
    _, data = cv2.imencode(".jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1], np.uint8)
