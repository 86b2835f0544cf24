"""Looks that come off a machine rather than a hand: the scanned inks, the foil plate, the printer's proof."""

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.demo.brush import Grey, blended, fill, rubbed, tiled
from reviews.demo.looks import INK, Picture, colour, paper
from reviews.demo.marks import Scene
from reviews.demo.plates import Hand, blank, lines, lit

MARGIN_MM = 22.0  # round the picture on a proof sheet: room for crop marks and the colour bar
BLEED_MM = 3.0


def scan(scene: Scene, wide: int, seed: str) -> Picture:
    """Inks on paper as they come off a scanner: toned paper, grain, uneven light, a sheet that lay a little crooked."""
    drawn = lines(scene, wide, Hand(weight=1.05, wobble=0.08, sway=0.75, fade=0.1), seed)
    pencil = lines(
        scene,
        wide // 2,
        Hand(weight=0.7, wobble=0.35, passes=1, detail=1, dark=46, solid=False, erase=8),
        seed + "under",
    )
    pencil = cv2.resize(pencil, drawn.shape[::-1])
    ink = cv2.max(rubbed(drawn, tiled("paper", drawn.shape, 1.0, 7), 0.5), _hatched(scene, wide))
    sheet = paper(drawn.shape, (243, 236, 221), 0.07)
    blended(sheet, (110, 140, 190), rubbed(pencil, tiled("paper", drawn.shape, 1.0), 1.0))
    blended(sheet, INK, cv2.convertScaleAbs(ink, alpha=0.96))
    high, across = drawn.shape
    turn = cv2.getRotationMatrix2D((across / 2, high / 2), 0.35, 1.0)
    sheet = cv2.warpAffine(sheet, turn, (across, high), borderMode=cv2.BORDER_REFLECT)
    ys, xs = np.mgrid[0:64, 0:128].astype(np.float32)
    light = 236 + 16 * np.cos((xs - 40) / 60) - 14 * (ys / 64) ** 2 - 20 * np.exp(-((xs - 64) ** 2) / 14)
    shade = cv2.resize(np.clip(light, 0, 255).astype(np.uint8), (across, high), interpolation=cv2.INTER_CUBIC)
    return cv2.merge([cv2.multiply(plane, shade, scale=1 / 248) for plane in cv2.split(sheet)])


def _hatched(scene: Scene, wide: int) -> Grey:
    """Return pen hatching in the shadows of a scene: lines that swell as the shadow deepens."""
    half = wide // 2
    shadow = lit(scene, wide // 3).shadow
    high, across = blank(scene, half).shape
    shadow = cv2.resize(cv2.GaussianBlur(shadow, (0, 0), 1.2), (across, high)).astype(np.float32) / 255
    drift = cv2.resize(tiled("cloud", (high // 8, across // 8), 0.25), (across, high)).astype(np.float32) / 255
    pitch = 1.25 * half / scene.width
    ys, xs = np.mgrid[0:high, 0:across].astype(np.float32)
    wave = 0.5 + 0.5 * np.cos(2 * np.pi * ((xs * 0.8 + ys * 0.6) / pitch + 1.6 * drift))
    soft = np.clip(128 + (shadow * 1.15 - 0.3 - wave) * 400, 0, 255).astype(np.uint8)
    full = cv2.resize(soft, blank(scene, wide).shape[::-1], interpolation=cv2.INTER_CUBIC)
    return cv2.convertScaleAbs(cv2.subtract(full, 96), alpha=4.0)


def foil(scene: Scene, wide: int, seed: str) -> NDArray[np.uint8]:
    """The foil plate: whatever is to shine, solid black on white, in register with the colour; greyscale."""
    del seed  # a plate has no hand in it
    k = wide / scene.width
    plate = blank(scene, wide, 255)
    for mark in scene.marks:
        if not (mark.fill and mark.closed):
            continue
        if mark.foil:
            fill(plate, mark.points * k, 0)
        elif mark.detail < 2 and (mark.line or mark.detail == 0):
            fill(plate, mark.points * k, 255)
    return np.where(plate < 128, 0, 255).astype(np.uint8)


def proof(scene: Scene, wide: int, seed: str) -> Picture:
    """A printed sheet: the colour with a little dot and paper in it, crop marks, register marks and a colour bar."""
    k = wide / (scene.width + 2 * MARGIN_MM)
    inner = colour(scene, round(scene.width * k), seed)
    margin = round(MARGIN_MM * k)
    sheet = paper((inner.shape[0] + 2 * margin, wide, 3), (247, 246, 241), 0.03)
    _dotted(inner)
    sheet[margin : margin + inner.shape[0], margin : margin + inner.shape[1]] = inner[:, : wide - margin]
    crop_marks(sheet, scene, k)
    _colour_bar(sheet, k)
    return sheet


def _dotted(picture: Picture) -> None:
    """Lay a fine screen over a picture, a different angle for each ink, and lift the blacks to what paper can hold."""
    high, across = picture.shape[:2]
    for channel, (a, b) in enumerate(((0.97, 0.26), (0.7, 0.7), (0.26, 0.97))):
        rows, columns = np.arange(240, dtype=np.float32)[:, None], np.arange(240, dtype=np.float32)[None, :]
        pace = 2 * np.pi * np.round(np.array([a, b]) * 240 / 5.2) / 240
        screen = np.cos(columns * pace[0]) * np.cos(rows * pace[1])
        tile = np.clip(128 + 127 * screen, 0, 255).astype(np.uint8)
        dots = np.tile(tile, (-(-high // 240), -(-across // 240)))[:high, :across]
        picture[:, :, channel] = cv2.addWeighted(picture[:, :, channel], 0.87, np.ascontiguousarray(dots), 0.075, 9.0)


def crop_marks(sheet: Picture, scene: Scene, k: float) -> None:
    """Draw trim marks and register marks round a scene that lies in the middle of a sheet, at ``k`` pixels a mm."""
    left, top = MARGIN_MM + BLEED_MM, MARGIN_MM + BLEED_MM
    right, bottom = MARGIN_MM + scene.width - BLEED_MM, MARGIN_MM + scene.height - BLEED_MM
    width = max(1, round(0.2 * k))
    for x in (left, right):
        for y0, y1 in ((6, MARGIN_MM - 3), (MARGIN_MM + scene.height + 3, scene.height + 2 * MARGIN_MM - 6)):
            cv2.line(
                sheet, (round(x * k), round(y0 * k)), (round(x * k), round(y1 * k)), (20, 20, 20), width, cv2.LINE_AA
            )
    for y in (top, bottom):
        for x0, x1 in ((6, MARGIN_MM - 3), (MARGIN_MM + scene.width + 3, scene.width + 2 * MARGIN_MM - 6)):
            cv2.line(
                sheet, (round(x0 * k), round(y * k)), (round(x1 * k), round(y * k)), (20, 20, 20), width, cv2.LINE_AA
            )
    for x, y in (
        (MARGIN_MM + scene.width / 2, 11),
        (11, MARGIN_MM + scene.height / 2),
        (scene.width + 2 * MARGIN_MM - 11, MARGIN_MM + scene.height / 2),
    ):
        at = (round(x * k), round(y * k))
        cv2.circle(sheet, at, round(2.6 * k), (20, 20, 20), width, cv2.LINE_AA)
        for dx, dy in ((4.5, 0), (0, 4.5)):
            cv2.line(
                sheet,
                (round((x - dx) * k), round((y - dy) * k)),
                (round((x + dx) * k), round((y + dy) * k)),
                (20, 20, 20),
                width,
                cv2.LINE_AA,
            )


# Solid and half-tone patches as they look on coated paper; drawn from memory, not measured values.
BAR = (
    (0, 158, 214),
    (222, 0, 126),
    (252, 221, 0),
    (38, 36, 38),
    (214, 40, 44),
    (0, 150, 84),
    (52, 52, 138),
    (128, 202, 232),
    (240, 140, 190),
    (250, 238, 140),
    (146, 144, 146),
    (196, 194, 196),
    (232, 231, 230),
    (128, 126, 124),
)


def _colour_bar(sheet: Picture, k: float) -> None:
    high, across = sheet.shape[:2]
    side = 6.2
    count = int((across / k - 120) / side)
    for number in range(count):
        x = 60 + number * side
        y = high / k - 14
        cv2.rectangle(
            sheet,
            (round(x * k), round(y * k)),
            (round((x + side) * k) - 1, round((y + side) * k)),
            BAR[number % len(BAR)],
            -1,
        )
