"""The drawn openings of the book, pages 4 to 13; `v` is the version, each later one answering the notes before it."""

from dataclasses import replace

import numpy as np

from reviews.demo import company, props
from reviews.demo.curves import egg, ribbon, smooth
from reviews.demo.lettering import words
from reviews.demo.marks import HOURS, Drawing, Hour, Light, Mark, Scene, mixed, placed
from reviews.demo.scenery import (
    bush, cloud, fern, flowers, grass, hill, hollow_tree, lily, mist, mushroom, poplar, reeds, sky, tuft, water, willow,
)
from reviews.demo.tansy import CARRYING, KNEELING, SITTING, STANDING, TIPTOE, Pose, head, tansy

W, H = 506.0, 256.0


def standing(pose: Pose, foot: tuple[float, float], size: float, held: Drawing | None = None, flip: bool = False,
             turn: float = 0.0) -> Drawing:
    """Return Tansy with the soles of her feet on a spot."""
    sole = max(pose.foot[1], pose.foot_behind[1]) + 3.5
    return placed(tansy(pose, held), (foot[0], foot[1] - sole * size), size, turn, flip)


def in_her_paws(lit: bool = True, tip: float = 4.0) -> Drawing:
    """Return the pail where the paws of a carrying pose are."""
    return placed(props.pail(lit, tip), (34, 34), 0.86)


def bough(x: float, y: float, reach: float, fill: str, seed: str, flip: bool = False) -> Drawing:
    """Return a leafy bough hanging into the picture from a top corner."""
    rng = np.random.default_rng(len(seed) * 7 + int(reach))
    way = -1 if flip else 1
    marks: Drawing = [Mark(ribbon([(x, y), (x + way * reach * 0.5, y + reach * 0.12), (x + way * reach, y + reach * 0.34)], [8, 5, 1.5]), fill, 0.5, plane=-0.1)]
    for k in range(26):
        t = rng.uniform(0.1, 1.0)
        at = (x + way * reach * t, y + reach * (0.04 + 0.3 * t**1.6))
        turn = rng.uniform(20, 160)
        marks += placed([Mark(smooth([(0, 0), (6, -3.2), (15, 0), (6, 3.2)]), mixed(fill, "#5c8a6a", 0.06 * (k % 4)), 0.35, plane=-0.1)], at, rng.uniform(0.8, 1.4), turn=turn if way > 0 else 180 - turn)
    return marks


def leaving_home(v: int = 2) -> Scene:
    """4-5: dusk; Tansy leaves her stump with the empty pail, the tarn far below under a rising moon."""
    hour = HOURS["dusk"]
    moon_at = (404, 74) if v >= 2 else (300, 66)
    foot, size = ((206, 214), 0.86) if v >= 2 else ((236, 216), 0.6)
    marks = [*sky(W, H, hour, 150, seed="4-5"), *props.stars((10, 6, 500, 74), 50, "4-5", (moon_at,)),
             *placed(props.halo(32, "#e8b4a4", "#8a5f9e"), moon_at), *placed(props.moon(32), moon_at, plane=0.4),
             *placed(cloud(150, "#9d7fae"), (452, 108)), *placed(cloud(96, "#7d6aa6"), (300, 46) if v >= 2 else (402, 50)),
             *hill([(-6, 138), (90, 122), (190, 134), (320, 118), (430, 130), (512, 112)], hour.far, 0.85),
             *[m for x, s in ((296, 34), (308, 46), (320, 36), (474, 44), (486, 32)) for m in placed(poplar(s, "#5f5c99", 0.75), (x, 134))],
             *hill([(-6, 160), (120, 150), (260, 160), (512, 144)], hour.middle, 0.6),
             *water(168, W, hour, "4-5", floor=222, shine=(moon_at[0], 170)), *mist(168, W, "#c9a3bd", "4-5", 5),
             *reeds((316, 196), 9, 40, hour, "4a", 0.4, 40), *reeds((476, 208), 14, 62, hour, "4b", 0.3, 60),
             *hill([(-6, 176), (90, 186), (190, 206), (280, 226), (370, 238), (512, 222)], "#4b7d5c", 0.12, grass=4, seed="4c"), *_path_down(hour),
             *placed(bush(120, 64, "#3f6a55", 0.15, "4d"), (16, 196)), *placed(hollow_tree(150, hour), (92, 206)), *placed(props.door(60), (96, 208)),
             *flowers(216, 330, 232, 9, "4-5", 0.1), *flowers(140, 200, 226, 5, "4-5b"), *placed(mushroom(22), (166, 212)), *placed(mushroom(15, "#d9894a"), (180, 217)),
             *standing(replace(CARRYING, hand=(26, 26), other=(30, 22), tilt=-10), foot, size, placed(props.pail(False, 6), (32, 30), 0.74))]
    if v >= 2:
        marks += [*placed(company.snail(), (296, 234), 0.55), *placed(company.heron_flying(0.9), (344, 112), 0.3, plane=0.7)]
    marks += [*bough(-6, -6, 150, "#23304e", "4-5"), *fern((4, 264), 84, 0.4, "#22453f"), *fern((34, 266), 66, 0.9, "#28503f"), *grass(242, 330, 512, 13, "#22403f", "4e")]
    return Scene("leaving home", W, H, hour, marks, Light((96, 172), 200, "#ffcf80", 0.9), words=((330, 18, 84, 3),) if v < 2 else ((196, 66, 84, 3),))


def _path_down(hour: Hour) -> Drawing:
    tint = mixed("#b59a86", hour.haze, 0.3)
    return [Mark(ribbon([(104, 210), (150, 216), (230, 236), (330, 240), (420, 232)], [26, 20, 16, 9, 3]), tint, 0, detail=1, plane=0.15, shade=0.5)]


def at_the_tarn(v: int = 2) -> Scene:
    """6-7: Tansy kneels on a stone and dips the pail where the moon lies on the water."""
    hour = HOURS["evening"]
    her = (134, 112) if v >= 2 else (86, 112)
    moon_water = (330, 214) if v >= 2 else (380, 206)
    moon_up = (352, 44)
    marks = [*sky(W, H, hour, 110, seed="6-7"), *props.stars((8, 6, 498, 70), 64, "6-7", (moon_up,)), *placed(props.halo(23, "#7fa0cc", "#35558f"), moon_up),
             *placed(props.moon(23), moon_up, plane=0.4), *hill([(-6, 96), (120, 70), (250, 100), (400, 82), (512, 98)], hour.far, 0.85),
             *[m for x, s in ((404, 52), (418, 66), (434, 48), (60, 44), (74, 56)) for m in placed(poplar(s, "#3d5a92", 0.75), (x, 102))],
             *hill([(-6, 112), (160, 102), (330, 116), (512, 106)], hour.middle, 0.6), *water(118, W, hour, "6-7", shine=(352, 122)), *mist(120, W, "#7f9cc6", "6-7", 6),
             *placed(props.ripples(84, 4, "#ffe9b0"), moon_water), *placed([Mark(egg(0, 0, 40, 12.5), "#fff3c4", 0.5, raw=True, glow=0.95, foil=True, tone=0.0),
                                                                          Mark(egg(5, 1.4, 24, 5.6), "#ffe39a", 0.3, raw=True, glow=0.95, detail=2)], moon_water),
             *reeds((472, 204), 18, 124, hour, "6a", 0.15, 74), *[m for x, y, w in ((424, 236, 52), (466, 250, 46), (286, 248, 36)) for m in placed(lily(w), (x, y))],
             *placed(props.stone(240, 70, "6b", "#6580a2"), (108, 240)), *placed(props.stone(96, 46, "6c", "#54698a"), (10, 252)),
             *placed(props.stone(70, 26, "6d", "#6a80a0"), (246, 252)),
             *placed(tansy(KNEELING, placed(props.pail(False, 34, "left"), (64, 36), 0.95)), her, 1.2)]
    if v >= 2:
        marks += placed(company.snail(), (46, 182), 0.72)
    else:
        marks += placed(company.heron(), (436, 116), 0.62, flip=True, plane=0.3)
    marks += [*reeds((2, 264), 12, 150, hour, "6e", -0.1, 50), *grass(248, 380, 512, 9, "#16324a", "6f"), *bough(-6, -8, 150, "#15264a", "6-7")]
    return Scene("at the tarn", W, H, hour, marks, Light(moon_water, 260, "#ffdf90", 1.1), words=((168, 16, 100, 4),))


def moon_in_the_pail(v: int = 2) -> Scene:
    """8-9: straight down into the pail: the moon floats there, and two faces look in."""
    hour = HOURS["night"]
    middle, r = ((318, 130), 112) if v >= 2 else ((253, 130), 98)
    marks: Drawing = [Mark(np.array([(-4, -4), (W + 4, -4), (W + 4, H + 4), (-4, H + 4)], float), "#356a60", 0, detail=0, plane=0.1, shade=0),
                      *_forest_floor(middle, r), *placed(props.stone(84, 62, "8a", "#6f83a0"), (52, 84)), *placed(props.stone(52, 40, "8b", "#62779a"), (98, 58)), *placed(props.pail_from_above(r), middle)]
    floating = (middle[0] + (14 if v >= 2 else -4), middle[1] - 12)
    for k, tint in ((0.72, "#3f7394"), (0.6, "#6f9796"), (0.49, "#bdb683")):
        marks.append(Mark(egg(*floating, r * k, r * k), tint, 0, raw=True, glow=0.12, detail=2))
    marks += [*placed(props.moon(r * 0.4), floating), *placed(props.ripples(r * 0.62, 2, "#d6e6da"), (middle[0] + 8, middle[1] + r * 0.62))]
    if v >= 2:
        round_the_rim = (0.84, -0.66, 140) if v == 2 else (1.06, -0.16, 172)  # from the line on he had slid, unasked
        marks += placed(company.snail(), (middle[0] + r * round_the_rim[0], middle[1] + r * round_the_rim[1]), 1.15,
                        turn=round_the_rim[2])
    marks += _leaning_in(middle, r)
    marks += [*fern((500, 264), 100, -0.5, "#173a3c"), *fern((-4, 268), 96, 0.5, "#173a3c")]
    return Scene("moon in the pail", W, H, hour, marks, Light(floating, 210, "#ffd884", 1.2), words=((26, 112, 110, 5),) if v >= 2 else ((24, 130, 96, 5),))


def _forest_floor(middle: tuple[float, float], r: float) -> Drawing:
    rng = np.random.default_rng(89)
    marks: Drawing = []
    for number in range(170):
        x, y = float(rng.uniform(0, W)), float(rng.uniform(0, H))
        if np.hypot(x - middle[0], y - middle[1]) < r + 4:
            continue
        tint = ("#4f8f6b", "#2c5a50", "#79a873", "#3d7560")[number % 4]
        if number % 9 == 0:
            marks += placed([Mark(egg(0, 0, 9, 9), "#c9584a", 0.6), *[Mark(egg(a, b, 1.6, 1.6), "#f6e7cf", 0, detail=2, shade=0) for a, b in ((-3, -2), (3, 1), (-1, 4), (2, -5))]], (x, y), rng.uniform(0.5, 1.1))
        elif number % 3 == 0:
            marks += placed([Mark(smooth([(0, 0), (7, -3), (16, 0), (7, 3)]), tint, 0.4, shade=0.5)], (x, y), rng.uniform(0.6, 1.2), turn=rng.uniform(0, 360))
        else:
            marks += tuft((x, y), float(rng.uniform(6, 13)), tint, rng, 0.05)
    return marks


def _leaning_in(middle: tuple[float, float], r: float) -> Drawing:
    """Tansy seen from above: her back in the corner, both arms on the rim, her face over the water."""
    x, y = middle[0] - r * 0.93, middle[1] + r * 0.4
    back = Mark(egg(x - 52, y + 34, 66, 52, -30), "#c9783c", 1.1, detail=0)
    scarf = Mark(ribbon([(x - 34, y - 34), (x - 44, y + 4), (x - 20, y + 44)], [15, 18, 15]), "#f0b429", 1.0, shade=1.1)
    marks: Drawing = [back, scarf]
    for paw, shoulder in (((middle[0] - r * 0.78, middle[1] - r * 0.5), (x - 40, y - 30)), ((middle[0] - r * 0.5, middle[1] + r * 0.84), (x - 10, y + 50))):
        mid = ((paw[0] + shoulder[0]) / 2 - 6, (paw[1] + shoulder[1]) / 2)
        marks += [Mark(ribbon([shoulder, mid, paw], [22, 18, 13]), "#c9783c", 1.0), Mark(egg(paw[0] + 3, paw[1], 9, 7.5, 10), "#e79a8c", 0.8),
                  *[Mark(ribbon([(paw[0] + 6, paw[1] + k), (paw[0] + 12, paw[1] + k * 1.2), (paw[0] + 16, paw[1] + k * 1.5)], [4.4, 4.2, 3]), "#e79a8c", 0.6) for k in (-4, 0, 4)]]
    return [*marks, *placed(head("wide", "oh"), (x + 6, y), 1.75, turn=-20)]


def up_the_hill(v: int = 4) -> Scene:
    """10-11: she carries the pail up the hill; things kept moving through four versions."""
    hour = HOURS["night"]
    foot, size = {1: ((104, 208), 0.72), 2: ((176, 200), 0.95), 3: ((176, 200), 0.95), 4: ((318, 178), 0.95)}[v]
    pail = (foot[0] + 30 * size, foot[1] - 36 * size)
    marks = [*sky(W, H, hour, 190, seed="10"), *props.stars((8, 6, 498, 120), 80, "10"), *hill([(-6, 160), (120, 128), (250, 158), (420, 130), (512, 140)], hour.far, 0.85),
             *[m for x, s in ((70, 36), (84, 48), (196, 34)) for m in placed(poplar(s, "#2b4f80", 0.75), (x, 146))], *placed([Mark(egg(0, 0, 56, 7), "#16305c", 0.4, plane=0.7)], (176, 174)),
             *hill([(-6, 196), (140, 176), (300, 186), (512, 150)], hour.middle, 0.55), *mist(182, W, "#4f77a8", "10", 6)]
    if v <= 2:
        marks += placed(props.moon(20, full=False), (300, 46), plane=0.4)
    marks += placed(willow(196, hour, "10b"), (446, 178) if v != 3 else (64, 222))
    marks += [*hill([(-6, 220), (110, 210), (230, 194), (340, 170), (430, 154), (512, 146)], "#35685c", 0.1, grass=5, seed="10a"),
              *[m for x, y, w in ((270, 200, 44), (212, 212, 30), (398, 178, 34)) for m in placed(props.stone(w, w * 0.5, f"10{x}"), (x, y))],
              *standing(CARRYING, foot, size, in_her_paws(), turn=-6)]
    ring = [(pail[0] + x, pail[1] - 26 + y) for x, y in props.lantern_moth_ring(70)]
    marks += company.chorus(ring[: {1: 3, 2: 9, 3: 5, 4: 5}[v]], 0.52)
    if v >= 3:
        marks += placed(company.snail(), (96, 218) if v == 3 else (214, 204), 0.62)
    marks += [*props.motes(pail, 60, 26, "10"), *flowers(250, 480, 206, 16, "10"), *fern((492, 266), 92, -0.6, "#173c3c"), *fern((16, 264), 76, 0.7, "#173c3c"), *fern((60, 268), 56, 0.2, "#1c4541"), *grass(246, -6, 240, 14, "#12303a", "10c")]
    return Scene("up the hill", W, H, hour, marks, Light(pail, 210, "#ffcf70", 1.1), words=((24, 20, 110, 5),) if v != 2 else ((330, 74, 96, 5),))


def old_heron(v: int = 2) -> Scene:
    """12-13: Old Heron bends down to look at what she carries."""
    hour = HOURS["small hours"]
    bent = v >= 2
    neck = ((18, -48), (48, -74), (84, -58), (98, -22)) if bent else ((14, -44), (30, -66), (10, -92), (24, -116))
    heron_at, tall = ((168, 128), 1.18) if bent else ((150, 150), 1.02)
    marks = [*sky(W, H, hour, 170, seed="12"), *props.stars((8, 6, 498, 110), 66, "12"), *hill([(-6, 160), (140, 140), (300, 164), (512, 142)], hour.far, 0.85),
             *[m for x, s in ((330, 44), (344, 58), (486, 50)) for m in placed(poplar(s, "#3a3a74", 0.75), (x, 162))], *mist(166, W, "#6a62a8", "12", 8),
             *water(172, W, hour, "12", floor=236), *reeds((56, 214), 20, 136, hour, "12a", 0.3, 110), *reeds((470, 222), 16, 120, hour, "12b", 0.2, 80),
             *[m for x, y, w in ((250, 206, 40), (96, 222, 46)) for m in placed(lily(w, 0.3), (x, y))],
             *hill([(-6, 246), (120, 240), (250, 228), (380, 220), (512, 232)], "#3d5f66", 0.05, grass=4, seed="12c"),
             *placed(company.heron(neck, 40 if bent else 6, leg_up=not bent), heron_at, tall), *placed(mushroom(22), (262, 234)),
             *standing(replace(STANDING, tilt=-16, eyes="wide", mouth="oh", hand=(20, 30), other=(24, 26)) if bent else TIPTOE, (372, 226), 1.02, placed(props.pail(True), (26, 28), 0.86), flip=True)]
    marks += placed(company.snail("open"), (438, 226), 0.7, flip=True) if bent else []
    marks += [*props.motes((346, 186), 56, 24, "12"), *flowers(200, 480, 240, 14, "12"), *reeds((502, 266), 12, 160, hour, "12d", -0.1, 46), *grass(250, -6, 200, 13, "#141d38", "12e"), *bough(512, -8, 130, "#191a40", "12", flip=True)]
    return Scene("old heron", W, H, hour, marks, Light((346, 188), 220, "#ffcf70", 1.1), words=((300, 26, 110, 4),) if bent else ((270, 26, 120, 4),))


def under_ferns(v: int = 1) -> Scene:
    """14-15: a rest under the ferns; the pail lights the leaves from below."""
    del v  # one version so far
    hour = HOURS["small hours"]
    marks = [*sky(W, H, hour, 230, seed="14"), *[m for k in range(8) for m in fern((20 + 68 * k, 250), 150 + 34 * (k % 3), (-0.5, 0.4, 0.2)[k % 3], mixed("#3f6f7a", hour.far, 0.15 * (k % 2)), 0.45)],
             *hill([(-6, 226), (130, 216), (300, 224), (512, 212)], "#43656a", 0.05, grass=4, seed="14a"), *placed(mushroom(84), (86, 226)), *placed(mushroom(50, "#d9894a"), (140, 228)),
             *standing(replace(SITTING, eyes="glad"), (196, 226), 1.3), *placed(props.pail(True), (292, 176), 1.3), *placed(company.snail("shut"), (388, 222), 1.15, flip=True),
             *company.chorus([(256, 112), (316, 92), (352, 132), (236, 76)], 0.62), *props.motes((292, 172), 80, 36, "14"), *flowers(150, 420, 236, 14, "14"), *fern((-8, 264), 220, 0.55, "#1a2f44"), *fern((516, 264), 230, -0.62, "#1a2f44"), *fern((440, 270), 130, -0.4, "#20384c"),
             *grass(248, -6, 512, 10, "#16263c", "14b")]
    return Scene("under the ferns", W, H, hour, marks, Light((292, 172), 240, "#ffcf70", 1.1), words=((372, 26, 100, 4),))


def crossroads(v: int = 2) -> Scene:
    """16-17: the signpost; the words on it changed with the text."""
    hour = HOURS["small hours"]
    top = "TO THE TARN" if v == 1 else "MIND THE TOAD"
    lettered = tuple((placed(words(text, 9, "#3b2417", 0.2, bounce=0.03), size=size), y - 104, left) for text, y, left, size in ((top, 26.0, True, 0.82 if v == 1 else 0.68), ("HOME", 52.0, False, 1.0)))
    marks = [*sky(W, H, hour, 180, seed="16"), *props.stars((8, 6, 498, 130), 76, "16"), *placed(cloud(170, "#3a3470"), (110, 84)), *hill([(-6, 172), (160, 152), (330, 174), (512, 150)], hour.far, 0.85),
             *[m for x, s in ((30, 60), (48, 78), (468, 60), (482, 46)) for m in placed(poplar(s, "#39396f", 0.7), (x, 176))], *hill([(-6, 206), (140, 192), (300, 204), (512, 186)], hour.middle, 0.5), *mist(196, W, "#56509a", "16", 6),
             *hill([(-6, 234), (130, 226), (270, 218), (400, 226), (512, 220)], "#43656a", 0.05, grass=4, seed="16a"),
             *[Mark(ribbon([(90, 262), (200, 236), (300, 226), (x, 204)], [44, 22, 10, 3]), "#8a7f92", 0, plane=0.1, shade=0.5) for x in (360, 250)],
             *placed(bush(110, 56, "#345666", 0.1, "16b"), (468, 230)), *placed(props.signpost(lettered), (312, 232), 1.6),
             *standing(replace(CARRYING, tilt=-20), (158, 236), 1.25, in_her_paws()), *props.motes((204, 190), 56, 22, "16"), *flowers(30, 300, 242, 12, "16"), *placed(company.snail(), (384, 230) if v == 1 else (416, 228), 0.85, flip=True),
             *grass(250, 280, 512, 12, "#151f3a", "16c"), *fern((6, 266), 96, 0.6, "#182a40"), *bough(-6, -8, 110, "#191a40", "16")]
    return Scene("crossroads", W, H, hour, marks, Light((204, 196), 215, "#ffcf70", 1.1), words=((130, 22, 110, 4),))


def toad_ferry(v: int = 1) -> Scene:
    """18-19: there is no ferry, only the ferryman; he swims, and she rides."""
    del v  # one version so far
    hour = HOURS["small hours"]
    marks = [*sky(W, H, hour, 90, seed="18"), *props.stars((8, 6, 498, 60), 50, "18"), *hill([(-6, 84), (160, 60), (340, 88), (512, 66)], hour.far, 0.85), *hill([(-6, 100), (200, 94), (512, 100)], hour.middle, 0.6),
             *placed(willow(110, hour, "18a", 0.5), (456, 110)), *water(102, W, hour, "18", shine=(262, 200)), *mist(104, W, "#56509a", "18", 5), *placed(props.ripples(190, 4), (250, 206)),
             *placed(tansy(SITTING), (190, 104), 0.95), *placed(props.pail(True), (242, 122), 0.9), *placed(company.toad(), (246, 194), 1.65),
             *placed(props.ripples(84, 2, "#cfd0ee"), (330, 214)),
             *[m for x, y, w in ((52, 232, 84), (120, 250, 60), (428, 238, 76), (474, 216, 50)) for m in placed(lily(w), (x, y))],
             *props.motes((242, 120), 60, 26, "18"), *placed(company.snail(), (54, 228), 0.8), *reeds((502, 264), 14, 170, hour, "18b", -0.1, 60), *reeds((2, 264), 9, 130, hour, "18c", -0.1, 34)]
    return Scene("toad ferry", W, H, hour, marks, Light((242, 122), 235, "#ffcf70", 1.1), words=((322, 20, 116, 4),))
