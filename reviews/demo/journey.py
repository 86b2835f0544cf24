"""The openings of the journey, pages 10 to 19; `v` is the version, each later one answering the notes before it."""

from dataclasses import replace

from reviews.demo import company, props
from reviews.demo.curves import dots, egg, ribbon
from reviews.demo.growing import bush, fern, flowers, grass, mushroom, reeds, willow
from reviews.demo.lettering import words
from reviews.demo.marks import HOURS, Drawing, Hour, Light, Mark, Scene, mixed, placed
from reviews.demo.poses import CARRYING, SITTING, STANDING, TIPTOE
from reviews.demo.scenery import cloud, hill, mist, water
from reviews.demo.staging import H, W, backdrop, bough, in_her_paws, lilies, moths_round, standing, stones, trees
from reviews.demo.tansy import tansy

WARM = "#ffcf70"


def up_the_hill(v: int = 4) -> Scene:
    """10-11: she carries the pail up the hill; things kept moving through four versions."""
    hour = HOURS["night"]
    foot, size = {1: ((104, 208), 0.72), 4: ((318, 178), 0.95)}.get(v, ((176, 200), 0.95))
    pail = (foot[0] + 30 * size, foot[1] - 36 * size)
    marks = _hillside(hour, v)
    marks += standing(CARRYING, foot, size, in_her_paws(), turn=-6)
    marks += moths_round(pail, {1: 3, 2: 9}.get(v, 5))
    if v >= 3:
        marks += placed(company.snail(), (96, 218) if v == 3 else (214, 204), 0.62)
    marks += [
        *props.motes(pail, 60, 26, "10"),
        *flowers(250, 480, 206, 16, "10"),
        *fern((492, 266), 92, -0.6, "#173c3c"),
        *fern((16, 264), 76, 0.7, "#173c3c"),
        *fern((60, 268), 56, 0.2, "#1c4541"),
        *grass(246, -6, 240, 14, "#12303a", "10c"),
    ]
    room = {2: (262, 92, 82, 5), 3: (300, 56, 112, 5)}.get(v, (24, 20, 110, 5))
    return Scene("up the hill", W, H, hour, marks, Light(pail, 210, WARM, 1.1), words=(room,))


def _hillside(hour: Hour, v: int) -> Drawing:
    crescent = placed(props.moon(20, full=False), (300, 46), plane=0.4) if v <= 2 else []
    return [
        *backdrop(hour, 190, "10", "-6,160 120,128 250,158 420,130 512,140", 80),
        *trees(((70, 36), (84, 48), (196, 34)), 146, "#2b4f80"),
        Mark(egg(176, 174, 56, 7), "#16305c", 0.4, plane=0.7),
        *hill(dots("-6,196 140,176 300,186 512,150"), hour.middle, 0.55),
        *mist(182, W, "#4f77a8", "10", 5),
        *crescent,
        *placed(willow(196, hour, "10b"), (446, 178) if v != 3 else (64, 222)),
        *hill(dots("-6,220 110,210 230,194 340,170 430,154 512,146"), "#35685c", 0.1, grass=5, seed="10a"),
        *stones(((270, 200, 44), (212, 212, 30), (398, 178, 34)), "10"),
    ]


def old_heron(v: int = 2) -> Scene:
    """12-13: Old Heron bends down to look at what she carries."""
    hour = HOURS["small hours"]
    if v >= 2:
        heron = placed(company.heron(dots("18,-48 48,-74 84,-58 98,-22"), 40), (168, 128), 1.18)
        pose = replace(STANDING, tilt=-16, eyes="wide", mouth="oh", hand=(20, 30), other=(24, 26))
    else:
        heron = placed(company.heron(leg_up=True), (150, 150), 1.02)
        pose = TIPTOE
    marks = [
        *_heron_water(hour),
        *heron,
        *placed(mushroom(22), (262, 234)),
        *standing(pose, (372, 226), 1.02, placed(props.pail(True), (26, 28), 0.86), flip=True),
    ]
    if v >= 2:
        marks += placed(company.snail(), (438, 226), 0.7, flip=True)
    marks += [
        *props.motes((346, 186), 56, 24, "12"),
        *flowers(200, 480, 240, 14, "12"),
        *reeds((502, 266), 12, 160, hour, "12d", -0.1, 46),
        *grass(250, -6, 200, 13, "#141d38", "12e"),
        *bough(512, -8, 130, "#191a40", "12", flip=True),
    ]
    room = (300, 26, 110, 4) if v >= 2 else (270, 26, 120, 4)
    return Scene("old heron", W, H, hour, marks, Light((346, 188), 220, WARM, 1.1), words=(room,))


def _heron_water(hour: Hour) -> Drawing:
    return [
        *backdrop(hour, 170, "12", "-6,160 140,140 300,164 512,142", 66),
        *trees(((330, 44), (344, 58), (486, 50)), 162, "#3a3a74"),
        *mist(166, W, "#6a62a8", "12", 6),
        *water(172, W, hour, "12", floor=236),
        *reeds((56, 214), 20, 136, hour, "12a", 0.3, 110),
        *reeds((470, 222), 16, 120, hour, "12b", 0.2, 80),
        *lilies(((250, 206, 40), (96, 222, 46)), 0.3),
        *hill(dots("-6,246 120,240 250,228 380,220 512,232"), "#3d5f66", 0.05, grass=4, seed="12c"),
    ]


def under_ferns(v: int = 1) -> Scene:
    """14-15: a rest under the ferns; the pail lights the leaves from below."""
    del v  # one version so far
    hour = HOURS["small hours"]
    behind = [
        mark
        for k in range(8)
        for mark in fern(
            (20 + 68 * k, 250),
            150 + 34 * (k % 3),
            (-0.5, 0.4, 0.2)[k % 3],
            mixed("#3f6f7a", hour.far, 0.15 * (k % 2)),
            0.45,
        )
    ]
    marks = [
        *backdrop(hour, 230, "14", "-6,238 512,238", 40),
        *behind,
        *hill(dots("-6,226 130,216 300,224 512,212"), "#43656a", 0.05, grass=4, seed="14a"),
        *placed(mushroom(84), (86, 226)),
        *placed(mushroom(50, "#d9894a"), (140, 228)),
        *standing(replace(SITTING, eyes="glad"), (196, 226), 1.3),
        *placed(props.pail(True), (292, 176), 1.3),
        *placed(company.snail("shut"), (388, 222), 1.15, flip=True),
        *company.chorus([(256, 112), (316, 92), (352, 132), (236, 76)], 0.62),
        *props.motes((292, 172), 80, 36, "14"),
        *flowers(150, 420, 236, 14, "14"),
        *fern((-8, 264), 220, 0.55, "#1a2f44"),
        *fern((516, 264), 230, -0.62, "#1a2f44"),
        *fern((440, 270), 130, -0.4, "#20384c"),
        *grass(248, -6, 512, 10, "#16263c", "14b"),
    ]
    return Scene("under the ferns", W, H, hour, marks, Light((292, 172), 240, WARM, 1.1), words=((372, 26, 100, 4),))


def crossroads(v: int = 2) -> Scene:
    """16-17: the signpost; the words on it changed with the text."""
    hour = HOURS["small hours"]
    marks = [
        *_three_ways(hour),
        *placed(props.signpost(_boards(v)), (312, 232), 1.6),
        *standing(replace(CARRYING, tilt=-20), (158, 236), 1.25, in_her_paws()),
        *props.motes((204, 190), 56, 22, "16"),
        *flowers(30, 300, 242, 12, "16"),
        *placed(company.snail(), (384, 230) if v == 1 else (416, 228), 0.85, flip=True),
        *grass(250, 280, 512, 12, "#151f3a", "16c"),
        *fern((6, 266), 96, 0.6, "#182a40"),
        *bough(-6, -8, 110, "#191a40", "16"),
    ]
    return Scene("crossroads", W, H, hour, marks, Light((204, 196), 215, WARM, 1.1), words=((130, 22, 110, 4),))


def _boards(v: int) -> tuple[tuple[Drawing, float, bool], ...]:
    top, size = ("TO THE TARN", 0.8) if v == 1 else ("MIND THE TOAD", 0.62)
    upper, lower = (words(text, 9, "#3b2417", 0.2, bounce=0.03) for text in (top, "HOME"))
    return ((placed(upper, size=size), -78.0, True), (lower, -52.0, False))


def _three_ways(hour: Hour) -> Drawing:
    paths = [
        Mark(ribbon([(90, 262), (200, 236), (300, 226), (x, 204)], [44, 22, 10, 3]), "#8a7f92", 0, plane=0.1, shade=0.5)
        for x in (360, 250)
    ]
    return [
        *backdrop(hour, 180, "16", "-6,172 160,152 330,174 512,150", 76),
        *placed(cloud(170, "#3a3470"), (110, 84)),
        *trees(((30, 60), (48, 78), (468, 60), (482, 46)), 176, "#39396f"),
        *hill(dots("-6,206 140,192 300,204 512,186"), hour.middle, 0.5),
        *mist(196, W, "#56509a", "16", 5),
        *hill(dots("-6,234 130,226 270,218 400,226 512,220"), "#43656a", 0.05, grass=4, seed="16a"),
        *paths,
        *placed(bush(110, 56, "#345666", 0.1, "16b"), (468, 230)),
    ]


def toad_ferry(v: int = 1) -> Scene:
    """18-19: there is no ferry, only the ferryman; he swims, and she rides."""
    del v  # one version so far
    hour = HOURS["small hours"]
    marks = [
        *backdrop(hour, 90, "18", "-6,84 160,60 340,88 512,66", 50),
        *hill(dots("-6,100 200,94 512,100"), hour.middle, 0.6),
        *placed(willow(110, hour, "18a", 0.5), (456, 110)),
        *water(102, W, hour, "18", shine=(262, 200)),
        *mist(104, W, "#56509a", "18", 4),
        *placed(props.ripples(190, 4), (250, 206)),
        *placed(tansy(SITTING), (190, 104), 0.95),
        *placed(props.pail(True), (242, 122), 0.9),
        *placed(company.toad(), (246, 194), 1.65),
        *placed(props.ripples(84, 2, "#cfd0ee"), (330, 214)),
        *lilies(((52, 232, 84), (120, 250, 60), (428, 238, 76), (474, 216, 50))),
        *props.motes((242, 120), 60, 26, "18"),
        *placed(company.snail(), (54, 228), 0.8),
        *reeds((502, 264), 14, 170, hour, "18b", -0.1, 60),
        *reeds((2, 264), 9, 130, hour, "18c", -0.1, 34),
    ]
    return Scene("toad ferry", W, H, hour, marks, Light((242, 122), 235, WARM, 1.1), words=((322, 20, 116, 4),))
