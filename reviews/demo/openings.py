"""The openings of the first evening, pages 4 to 9; `v` is the version, each later one answering the notes before it."""

from dataclasses import replace

from reviews.demo import company, props
from reviews.demo.curves import Pair, chance, dots, egg, ribbon, smooth
from reviews.demo.growing import bush, fern, flowers, grass, hollow_tree, mushroom, reeds, tuft
from reviews.demo.marks import HOURS, Drawing, Hour, Light, Mark, Scene, mixed, placed
from reviews.demo.poses import CARRYING, KNEELING
from reviews.demo.scenery import cloud, hill, mist, water
from reviews.demo.staging import H, W, backdrop, bough, lilies, standing, stones, trees
from reviews.demo.tansy import fur, head, tansy


def leaving_home(v: int = 2) -> Scene:
    """4-5: dusk; Tansy leaves her stump with the empty pail, the tarn far below under a rising moon."""
    hour = HOURS["dusk"]
    foot, size = ((206, 216), 0.92) if v >= 2 else ((236, 216), 0.6)
    away = replace(CARRYING, hand=(26, 26), other=(30, 22), tilt=-10)
    marks = [*_dusk(hour, v), *_home(hour), *standing(away, foot, size, placed(props.pail(False, 6), (32, 30), 0.74))]
    if v >= 2:
        marks += placed(company.snail(), (296, 236), 0.58)
        marks += placed(company.heron_flying(0.9), (344, 112), 0.3, plane=0.7)
    marks += [
        *bough(-6, -6, 150, "#23304e", "4-5"),
        *fern((4, 264), 84, 0.4, "#22453f"),
        *fern((34, 266), 66, 0.9, "#28503f"),
        *grass(242, 330, 512, 13, "#22403f", "4e"),
    ]
    room = (330, 18, 84, 3) if v < 2 else (196, 62, 84, 3)
    return Scene("leaving home", W, H, hour, marks, Light((96, 172), 200, "#ffcf80", 0.9), words=(room,))


def _dusk(hour: Hour, v: int) -> Drawing:
    moon = (404, 74) if v >= 2 else (300, 66)
    return [
        *backdrop(hour, 150, "4-5", stars=50, clear=(moon,)),
        *placed(props.halo(32, "#e8b4a4", "#8a5f9e"), moon),
        *placed(props.moon(32), moon, plane=0.4),
        *placed(cloud(150, "#9d7fae"), (452, 108)),
        *placed(cloud(96, "#7d6aa6"), (300, 40) if v >= 2 else (402, 50)),
        *hill(dots("-6,138 90,122 190,134 320,118 430,130 512,112"), hour.far, 0.85),
        *trees(((296, 34), (308, 46), (320, 36), (474, 44), (486, 32)), 134, "#5f5c99"),
        *hill(dots("-6,160 120,150 260,160 512,144"), hour.middle, 0.6),
        *water(168, W, hour, "4-5", floor=222, shine=(moon[0], 170)),
        *mist(168, W, "#c9a3bd", "4-5", 4),
        *reeds((316, 196), 9, 40, hour, "4a", 0.4, 40),
        *reeds((476, 208), 14, 62, hour, "4b", 0.3, 60),
    ]


def _home(hour: Hour) -> Drawing:
    path = ribbon(dots("104,210 150,216 230,236 330,240 420,232"), [26, 20, 16, 9, 3])
    return [
        *hill(dots("-6,176 90,186 190,206 280,226 370,238 512,222"), "#4b7d5c", 0.12, grass=4, seed="4c"),
        Mark(path, mixed("#b59a86", hour.haze, 0.3), 0, plane=0.15, shade=0.5),
        *placed(bush(120, 64, "#3f6a55", 0.15, "4d"), (16, 196)),
        *placed(hollow_tree(150, hour), (92, 206)),
        *placed(props.door(60), (96, 208)),
        *flowers(216, 330, 236, 9, "4-5", 0.1),
        *flowers(130, 176, 226, 5, "4-5b"),
        *placed(mushroom(22), (158, 214)),
        *placed(mushroom(14, "#d9894a"), (146, 218)),
    ]


def at_the_tarn(v: int = 2) -> Scene:
    """6-7: Tansy kneels on a stone and dips the pail where the moon lies on the water."""
    hour = HOURS["evening"]
    her = (134, 112) if v >= 2 else (86, 112)
    on_water = (330, 214) if v >= 2 else (380, 206)
    marks = [
        *_tarn(hour),
        *placed(props.ripples(84, 4, "#ffe9b0"), on_water),
        *placed(_moon_on_water(), on_water),
        *reeds((472, 204), 18, 124, hour, "6a", 0.15, 74),
        *lilies(((424, 236, 52), (466, 250, 46), (286, 248, 36))),
        *placed(props.stone(240, 70, "6b", "#6580a2"), (108, 240)),
        *placed(props.stone(96, 46, "6c", "#54698a"), (10, 252)),
        *placed(props.stone(70, 26, "6d", "#6a80a0"), (246, 252)),
        *placed(tansy(KNEELING, placed(props.pail(False, 34, "left"), (64, 36), 0.95)), her, 1.2),
    ]
    if v >= 2:
        marks += placed(company.snail(), (46, 182), 0.72)
    else:
        marks += placed(company.heron(), (436, 116), 0.62, flip=True, plane=0.3)
    marks += [
        *props.motes(on_water, 60, 26, "6-7"),
        *reeds((2, 264), 12, 150, hour, "6e", -0.1, 50),
        *grass(248, 380, 512, 9, "#16324a", "6f"),
        *bough(-6, -8, 150, "#15264a", "6-7"),
    ]
    return Scene("at the tarn", W, H, hour, marks, Light(on_water, 270, "#ffdf90", 1.15), words=((168, 16, 100, 4),))


def _tarn(hour: Hour) -> Drawing:
    moon = (352, 44)
    return [
        *backdrop(hour, 110, "6-7", stars=64, clear=(moon,)),
        *placed(props.halo(23, "#7fa0cc", "#35558f"), moon),
        *placed(props.moon(23), moon, plane=0.4),
        *hill(dots("-6,96 120,70 250,100 400,82 512,98"), hour.far, 0.85),
        *trees(((404, 52), (418, 66), (434, 48), (60, 44), (74, 56)), 102, "#3d5a92"),
        *hill(dots("-6,112 160,102 330,116 512,106"), hour.middle, 0.6),
        *water(118, W, hour, "6-7", shine=(352, 122)),
        *mist(120, W, "#7f9cc6", "6-7", 4),
    ]


def _moon_on_water() -> Drawing:
    rim = Mark(egg(0, 0, 40, 12.5), "#fff3c4", 0.5, raw=True, glow=0.95, foil=True, tone=0.0)
    return [rim, Mark(egg(5, 1.4, 24, 5.6), "#ffe39a", 0.3, raw=True, glow=0.95, detail=2)]


def moon_in_the_pail(v: int = 2) -> Scene:
    """8-9: straight down into the pail: the moon floats there, and two faces look in."""
    hour = HOURS["night"]
    middle, r = ((318, 130), 112) if v >= 2 else ((253, 130), 98)
    floating = (middle[0] + (14 if v >= 2 else -4), middle[1] - 12)
    marks = [
        *_forest_floor(middle, r),
        *stones(((52, 110, 92), (100, 72, 56)), "8", "#6f83a0"),
        *placed(props.pail_from_above(r), middle),
        *_floating_moon(floating, r),
        *placed(props.ripples(r * 0.62, 2, "#d6e6da"), (middle[0] + 8, middle[1] + r * 0.62)),
    ]
    if v >= 2:
        # From the line on he had slid round the rim, and nobody had asked.
        across, down, turn = (0.84, -0.66, 140) if v == 2 else (1.06, -0.16, 172)
        marks += placed(company.snail(), (middle[0] + r * across, middle[1] + r * down), 1.15, turn=turn)
    marks += [
        *_leaning_in(middle, r),
        *props.motes((floating[0], floating[1] + 40), 90, 40, "8-9"),
        *fern((500, 264), 100, -0.5, "#173a3c"),
        *fern((-4, 268), 96, 0.5, "#173a3c"),
    ]
    room = (26, 112, 110, 5) if v >= 2 else (24, 130, 96, 5)
    return Scene("moon in the pail", W, H, hour, marks, Light(floating, 230, "#ffd884", 1.2), words=(room,))


def _floating_moon(at: Pair, r: float) -> Drawing:
    rings = [
        Mark(egg(*at, r * k, r * k, n=60), tint, 0, raw=True, glow=0.12, detail=2)
        for k, tint in ((0.72, "#3f7394"), (0.6, "#6f9796"), (0.49, "#bdb683"))
    ]
    return [*rings, *placed(props.moon(r * 0.4), at)]


def _forest_floor(middle: Pair, r: float) -> Drawing:
    rng = chance("forest floor")
    ground = dots("-4,-4 510,-4 510,260 -4,260")
    marks: Drawing = [Mark(ground, "#3a7266", 0, detail=0, plane=0.1, shade=0)]
    for number in range(190):
        at = (float(rng.uniform(0, W)), float(rng.uniform(0, H)))
        if (at[0] - middle[0]) ** 2 + (at[1] - middle[1]) ** 2 < (r + 5) ** 2:
            continue
        tint = ("#4f8f6b", "#2c5a50", "#79a873", "#3d7560")[number % 4]
        if number % 11 == 0:
            marks += placed(_toadstool_from_above(), at, float(rng.uniform(0.5, 1.1)))
        elif number % 3 == 0:
            leaf = Mark(smooth(dots("0,0 7,-3 16,0 7,3")), tint, 0.4, shade=0.5)
            marks += placed([leaf], at, float(rng.uniform(0.6, 1.2)), turn=float(rng.uniform(0, 360)))
        else:
            marks += tuft(at, float(rng.uniform(6, 13)), tint, rng, 0.05)
    return marks


def _toadstool_from_above() -> Drawing:
    spots = [
        Mark(egg(x, y, 1.6, 1.6), "#f6e7cf", 0, detail=2, shade=0) for x, y in ((-3, -2), (3, 1), (-1, 4), (2, -5))
    ]
    return [Mark(egg(0, 0, 9, 9), "#c9584a", 0.6), *spots]


def _leaning_in(middle: Pair, r: float) -> Drawing:
    """Tansy seen from above: her back in the corner, both arms on the rim, her face over the water."""
    x, y = middle[0] - r * 0.93, middle[1] + r * 0.4
    back = egg(x - 52, y + 34, 66, 52, -30)
    scarf = ribbon([(x - 34, y - 34), (x - 44, y + 4), (x - 20, y + 44)], [15, 18, 15])
    hanging = ribbon([(x - 42, y + 4), (x - 66, y + 2), (x - 84, y + 16)], [11, 13, 14], round_ends=False)
    marks: Drawing = [
        Mark(back, "#c9783c", 1.1, detail=0),
        *fur(back, 50, "from above"),
        Mark(hanging, "#f0b429", 0.9, shade=1.1),
        Mark(scarf, "#f0b429", 1.0, shade=1.1),
    ]
    marks += _reaching((x - 40, y - 30), (middle[0] - r * 0.78, middle[1] - r * 0.5))
    marks += _reaching((x - 10, y + 50), (middle[0] - r * 0.5, middle[1] + r * 0.84))
    return [*marks, *placed(head("wide", "oh"), (x + 6, y), 1.75, turn=-20)]


def _reaching(shoulder: Pair, paw: Pair) -> Drawing:
    x, y = paw
    limb = ribbon([shoulder, ((x + shoulder[0]) / 2 - 6, (y + shoulder[1]) / 2), paw], [22, 18, 13])
    fingers = [
        Mark(ribbon([(x + 6, y + k), (x + 12, y + k * 1.2), (x + 16, y + k * 1.5)], [4.4, 4.2, 3]), "#e79a8c", 0.6)
        for k in (-4, 0, 4)
    ]
    return [Mark(limb, "#c9783c", 1.0), Mark(egg(x + 3, y, 9, 7.5, 10), "#e79a8c", 0.8), *fingers]
