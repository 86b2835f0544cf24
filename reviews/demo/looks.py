"""The look of each stage, from loose thumbnail to colour. Each takes a scene and gives an RGB picture."""

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.demo.brush import Grey, blended, fill, pressed, rubbed, tiled
from reviews.demo.curves import chance, wobbled
from reviews.demo.lettering import words
from reviews.demo.marks import Scene, channels, placed
from reviews.demo.plates import Hand, blank, flats, lines, lit, tones

Picture = NDArray[np.uint8]
ORANGE, GRAPHITE, INK = (222, 98, 28), (58, 58, 66), (18, 17, 24)


def paper(shape: tuple[int, ...], colour: tuple[int, int, int], tooth: float = 0.05) -> Picture:
    """Return a sheet of paper with a little tooth."""
    texture = tiled("paper", shape, 1.5)
    shade = cv2.convertScaleAbs(texture, alpha=tooth, beta=255 * (1 - tooth))
    return cv2.merge([cv2.multiply(shade, (float(c), 0, 0, 0), scale=1 / 255) for c in colour])


def sketch(scene: Scene, wide: int, seed: str) -> Picture:
    """Orange pencil: every line gone over twice, shading laid in with the side of the lead."""
    hand = Hand(weight=0.8, wobble=0.22, passes=2, detail=2, erase=14, solid=False, dark=235, sway=0.5)
    drawn = lines(scene, wide, hand, seed)
    tone = cv2.GaussianBlur(tones(scene, wide // 3), (0, 0), 2.0)
    tone = cv2.resize(tone, drawn.shape[::-1], interpolation=cv2.INTER_LINEAR)
    hatch = rubbed(cv2.convertScaleAbs(tone, alpha=0.62), tiled("scribble", drawn.shape, 1.0), 2.6)
    lead = cv2.add(rubbed(drawn, tiled("paper", drawn.shape, 1.0, 3), 1.0), cv2.convertScaleAbs(hatch, alpha=0.62))
    sheet = paper(drawn.shape, (251, 249, 244))
    blended(sheet, ORANGE, lead)
    return sheet


def line(scene: Scene, wide: int, seed: str) -> Picture:
    """Black brush line on white."""
    drawn = lines(scene, wide, Hand(weight=1.0, wobble=0.05, sway=0.6), seed)
    sheet = cv2.bitwise_not(drawn)
    return cv2.merge([sheet, sheet, sheet])


def colour(scene: Scene, wide: int, seed: str) -> Picture:
    """Full colour: flats, modelled by the light with a dabbed edge, air in the distance, glow, coloured line."""
    base = flats(scene, wide)
    maps = lit(scene, wide // 3)
    shape = base.shape[:2]
    size = shape[::-1]
    sponge = tiled("sponge", shape, 1.6)
    shadow = rubbed(cv2.resize(maps.shadow, size), sponge, 2.2)
    rim = rubbed(cv2.resize(cv2.multiply(maps.rim, _reach(scene, maps.depth, maps.front), scale=1 / 255), size), sponge, 1.8)
    ambient = _ambient(scene, maps.depth, maps.front, maps.raw)
    out = []
    key = channels(scene.light.colour) if scene.light else (255, 255, 255)
    shade = channels(scene.hour.shadow)
    for index in range(3):
        around = cv2.resize(ambient[index], size)
        dimmed = cv2.multiply(around, cv2.convertScaleAbs(shadow, alpha=-0.56, beta=255), scale=1 / 255)
        multiplier = cv2.add(dimmed, cv2.convertScaleAbs(rim, alpha=key[index] / 255 * 0.55))
        plane = cv2.multiply(base[:, :, index], multiplier, scale=2 / 255)
        out.append(cv2.add(plane, cv2.convertScaleAbs(shadow, alpha=shade[index] / 255 * 0.10)))
    picture = cv2.merge(out)
    _air(picture, scene, maps.depth, maps.raw)
    _inked(picture, scene, wide, seed, maps.raw)
    _bloom(picture, scene, maps.glow)
    _textured(picture)
    return picture


def _reach(scene: Scene, depth: Grey, front: Grey) -> Grey:
    """Return how much of the warm light gets to each place, 0..255; some sky light always does."""
    if scene.light is None:
        return np.full(depth.shape, 120, np.uint8)
    k = depth.shape[1] / scene.width
    ys, xs = np.mgrid[0 : depth.shape[0], 0 : depth.shape[1]].astype(np.float32)
    far = np.hypot(xs / k - scene.light.at[0], ys / k - scene.light.at[1]) / scene.light.radius
    fall = np.clip(1 - far, 0, 1) ** 1.5 * scene.light.strength * np.exp(-2.6 * depth / 255.0)
    fall = np.where(front > 127, fall * 0.25, fall)
    return np.clip(60 + 255 * fall, 0, 255).astype(np.uint8)


def _ambient(scene: Scene, depth: Grey, front: Grey, raw: Grey) -> list[Grey]:
    """Return per channel what the flat colour is multiplied by, 128 standing for 1."""
    around = channels(scene.hour.ambient)
    key = channels(scene.light.colour) if scene.light else (0, 0, 0)
    warm = _reach(scene, depth, front).astype(np.float32) - 60 if scene.light else np.zeros(depth.shape, np.float32)
    dim = np.where(front > 127, 0.62, 1.0).astype(np.float32)
    out = []
    for index in range(3):
        value = around[index] / 255 * dim * 128 + warm / 255 * key[index] / 255 * 104
        out.append(np.where(raw > 127, 128, np.clip(value, 0, 255)).astype(np.uint8))
    return out


def _air(picture: Picture, scene: Scene, depth: Grey, raw: Grey) -> None:
    veil = np.where(raw > 127, 0, depth * 0.62).astype(np.uint8)
    blended(picture, channels(scene.hour.haze), cv2.resize(veil, picture.shape[1::-1]))


def _inked(picture: Picture, scene: Scene, wide: int, seed: str, raw: Grey) -> None:
    drawn = lines(scene, wide, Hand(weight=0.75, wobble=0.05, sway=0.6, fade=0.75), seed)
    dry = rubbed(drawn, tiled("paper", drawn.shape, 1.0, 5), 0.7)
    blended(picture, channels(scene.hour.line), cv2.convertScaleAbs(dry, alpha=0.72))


def _bloom(picture: Picture, scene: Scene, glow: Grey) -> None:
    small = cv2.resize(glow, (600, max(1, round(600 * glow.shape[0] / glow.shape[1]))), interpolation=cv2.INTER_AREA)
    near = cv2.GaussianBlur(small, (0, 0), 9).astype(np.float32)
    wide = cv2.GaussianBlur(small, (0, 0), 38).astype(np.float32)
    halo = np.clip(near * 0.42 + wide * 0.85, 0, 255).astype(np.uint8)
    halo = cv2.resize(halo, picture.shape[1::-1])
    tint = channels(scene.light.colour) if scene.light else (255, 240, 200)
    for index in range(3):
        room = cv2.bitwise_not(picture[:, :, index])
        lift = cv2.multiply(room, halo, scale=tint[index] / 255 / 255 * 0.75)
        picture[:, :, index] = cv2.add(picture[:, :, index], lift)


def _textured(picture: Picture) -> None:
    """Give the whole the tooth of the paper and the drag of a dry brush."""
    tooth = cv2.addWeighted(tiled("paper", picture.shape, 1.6), 0.12, tiled("brush", picture.shape, 2.0), 0.10, 228 - 28.0)
    for index in range(3):
        picture[:, :, index] = cv2.multiply(picture[:, :, index], tooth, scale=1 / 226)


def idea(scene: Scene, wide: int, seed: str, number: int = 1) -> Picture:
    """Loose thumbnail on a sketchbook sheet: soft pencil, masses of tone, hardly any detail, a ruled frame, a number."""
    sheet = paper(blank(scene, wide).shape, (244, 241, 233), 0.08)
    high, across = sheet.shape[:2]
    inner = round(across * 0.9)
    left, top = (across - inner) // 2, round((high - inner * scene.height / scene.width) * 0.42)
    tone = cv2.GaussianBlur(tones(scene, inner // 2, detail=1), (0, 0), 3.0)
    tone = cv2.resize(tone, blank(scene, inner).shape[::-1], interpolation=cv2.INTER_LINEAR)
    hand = Hand(weight=1.5, wobble=0.6, passes=2, detail=1, erase=0, solid=True, dark=225, sway=0.7)
    drawn = lines(scene, inner, hand, seed)
    mass = rubbed(tone, tiled("scribble", tone.shape, 1.3, number), 2.4)
    lead = cv2.add(rubbed(drawn, tiled("paper", drawn.shape, 1.4), 1.6), cv2.convertScaleAbs(mass, alpha=0.8))
    blended(sheet[top : top + lead.shape[0], left : left + inner], GRAPHITE, lead)
    blended(sheet, GRAPHITE, _frame(scene, wide, (left, top, inner, lead.shape[0]), number, seed))
    return sheet


def _frame(scene: Scene, wide: int, box: tuple[int, int, int, int], number: int, seed: str) -> Grey:
    """Return the pencilled frame of a thumbnail, the corner of its neighbour on the sheet, and its number."""
    layer = blank(scene, wide)
    k = wide / scene.width
    x, y, w, h = box
    rng = chance("frame", seed)
    ends = [((x, y), (x + w, y)), ((x + w, y), (x + w, y + h)), ((x + w, y + h), (x, y + h)), ((x, y + h), (x, y)),
            ((x + w + 9 * k, y + h + 5.5 * k), (x + w + 9 * k, wide)), ((x + w + 9 * k, y + h + 5.5 * k), (wide, y + h + 5.5 * k))]
    for start, stop in ends:
        for _ in range(2):
            path = np.linspace(start, stop, 24) + rng.normal(0, 0.25 * k, 2)
            path = wobbled(path, 0.25 * k, rng, 90 * k)
            for outline in pressed(path, 0.7 * k, False, rng):
                fill(layer, outline, 190)
    for mark in placed(words(str(number), 8, "#000000", 0.13), (x / k + 8, (y + h) / k + 7)):
        fill(layer, mark.points * k, 210)
    return rubbed(layer, tiled("paper", layer.shape, 1.2), 1.2)
