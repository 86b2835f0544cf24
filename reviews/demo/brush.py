"""Putting shapes on arrays: filled outlines, pressed lines, grain. Everything here works in pixels."""

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.demo.curves import Points, chance, normals

Grey = NDArray[np.uint8]
SUBPIXEL = 4  # bits: fillPoly takes whole numbers, in sixteenths of a pixel


def fill(layer: NDArray[np.uint8], outline: Points, value: tuple[int, ...] | int) -> None:
    """Fill an outline on a layer, edges smoothed."""
    fixed = np.round(outline * (1 << SUBPIXEL)).astype(np.int32)
    colour = value if isinstance(value, tuple) else (value,)
    cv2.fillPoly(layer, [fixed], colour, cv2.LINE_AA, SUBPIXEL)


def pressed(path: Points, width: float, closed: bool, rng: np.random.Generator, sway: float = 0.35) -> list[Points]:
    """Return the outline(s) of a hand-pressed line: it swells towards the lower right and tapers if it is open.

    A closed line comes back as a ring cut open, which fills as a ring under the even-odd rule.
    """
    across = normals(path, closed)
    swell = 1 + sway * (across[:, 0] * 0.5 + across[:, 1] * 0.85)
    swell = swell + sway * 0.5 * np.sin(np.linspace(0, rng.uniform(5, 11), len(path)) + rng.uniform(0, 6))
    if not closed:
        ends = np.minimum(np.linspace(0, 1, len(path)), np.linspace(1, 0, len(path)))
        swell = swell * np.clip(ends * 6 + 0.25, 0, 1)
    half = across * (np.maximum(swell, 0.15) * width / 2)[:, None]
    left, right = path + half, path - half
    if closed:
        left, right = np.vstack([left, left[:1]]), np.vstack([right, right[:1]])
    return [np.vstack([left, right[::-1]])]


@lru_cache(maxsize=16)
def grain(kind: str, size: int = 1024) -> Grey:
    """Return a tile of texture that repeats without a seam, evenly spread over 0..255."""
    rng = chance("grain", kind)
    noise = rng.standard_normal((size, size)).astype(np.float32)
    if kind == "paper":  # toothy: fine with a little coarse
        field = _soft(noise, 0.8, 0.8) + 0.55 * _soft(noise[::-1], 2.6, 2.6)
    elif kind == "sponge":  # dabbed shading
        field = _soft(noise, 1.1, 1.1) + 1.3 * _soft(noise[::-1], 2.6, 2.6) + 2.5 * _soft(noise[:, ::-1], 7, 7)
    elif kind == "scribble":  # pencil strokes side by side
        field = _slanted(noise, 1.3, 26) + 0.8 * _slanted(noise[::-1], 2.8, 60)
    elif kind == "brush":  # dry, lying strokes
        field = _soft(noise, 34, 1.2) + 0.7 * _soft(noise[::-1], 70, 3.0)
    else:  # cloud
        field = _soft(noise, 60, 60)
    order = field.ravel().argsort().argsort().reshape(size, size)
    return (order * (255.0 / (size * size - 1))).astype(np.uint8)


def _soft(noise: NDArray[np.float32], across: float, down: float) -> NDArray[np.float32]:
    pad = int(3 * max(across, down)) + 2
    wide = cv2.copyMakeBorder(noise, pad, pad, pad, pad, cv2.BORDER_WRAP)
    out = cv2.GaussianBlur(wide, (0, 0), across, sigmaY=down)[pad:-pad, pad:-pad]
    return out / out.std()


def _slanted(noise: NDArray[np.float32], thin: float, long: float) -> NDArray[np.float32]:
    """Blur along a falling diagonal by shearing the tile one whole turn, which keeps it seamless."""
    size = len(noise)
    columns = (np.arange(size)[None, :] + np.arange(size)[:, None]) % size
    rows = np.arange(size)[:, None]
    blurred = _soft(np.ascontiguousarray(noise[rows, columns]), thin, long)
    back = (np.arange(size)[None, :] - np.arange(size)[:, None]) % size
    return np.ascontiguousarray(blurred[rows, back])


def tiled(kind: str, shape: tuple[int, ...], scale: float = 1.0, shift: int = 0) -> Grey:
    """Return grain over a whole picture; scale > 1 makes it coarser."""
    tile = grain(kind)
    if scale != 1.0:
        side = max(64, round(len(tile) * scale))
        tile = cv2.resize(tile, (side, side), interpolation=cv2.INTER_LINEAR if scale > 1 else cv2.INTER_AREA)
    tile = np.roll(tile, (shift * 37 % len(tile), shift * 91 % len(tile)), axis=(0, 1))
    down, across = -(-shape[0] // len(tile)), -(-shape[1] // len(tile))
    return np.ascontiguousarray(np.tile(tile, (down, across))[: shape[0], : shape[1]])


def rubbed(tone: Grey, texture: Grey, hardness: float = 2.0) -> Grey:
    """Let a tone come through a texture as pencil, sponge or dry ink does: more where the paper stands up.

    Returns 0..255; a tone of 0 stays 0, of 255 stays 255.
    """
    spread = cv2.addWeighted(tone, 1.0 + hardness * 0.5, texture, -hardness * 0.5, 0.0)
    return cv2.multiply(spread, tone, scale=1 / 190)


def blended(layer: NDArray[np.uint8], colour: tuple[int, int, int], cover: Grey) -> None:
    """Paint a colour over an RGB layer, in place, by a cover of 0..255."""
    rest = cv2.bitwise_not(cover)
    planes = []
    for plane, value in zip(
        cv2.split(layer), colour, strict=True
    ):  # whole planes: three times faster than every third byte
        keep = cv2.multiply(plane, rest, scale=1 / 255)
        planes.append(cv2.add(keep, cv2.convertScaleAbs(cover, alpha=value / 255)))
    layer[:] = cv2.merge(planes)
