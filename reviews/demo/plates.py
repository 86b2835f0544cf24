"""The separate layers a picture is built from: flat colours, lines, pencil tone, and where light falls."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.demo.brush import Grey, fill, pressed
from reviews.demo.curves import chance, wobbled
from reviews.demo.marks import Mark, Scene, channels, darkness


def blank(scene: Scene, wide: int, value: int = 0) -> Grey:
    """Return an empty layer `wide` pixels across, in the shape of the scene."""
    return np.full((round(wide * scene.height / scene.width), wide), value, np.uint8)


def flats(scene: Scene, wide: int) -> NDArray[np.uint8]:
    """Return the scene in flat colour, RGB, no lines."""
    k = wide / scene.width
    layer = np.zeros((*blank(scene, wide).shape, 3), np.uint8)
    layer[:] = channels(scene.hour.sky[1])
    for mark in scene.marks:
        if mark.fill and mark.closed:
            fill(layer, mark.points * k, channels(mark.fill))
    return layer


@dataclass(frozen=True, slots=True)
class Hand:
    """How lines are drawn: weight in mm, unsteadiness in mm, how often each is gone over, how much detail."""

    weight: float = 1.0
    wobble: float = 0.0
    passes: int = 1
    detail: int = 2
    erase: int = 0  # what shows through of the lines behind a shape, 0..255
    sway: float = 0.35
    dark: int = 255
    solid: bool = True  # whether black parts are filled
    fade: float = 0.5  # how much lighter far things are


def lines(scene: Scene, wide: int, hand: Hand, seed: str) -> Grey:
    """Return the lines of a scene as amounts of ink, 0..255; nearer shapes hide what is behind them."""
    k = wide / scene.width
    layer = blank(scene, wide)
    for number, mark in enumerate(scene.marks):
        if mark.detail > hand.detail:
            continue
        _outline(layer, mark, k, hand, f"{seed}|{number}")
    return layer


def _outline(layer: Grey, mark: Mark, k: float, hand: Hand, seed: str) -> None:
    if mark.closed and mark.fill and _covers(mark):
        fill(layer, mark.points * k, hand.erase)
    touch = (
        mark.closed and mark.fill and not mark.line and mark.detail == 2 and not mark.raw and darkness(mark.fill) > 0.45
    )
    if (mark.ink and hand.solid) or touch:
        fill(layer, mark.points * k, hand.dark)
    if not mark.line:
        return
    rng = chance(seed)
    strength = int(hand.dark * (1 - hand.fade * max(mark.plane, 0)))
    width = max(mark.line * hand.weight * (1 - 0.5 * max(mark.plane, 0)) * k, 1.1)
    for _ in range(hand.passes):
        path = wobbled(mark.points, hand.wobble, rng)
        for outline in pressed(path * k, width, mark.closed, rng, hand.sway):
            fill(layer, outline, strength)


def _covers(mark: Mark) -> bool:
    return bool(mark.line) or mark.detail == 0 or (mark.raw and mark.detail < 2)


@dataclass(frozen=True, slots=True)
class Lit:
    """Where light falls: shadow and rim (0..255), depth (0 near, 255 far), raw (255: keep the flat colour)."""

    shadow: Grey
    rim: Grey
    depth: Grey
    raw: Grey
    glow: Grey
    front: Grey


def lit(scene: Scene, wide: int) -> Lit:
    """Model every shape of the scene: a crescent of shadow away from the light, one of light towards it."""
    k = wide / scene.width
    layers = Lit(*(blank(scene, wide) for _ in range(6)))
    for mark in scene.marks:
        if not (mark.closed and mark.fill):
            continue
        if mark.detail == 2 and not mark.raw and not mark.glow:
            continue
        _model(layers, mark, k, scene)
    return layers


def _model(layers: Lit, mark: Mark, k: float, scene: Scene) -> None:
    points = mark.points * k
    fill(layers.depth, points, int(255 * min(max(mark.plane, 0), 1)))
    fill(layers.front, points, 255 if mark.plane < 0 else 0)
    fill(layers.raw, points, 255 if mark.raw else 0)
    fill(layers.glow, points, int(255 * min(mark.glow, 1)))
    if mark.raw or mark.shade <= 0:
        fill(layers.shadow, points, 0)
        fill(layers.rim, points, 0)
        return
    _crescents(layers, points, mark, k, scene)


def _crescents(layers: Lit, points: NDArray[np.float64], mark: Mark, k: float, scene: Scene) -> None:
    high, across = layers.shadow.shape
    low, top = points.min(axis=0), points.max(axis=0)
    reach = int(np.clip(0.17 * np.sqrt(np.prod(np.maximum(top - low, 1))), 2, 13 * k))
    x0, y0 = (int(max(v - 1, 0)) for v in low)
    x1, y1 = int(min(top[0] + 2, across)), int(min(top[1] + 2, high))
    if x1 <= x0 or y1 <= y0:
        return
    pad = 2 * reach + 2
    mask = np.zeros((y1 - y0 + 2 * pad, x1 - x0 + 2 * pad), np.uint8)
    fill(mask, points - (x0 - pad, y0 - pad), 255)
    soft = cv2.blur(cv2.blur(mask, (reach | 1, reach | 1)), (reach | 1, reach | 1))
    dx, dy = (round(v * reach * 0.8) for v in _towards_light(mark, scene))
    inner = mask[pad:-pad, pad:-pad]
    rows, columns = slice(y0, y1), slice(x0, x1)
    sinking = _sinking(mark, y1 - y0, scene)
    for layer, way in ((layers.shadow, -1), (layers.rim, 1)):
        moved = soft[pad + way * dy : pad + way * dy + y1 - y0, pad + way * dx : pad + way * dx + x1 - x0]
        crescent = cv2.multiply(cv2.bitwise_not(moved), inner, scale=min(mark.shade, 1.3) / 255)
        if way < 0 and sinking is not None:
            crescent = cv2.add(crescent, np.ascontiguousarray(np.broadcast_to(sinking, crescent.shape)))
        kept = cv2.multiply(layer[rows, columns], cv2.bitwise_not(inner), scale=1 / 255)
        layer[rows, columns] = cv2.add(kept, cv2.min(crescent, inner))


def _sinking(mark: Mark, rows: int, scene: Scene) -> NDArray[np.uint8] | None:
    """Return a shade that deepens downwards, for land and water: one column, to be spread over the shape."""
    long = float(np.ptp(mark.points[:, 0]))
    if mark.detail or long < scene.width * 0.6 or mark.plane < 0:
        return None
    return np.linspace(0, 120, rows).astype(np.uint8)[:, None]


def _towards_light(mark: Mark, scene: Scene) -> tuple[float, float]:
    """Return the way to the light that matters to a shape: the warm one if it is in reach, else the sky."""
    sky = np.array([-0.45, -0.9])
    if scene.light is None:
        return float(sky[0]), float(sky[1])
    middle = (mark.points.min(axis=0) + mark.points.max(axis=0)) / 2
    way = np.asarray(scene.light.at) - middle
    far = float(np.hypot(*way))
    share = np.clip(1.6 - far / (scene.light.radius * 0.7), 0, 1)
    blend = sky * (1 - share) + way / max(far, 1e-6) * share
    length = max(float(np.hypot(*blend)), 1e-6)
    return float(blend[0] / length), float(blend[1] / length)
