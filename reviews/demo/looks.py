"""The looks made with brush and paint: black line and full colour. Each takes a scene and gives an RGB picture."""

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.demo.brush import Grey, blended, rubbed, tiled
from reviews.demo.marks import Scene, channels
from reviews.demo.plates import Hand, Lit, flats, lines, lit

Picture = NDArray[np.uint8]
INK = (18, 17, 24)
MOONLIGHT = (206, 220, 255)
LIGHT_WIDE = 1600  # px; light is soft, and its dabbed edge is made at full size


def paper(shape: tuple[int, ...], colour: tuple[int, int, int], tooth: float = 0.05) -> Picture:
    """Return a sheet of paper with a little tooth."""
    texture = tiled("paper", shape, 1.5)
    shade = cv2.convertScaleAbs(texture, alpha=tooth, beta=255 * (1 - tooth))
    return cv2.merge([cv2.multiply(shade, (float(c), 0, 0, 0), scale=1 / 255) for c in colour])


def line(scene: Scene, wide: int, seed: str) -> Picture:
    """Black brush line on white."""
    drawn = lines(scene, wide, Hand(weight=1.0, wobble=0.05, sway=0.45), seed)
    sheet = cv2.bitwise_not(drawn)
    return cv2.merge([sheet, sheet, sheet])


def flat(scene: Scene, wide: int, seed: str) -> Picture:
    """Flat colour under a fine line, before any light: what a colourist starts from."""
    picture = flats(scene, wide)
    drawn = lines(scene, wide, Hand(weight=0.6, wobble=0.05, sway=0.45, fade=0.6), seed)
    blended(picture, channels(scene.hour.line), cv2.convertScaleAbs(drawn, alpha=0.8))
    return picture


def colour(scene: Scene, wide: int, seed: str) -> Picture:
    """Full colour: flats, modelled by the light with a dabbed edge, air in the distance, glow, coloured line."""
    base = flats(scene, wide)
    maps = lit(scene, min(wide // 3, LIGHT_WIDE))
    shape = base.shape[:2]
    size = shape[::-1]
    sponge = tiled("sponge", shape, 1.6)
    shadow = rubbed(cv2.resize(maps.shadow, size), sponge, 2.2)
    reach = _reach(scene, maps.depth, maps.front)
    rim = rubbed(cv2.resize(cv2.multiply(maps.rim, reach, scale=1 / 255), size), sponge, 1.8)
    sky_rim = rubbed(cv2.resize(cv2.multiply(maps.rim, cv2.bitwise_not(reach), scale=1 / 255), size), sponge, 1.8)
    ambient = _ambient(scene, maps, reach)
    out = []
    planes = cv2.split(base)
    key = channels(scene.light.colour) if scene.light else (255, 255, 255)
    shade = channels(scene.hour.shadow)
    for index in range(3):
        around = cv2.resize(ambient[index], size)
        dimmed = cv2.multiply(around, cv2.convertScaleAbs(shadow, alpha=-0.56, beta=255), scale=1 / 255)
        multiplier = cv2.add(dimmed, cv2.convertScaleAbs(rim, alpha=key[index] / 255 * 0.6))
        multiplier = cv2.add(multiplier, cv2.convertScaleAbs(sky_rim, alpha=MOONLIGHT[index] / 255 * 0.2))
        plane = cv2.multiply(planes[index], multiplier, scale=2 / 255)
        out.append(cv2.add(plane, cv2.convertScaleAbs(shadow, alpha=shade[index] / 255 * 0.10)))
    picture = cv2.merge(out)
    _air(picture, scene, maps.depth, maps.raw)
    _inked(picture, scene, wide, seed)
    _bloom(picture, scene, maps.glow)
    _textured(picture)
    return picture


def _reach(scene: Scene, depth: Grey, front: Grey) -> Grey:
    """Return how much of the warm light gets to each place, 0..255."""
    if scene.light is None:
        return np.zeros(depth.shape, np.uint8)
    k = depth.shape[1] / scene.width
    ys, xs = np.mgrid[0 : depth.shape[0], 0 : depth.shape[1]].astype(np.float32)
    far = np.hypot(xs / k - scene.light.at[0], ys / k - scene.light.at[1]) / scene.light.radius
    fall = np.clip(1 - far, 0, 1) ** 1.35 * scene.light.strength * np.exp(-2.6 * depth / 255.0)
    fall = np.where(front > 127, fall * 0.25, fall)
    return np.clip(255 * fall, 0, 255).astype(np.uint8)


def _ambient(scene: Scene, maps: Lit, reach: Grey) -> list[Grey]:
    """Return per channel what the flat colour is multiplied by, 128 standing for 1."""
    around = channels(scene.hour.ambient)
    key = channels(scene.light.colour) if scene.light else (0, 0, 0)
    warm = reach.astype(np.float32)
    dim = np.where(maps.front > 127, 0.62, 1.0).astype(np.float32)
    out = []
    for index in range(3):
        value = around[index] / 255 * dim * 134 + warm / 255 * key[index] / 255 * 112
        out.append(np.where(maps.raw > 127, 128, np.clip(value, 0, 255)).astype(np.uint8))
    return out


def _air(picture: Picture, scene: Scene, depth: Grey, raw: Grey) -> None:
    veil = np.where(raw > 127, 0, depth * 0.62).astype(np.uint8)
    blended(picture, channels(scene.hour.haze), cv2.resize(veil, picture.shape[1::-1]))


def _inked(picture: Picture, scene: Scene, wide: int, seed: str) -> None:
    drawn = lines(scene, wide, Hand(weight=0.75, wobble=0.05, sway=0.45, fade=0.75), seed)
    dry = rubbed(drawn, tiled("paper", drawn.shape, 1.0, 5), 0.7)
    blended(picture, channels(scene.hour.line), cv2.convertScaleAbs(dry, alpha=0.72))


def _bloom(picture: Picture, scene: Scene, glow: Grey) -> None:
    small = cv2.resize(glow, (600, max(1, round(600 * glow.shape[0] / glow.shape[1]))), interpolation=cv2.INTER_AREA)
    near = cv2.GaussianBlur(small, (0, 0), 9).astype(np.float32)
    wide = cv2.GaussianBlur(small, (0, 0), 38).astype(np.float32)
    halo = np.clip(near * 0.45 + wide * 1.15, 0, 255).astype(np.uint8)
    halo = cv2.resize(halo, picture.shape[1::-1])
    tint = channels(scene.light.colour) if scene.light else (255, 240, 200)
    planes = []
    for index, plane in enumerate(cv2.split(picture)):
        lift = cv2.multiply(cv2.bitwise_not(plane), halo, scale=tint[index] / 255 / 255 * 0.75)
        planes.append(cv2.add(plane, lift))
    picture[:] = cv2.merge(planes)


def _textured(picture: Picture) -> None:
    """Give the whole the tooth of the paper and the drag of a dry brush."""
    tooth = cv2.addWeighted(
        tiled("paper", picture.shape, 1.6), 0.13, tiled("brush", picture.shape, 2.6), 0.045, 226 - 22.0
    )
    picture[:] = cv2.merge([cv2.multiply(plane, tooth, scale=1 / 226) for plane in cv2.split(picture)])
