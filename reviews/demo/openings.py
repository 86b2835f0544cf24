"""The drawn openings of the book, each with the edits its versions went through."""

import numpy as np

from reviews.demo import company, props
from reviews.demo.curves import egg, smooth
from reviews.demo.lettering import words
from reviews.demo.marks import HOURS, Drawing, Light, Mark, Scene, placed
from reviews.demo.scenery import (bush, cloud, fern, grass, hill, hollow_tree, lily, mist, mushroom, poplar, reeds, sky, water, willow)
from reviews.demo.tansy import (CARRYING, HUGGING, KNEELING, RUNNING, SITTING, STANDING, TIPTOE, Pose, from_behind, tansy)

W, H = 506.0, 256.0


def leaving_home(v: int = 2) -> Scene:
    """4-5: dusk; Tansy leaves her stump with the empty pail, the tarn far below under a rising moon."""
    hour = HOURS["dusk"]
    moon_at = (392, 66) if v >= 2 else (330, 60)
    her_at, her_size = ((176, 146), 0.62) if v >= 2 else ((214, 152), 0.5)
    marks = [*sky(W, H, hour, 150, seed="4-5"), *props.stars((10, 6, 500, 74), 46, "4-5", (moon_at,)),
             *placed(props.halo(25, "#b08bb0"), moon_at), *placed(props.moon(25), moon_at, plane=1.0),
             *placed(cloud(120, "#9d7fae"), (448, 100)), *placed(cloud(80, "#8a74ab"), (300, 42) if v >= 2 else (386, 40)),
             *hill([(-6, 138), (90, 122), (190, 134), (320, 118), (430, 128), (512, 116)], hour.far, 0.85),
             *[m for x, s in ((300, 34), (312, 44), (324, 36), (470, 40), (482, 30)) for m in placed(poplar(s, "#5f5c99", 0.75), (x, 134))],
             *hill([(-6, 160), (120, 150), (260, 162), (512, 146)], hour.middle, 0.6),
             *water(172, W, hour, "4-5", floor=214, shine=(moon_at[0], 174)), *mist(172, W, "#c9a3bd", "4-5", 5),
             *reeds((300, 196), 9, 34, hour, "4a", 0.4, 40), *reeds((480, 204), 12, 52, hour, "4b", 0.3, 56),
             *hill([(-6, 160), (90, 172), (190, 192), (270, 212), (370, 226), (512, 214)], "#3f6f58", 0.12, grass=4, seed="4c"),
             *placed(bush(90, 50, "#3c6350", 0.15, "4d"), (24, 176)), *placed(hollow_tree(112, hour), (86, 182)), *placed(props.door(42), (88, 184)),
             *placed(mushroom(16), (142, 190)), *placed(mushroom(11, "#d9894a"), (152, 194)),
             *placed(tansy(Pose(**{**_as(CARRYING), "hand": (28, 26), "other": (20, 24), "tilt": -8}), placed(props.pail(False, 6), (36, 46), 0.72)), her_at, her_size)]
    if v >= 2:
        marks += placed(company.snail(), (252, 219), 0.4)
    marks += [*fern((10, 262), 70, 0.5, "#24503f"), *fern((36, 264), 54, 0.9, "#2c5a45"), *grass(240, 300, 512, 12, "#1f3f3a", "4e")]
    return Scene("leaving home", W, H, hour, marks, Light((88, 152), 150, "#ffcf80", 0.8), words=((296, 14, 78, 3),) if v < 2 else ((206, 76, 78, 3),))


def _as(pose: Pose) -> dict[str, object]:
    return {name: getattr(pose, name) for name in Pose.__slots__}


def at_the_tarn(v: int = 2) -> Scene:
    """6-7: Tansy kneels on a stone and dips the pail where the moon lies on the water."""
    hour = HOURS["evening"]
    her = (190, 116) if v >= 2 else (150, 116)
    moon_water = (336, 206) if v >= 2 else (372, 204)
    marks = [*sky(W, H, hour, 110, seed="6-7"), *props.stars((8, 6, 498, 70), 60, "6-7", ((344, 40),)), *placed(props.halo(21, "#5c7cae"), (344, 40)),
             *placed(props.moon(21), (344, 40), plane=1.0), *hill([(-6, 96), (120, 74), (250, 100), (400, 84), (512, 98)], hour.far, 0.85),
             *[m for x, s in ((404, 52), (418, 64), (434, 48), (60, 44), (74, 54)) for m in placed(poplar(s, "#3d5a92", 0.75), (x, 102))],
             *hill([(-6, 112), (160, 104), (330, 116), (512, 106)], hour.middle, 0.6), *water(118, W, hour, "6-7", shine=(344, 122)), *mist(120, W, "#7f9cc6", "6-7", 6),
             *placed(props.ripples(66, 4, "#ffe9b0"), moon_water), *placed([Mark(egg(0, 0, 30, 9.5), "#fff3c4", 0.5, raw=True, glow=0.9, foil=True, tone=0.0),
                                                                          Mark(egg(4, 1, 18, 4), "#ffe39a", 0.3, raw=True, glow=0.9, detail=2)], moon_water),
             *reeds((470, 200), 16, 96, hour, "6a", 0.15, 64), *[m for x, y, w in ((420, 232, 46), (458, 246, 40), (300, 246, 34)) for m in placed(lily(w), (x, y))],
             *placed(props.stone(210, 58, "6b", "#5f7593"), (118, 226)), *placed(props.stone(90, 40, "6c", "#54698a"), (34, 246)),
             *placed(props.stone(70, 26, "6d", "#6a80a0"), (246, 240)),
             *placed(tansy(KNEELING, placed(props.pail(False, 32, "left"), (62, 36), 0.95)), her, 1.0)]
    if v >= 2:
        marks += placed(company.snail(), (66, 178), 0.62)
    else:
        marks += placed(company.heron(), (430, 118), 0.55, flip=True, plane=0.3)
    marks += [*reeds((6, 262), 12, 120, hour, "6e", -0.1, 50), *grass(246, 360, 512, 9, "#16324a", "6f")]
    return Scene("at the tarn", W, H, hour, marks, Light(moon_water, 170, "#ffdf90", 1.0), words=((20, 14, 96, 4),))


def moon_in_the_pail(v: int = 2) -> Scene:
    """8-9: straight down into the pail: the moon floats there, and two faces look in."""
    hour = HOURS["night"]
    middle, r = ((290, 132), 104) if v >= 2 else ((253, 130), 92)
    marks: Drawing = [Mark(np.array([(-4, -4), (W + 4, -4), (W + 4, H + 4), (-4, H + 4)], float), "#2f5a5c", 0, detail=0, plane=0.1, shade=0)]
    rng = np.random.default_rng(89)
    for number in range(120):
        x, y = rng.uniform(0, W), rng.uniform(0, H)
        if np.hypot(x - middle[0], y - middle[1]) > r + 8:
            marks += fern((x, y), 13 + 9 * rng.random(), rng.uniform(-1, 1), ("#3f7a5c", "#2c5f52", "#59926a")[number % 3], 0.05) if number % 4 == 0 else \
                [Mark(egg(x, y, 3.4, 1.6, rng.uniform(0, 180)), ("#4f8a63", "#2a5850", "#79a86c")[number % 3], 0.3, detail=2, shade=0)]
    marks += [*placed(props.stone(70, 54, "8a"), (70, 96)), *placed(props.stone(48, 40, "8b"), (110, 60)), *placed(mushroom(20), (470, 70)),
              *placed(props.pail_from_above(r), middle)]
    floating = (middle[0] + (12 if v >= 2 else -4), middle[1] - 16)
    for k in (0.66, 0.54, 0.44):
        marks.append(Mark(egg(*floating, r * k, r * k), ("#4d7c96", "#8aa58f", "#d6c783")[int((0.66 - k) * 10)], 0, raw=True, glow=0.12, detail=2))
    marks += [*placed(props.moon(r * 0.36), floating), *placed(props.ripples(r * 0.7, 2, "#bcd6dc"), (middle[0], middle[1] + r * 0.55))]
    marks += _peering(middle, r, v)
    return Scene("moon in the pail", W, H, hour, marks, Light(floating, 200, "#ffd884", 1.15), words=((22, 150, 100, 4),))


def _peering(middle: tuple[float, float], r: float, v: int) -> Drawing:
    from reviews.demo.tansy import head
    x, y = middle
    marks: Drawing = []
    if v >= 2:
        marks += placed(company.snail(), (x + r * 0.72, y - r * 0.74), 1.0, turn=128, flip=False)
    marks += placed(head("wide", "oh"), (x - r * 0.92, y + r * 0.34), 1.55, turn=-14)
    for dx, dy, turn in ((-0.62, 0.86, 40), (-1.02, -0.12, 100)):
        marks += placed([Mark(smooth([(-8, 30), (-7, 4), (-9, -4), (-3, -9), (0, -5), (3, -10), (6, -4), (10, -7), (10, 2), (8, 30)]), "#e79a8c", 0.8)], (x + r * dx, y + r * dy), 1.1, turn=turn)
    return marks


def up_the_hill(v: int = 4) -> Scene:
    """10-11: she carries the pail up the hill; things kept moving through four versions."""
    hour = HOURS["night"]
    her = {1: (120, 136), 2: (176, 122), 3: (176, 122), 4: (332, 96)}[v]
    size = {1: 0.62, 2: 0.78, 3: 0.78, 4: 0.74}[v]
    pail = (her[0] + 40 * size, her[1] + 40 * size)
    marks = [*sky(W, H, hour, 190, seed="10"), *props.stars((8, 6, 498, 120), 70, "10"), *hill([(-6, 170), (120, 142), (280, 168), (420, 140), (512, 150)], hour.far, 0.85)]
    if v <= 2:
        marks += placed(props.moon(16, full=False), (440, 44), plane=1.0)
    marks += [*hill([(-6, 216), (110, 206), (230, 190), (340, 166), (430, 150), (512, 142)], "#2c5a58", 0.1, grass=5, seed="10a"),
              *(placed(willow(150, hour, "10b"), (452, 164)) if v != 3 else placed(willow(150, hour, "10b"), (58, 216))),
              *[m for x, y, w in ((270, 190, 40), (212, 204, 28)) for m in placed(props.stone(w, w * 0.5, f"10{x}"), (x, y))],
              *placed(tansy(CARRYING, placed(props.pail(True, 4), (40, 42), 0.95)), her, size, turn=-8)]
    ring = [(pail[0] + x, pail[1] - 20 + y) for x, y in props.lantern_moth_ring(58)]
    marks += company.chorus(ring[: {1: 3, 2: 9, 3: 5, 4: 5}[v]], 0.42)
    if v >= 3:
        marks += placed(company.snail(), (96, 212) if v == 3 else (232, 196), 0.5)
    marks += [*fern((486, 264), 76, -0.6, "#1d4440"), *fern((20, 262), 60, 0.7, "#1d4440"), *grass(244, -6, 240, 13, "#12303a", "10c")]
    return Scene("up the hill", W, H, hour, marks, Light(pail, 150, "#ffcf70", 1.0), words=((24, 20, 110, 5),) if v != 2 else ((330, 60, 96, 5),))


def old_heron(v: int = 2) -> Scene:
    """12-13: Old Heron bends down to look at what she carries."""
    hour = HOURS["small hours"]
    bent = v >= 2
    neck = ((18, -50), (52, -76), (92, -56), (104, -18)) if bent else ((14, -44), (30, -66), (10, -92), (24, -116))
    heron_at = (190, 130) if bent else (160, 150)
    her = (352, 150)
    marks = [*sky(W, H, hour, 170, seed="12"), *props.stars((8, 6, 498, 110), 60, "12"), *hill([(-6, 160), (140, 144), (300, 164), (512, 146)], hour.far, 0.85), *mist(166, W, "#6a62a8", "12", 8),
             *water(176, W, hour, "12", floor=226), *reeds((70, 206), 16, 110, hour, "12a", 0.3, 100), *reeds((462, 214), 12, 100, hour, "12b", 0.2, 70),
             *hill([(-6, 238), (120, 230), (260, 216), (380, 210), (512, 222)], "#35525e", 0.05, grass=4, seed="12c"),
             *placed(company.heron(neck, 34 if bent else 6, leg_up=not bent), heron_at, 0.98), *placed(mushroom(18), (276, 222)),
             *placed(tansy(TIPTOE if not bent else Pose(**{**_as(STANDING), "tilt": -14, "eyes": "wide", "mouth": "oh", "hand": (16, 30), "other": (24, 26)}),
                           placed(props.pail(True), (20, 34), 0.9)), her, 0.82, flip=True)]
    marks += placed(company.snail("open"), (414, 214), 0.55, flip=True) if bent else []
    marks += [*reeds((500, 264), 12, 130, hour, "12d", -0.1, 46), *grass(248, -6, 200, 12, "#141d38", "12e")]
    return Scene("old heron", W, H, hour, marks, Light((336, 178), 140, "#ffcf70", 1.0), words=((340, 22, 120, 4),))


def under_ferns(v: int = 1) -> Scene:
    """14-15: a rest under the ferns; the pail lights the leaves from below."""
    hour = HOURS["small hours"]
    marks = [*sky(W, H, hour, 230, seed="14"), *[m for k in range(8) for m in fern((30 + 64 * k, 250), 120 + 24 * (k % 3), (-0.5, 0.4, 0.2)[k % 3], "#2f4f6a", 0.5)],
             *hill([(-6, 222), (130, 212), (300, 220), (512, 208)], "#3a5560", 0.05, grass=4, seed="14a"), *placed(mushroom(44), (120, 218)), *placed(mushroom(28, "#d9894a"), (160, 222)),
             *placed(props.pail(True), (262, 176), 1.15), *placed(tansy(SITTING), (190, 168), 0.98), *placed(company.snail("shut"), (352, 218), 0.9, flip=True),
             *company.chorus([(240, 110), (296, 96), (330, 130)], 0.5), *fern((-4, 262), 190, 0.6, "#1a2f44"), *fern((512, 262), 200, -0.7, "#1a2f44"), *fern((430, 268), 120, -0.5, "#20384c")]
    return Scene("under the ferns", W, H, hour, marks, Light((262, 172), 170), words=((380, 24, 96, 4),))


def crossroads(v: int = 2) -> Scene:
    """16-17: the signpost; the words on it changed with the text."""
    hour = HOURS["small hours"]
    boards = ((("TO THE TARN", 26.0, True), ("HOME", 52.0, False)) if v == 1 else (("MIND THE TOAD", 26.0, True), ("HOME", 52.0, False)))
    lettered = tuple((placed(words(text, 9, "#3b2417", 0.2, bounce=0.03), size=0.94 if len(text) < 12 else 0.78), y - 104, left) for text, y, left in boards)
    marks = [*sky(W, H, hour, 180, seed="16"), *props.stars((8, 6, 498, 130), 70, "16"), *placed(cloud(150, "#3a3470"), (120, 70)), *hill([(-6, 176), (160, 160), (330, 176), (512, 158)], hour.far, 0.85),
             *[m for x, s in ((30, 60), (48, 74), (468, 56)) for m in placed(poplar(s, "#39396f", 0.7), (x, 180))], *hill([(-6, 206), (140, 196), (300, 204), (512, 190)], hour.middle, 0.5),
             *hill([(-6, 230), (130, 222), (270, 214), (400, 222), (512, 216)], "#35525e", 0.05, grass=4, seed="16a"), *placed(bush(80, 44, "#2a4656", 0.1, "16b"), (450, 224)),
             *placed(props.signpost(lettered), (286, 224), 1.25), *placed(tansy(Pose(**{**_as(CARRYING), "tilt": -18, "eyes": "open"}), placed(props.pail(True, 4), (36, 42), 0.95)), (150, 142), 0.98)]
    marks += placed(company.snail(), (380, 222), 0.7, flip=True) if v == 1 else placed(company.snail(), (404, 218), 0.7, flip=True)
    marks += [*grass(246, 280, 512, 12, "#151f3a", "16c"), *fern((6, 264), 80, 0.6, "#182a40")]
    return Scene("crossroads", W, H, hour, marks, Light((186, 180), 150), words=((22, 22, 110, 4),))


def toad_ferry(v: int = 1) -> Scene:
    """18-19: there is no ferry, only the ferryman; he swims, and she rides."""
    hour = HOURS["small hours"]
    marks = [*sky(W, H, hour, 90, seed="18"), *props.stars((8, 6, 498, 60), 44, "18"), *hill([(-6, 84), (160, 64), (340, 88), (512, 70)], hour.far, 0.85), *hill([(-6, 100), (200, 94), (512, 100)], hour.middle, 0.6),
             *water(102, W, hour, "18", shine=(290, 186)), *placed(willow(120, hour, "18a", 0.5), (460, 112)), *placed(props.ripples(150, 4), (250, 196)),
             *placed(tansy(SITTING, placed(props.pail(True), (34, 12), 0.9)), (206, 104), 0.72), *placed(company.toad(), (250, 182), 1.3),
             *placed(props.ripples(60, 2), (330, 200)), *[m for x, y, w in ((60, 226, 70), (120, 244, 52), (428, 232, 64), (470, 214, 40)) for m in placed(lily(w), (x, y))],
             *placed(company.snail(), (62, 222), 0.6), *reeds((500, 262), 12, 150, hour, "18b", -0.1, 50), *reeds((4, 262), 8, 110, hour, "18c", -0.1, 30)]
    return Scene("toad ferry", W, H, hour, marks, Light((232, 112), 160), words=((330, 20, 110, 4),))
