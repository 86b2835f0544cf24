"""The looks made with a pencil: the loose thumbnail in graphite and the sketch in orange."""

import cv2
import numpy as np

from reviews.demo.brush import Grey, blended, fill, pressed, rubbed, tiled
from reviews.demo.curves import chance, wobbled
from reviews.demo.lettering import words
from reviews.demo.looks import Picture, paper
from reviews.demo.marks import Scene, darkness, placed
from reviews.demo.plates import Hand, blank, lines

ORANGE, GRAPHITE = (214, 84, 22), (52, 52, 60)


def sketch(scene: Scene, wide: int, seed: str) -> Picture:
    """Orange pencil: lines gone over twice, shading laid in with the side of the lead, room marked for text."""
    hand = Hand(weight=0.8, wobble=0.2, passes=2, detail=2, erase=8, solid=True, dark=235, sway=0.4, fade=0.5)
    drawn = lines(scene, wide, hand, seed)
    shading = _shading(scene, wide, 1.0, 0.85)
    lead = cv2.add(rubbed(drawn, tiled("paper", drawn.shape, 1.2, 3), 1.3), shading)
    lead = cv2.add(lead, text_room(scene, wide, seed))
    sheet = paper(drawn.shape, (251, 249, 244))
    blended(sheet, ORANGE, lead)
    return sheet


def idea(scene: Scene, wide: int, seed: str, number: int = 1) -> Picture:
    """Loose thumbnail on a sketchbook sheet: soft pencil, masses of tone, little detail, a ruled frame, a number."""
    sheet = paper(blank(scene, wide).shape, (245, 242, 235), 0.05)
    high, across = sheet.shape[:2]
    inner = round(across * 0.9)
    left, top = (across - inner) // 2, round((high - inner * scene.height / scene.width) * 0.42)
    hand = Hand(weight=1.35, wobble=0.6, passes=2, detail=1, erase=0, solid=True, dark=215, sway=0.8)
    drawn = lines(scene, inner, hand, seed)
    lead = cv2.add(rubbed(drawn, tiled("paper", drawn.shape, 1.6), 1.9), _shading(scene, inner, 1.0, 1.5))
    blended(sheet[top : top + lead.shape[0], left : left + inner], GRAPHITE, lead)
    blended(sheet, GRAPHITE, _frame(scene, wide, (left, top, inner, lead.shape[0]), number, seed))
    return sheet


def _shading(scene: Scene, wide: int, press: float, coarse: float) -> Grey:
    """Return the shading of a scene: hatched one way for the sky, another for the land, a third for what is near."""
    small = wide // 3
    tone, way, firm = _tones(scene, small)
    held = cv2.max(_held_back(scene, tone.shape), firm)
    tone = cv2.multiply(cv2.GaussianBlur(tone, (0, 0), 1.6 * coarse), held, scale=press / 255)
    size = (wide, round(wide * scene.height / scene.width))
    tone = cv2.resize(tone, size, interpolation=cv2.INTER_LINEAR)
    way = cv2.resize(cv2.medianBlur(way, 5), size, interpolation=cv2.INTER_NEAREST)
    tile = tiled("scribble", tone.shape, coarse)
    hatch = np.choose(way, [tile, tile[:, ::-1], tile[::-1, ::-1]])
    strokes = rubbed(tone, hatch, 1.7)
    smudge = cv2.convertScaleAbs(rubbed(tone, tiled("paper", tone.shape, coarse * 1.3), 1.0), alpha=0.4)
    return cv2.addWeighted(strokes, 0.62, smudge, 0.8, 0)


def _tones(scene: Scene, wide: int) -> tuple[Grey, Grey, Grey]:
    """Return how dark to shade each place (0..255), which way (0, 1, 2), and where to shade firmly in any light."""
    k = wide / scene.width
    tone, way, firm = blank(scene, wide), blank(scene, wide), blank(scene, wide)
    for mark in scene.marks:
        if not (mark.closed and mark.fill) or (mark.detail > 1 and not mark.raw):
            continue
        sky = mark.raw and mark.plane >= 0.9
        dark = darkness(mark.fill) if mark.tone is None else mark.tone
        dark = (dark - 0.34) * 0.9 if sky else (dark - 0.16) * (1 - 0.45 * max(mark.plane, 0))
        fill(tone, mark.points * k, int(255 * min(max(dark, 0.0), 0.92)))
        fill(firm, mark.points * k, 230 if mark.tone and mark.tone > 0.8 else 0)
        fill(way, mark.points * k, 0 if sky else 1 if mark.plane > 0.3 or mark.detail == 0 else 2)
    return tone, np.minimum(way, 2), firm


def _held_back(scene: Scene, shape: tuple[int, ...]) -> Grey:
    """Return how much of the shading to keep, 0..255: it opens up round the light and thickens to the corners."""
    k = shape[1] / scene.width
    at = scene.light.at if scene.light else (scene.width / 2, scene.height / 2)
    reach = scene.light.radius if scene.light else scene.width
    ys, xs = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    far = np.hypot(xs / k - at[0], ys / k - at[1]) / reach
    return np.clip(255 * (0.3 + 0.62 * far**1.1), 0, 255).astype(np.uint8)


def text_room(scene: Scene, wide: int, seed: str) -> Grey:
    """Return the wavy lines that stand for text in a sketch."""
    layer = blank(scene, wide)
    k = wide / scene.width
    rng = chance("text", seed)
    for x, y, long, count in scene.words:
        for row in range(count):
            end = long * (rng.uniform(0.35, 0.7) if row == count - 1 else rng.uniform(0.88, 1.0))
            xs = np.linspace(x, x + end, int(end * 2.4))
            ys = y + row * 8.4 + 1.1 * np.sin(xs * 1.9 + rng.uniform(0, 6)) * (0.6 + 0.4 * np.sin(xs * 0.31 + row))
            for outline in pressed(np.column_stack([xs, ys]) * k, 0.55 * k, False, rng):
                fill(layer, outline, 150)
    return rubbed(layer, tiled("paper", layer.shape, 1.2, 9), 1.3)


def _frame(scene: Scene, wide: int, box: tuple[int, int, int, int], number: int, seed: str) -> Grey:
    """Return the pencilled frame of a thumbnail, the corner of its neighbour on the sheet, and its number."""
    layer = blank(scene, wide)
    k = wide / scene.width
    x, y, w, h = box
    rng = chance("frame", seed)
    ends = [
        ((x, y), (x + w, y)),
        ((x + w, y), (x + w, y + h)),
        ((x + w, y + h), (x, y + h)),
        ((x, y + h), (x, y)),
        ((x + w + 9 * k, y + h + 5.5 * k), (x + w + 9 * k, wide)),
        ((x + w + 9 * k, y + h + 5.5 * k), (wide, y + h + 5.5 * k)),
    ]
    for start, stop in ends:
        for _ in range(2):
            path = np.linspace(start, stop, 24) + rng.normal(0, 0.25 * k, 2)
            path = wobbled(path, 0.25 * k, rng, 90 * k)
            for outline in pressed(path, 0.7 * k, False, rng):
                fill(layer, outline, 190)
    for mark in placed(words(str(number), 8, "#000000", 0.13), (x / k + 8, (y + h) / k + 7)):
        fill(layer, mark.points * k, 210)
    return rubbed(layer, tiled("paper", layer.shape, 1.2), 1.2)
