"""The cover: the front as it was finally drawn, and the six ideas it was chosen from."""

import numpy as np

from reviews.demo import company, props
from reviews.demo.growing import lily, poplar, reeds
from reviews.demo.lettering import flat_title, title, words
from reviews.demo.marks import HOURS, Drawing, Hour, Light, Mark, Scene, placed, recoloured
from reviews.demo.poses import CARRYING, HUGGING, RUNNING, TIPTOE
from reviews.demo.scenery import hill, mist, sky, water
from reviews.demo.tansy import head, tansy

S = 256.0
# The cover in one piece for a page of 250 × 250 mm, 32 pages of 0.06 mm and boards of 3 mm: what the print set-up of
# the demo comes to, in mm from the left edge of the turn-in.
TURN_IN, BOARD_W, HINGE, SPINE = 17.0, 246.5, 10.0, 7.42
WHOLE_W, WHOLE_H = 2 * (TURN_IN + BOARD_W + HINGE) + SPINE, 290.0
FRONT_LEFT = TURN_IN + BOARD_W + 2 * HINGE + SPINE
FRONT_AT = (FRONT_LEFT + BOARD_W / 2 - S / 2, WHOLE_H / 2 - S / 2)


def front(v: int = 2) -> Scene:
    """Tansy sits hugging the shining pail on a stone in the tarn, the title in the sky above her."""
    hour = HOURS["night"]
    her, size = ((110, 174), 1.04) if v >= 2 else ((92, 176), 0.82)
    pail_at = (her[0] + 27 * size, her[1] + 2 * size)
    glow = (pail_at[0], pail_at[1] - 4)
    marks = [*_backdrop_of_front(hour), *_figures(v, hour, her, size)]
    marks += placed(words("JUNIPER ALDERSEA", 6.4, "#f7dfa6", 0.16), (128, 246.5))
    marks += _near(hour, pail_at)
    return Scene("cover", S, S, hour, marks, Light(glow, 165, "#ffcf70", 1.15))


def _backdrop_of_front(hour: Hour) -> Drawing:
    return [
        *sky(S, S, hour, 160, seed="cover"),
        *props.stars((6, 6, 250, 128), 70, "cover"),
        *hill([(-6, 150), (60, 132), (130, 146), (200, 126), (262, 140)], hour.far, 0.85),
        *[
            m
            for x, s in ((22, 40), (34, 52), (226, 44), (238, 34))
            for m in placed(poplar(s, "#2b4f80", 0.7), (x, 152))
        ],
        *hill([(-6, 164), (90, 158), (262, 164)], hour.middle, 0.6),
        *water(168, S, hour, "cover"),
        *mist(166, S, "#547aa6", "cover", 5),
        *reeds((26, 206), 12, 84, hour, "ca", 0.3, 50),
        *reeds((232, 210), 12, 92, hour, "cb", 0.3, 44),
    ]


def _figures(v: int, hour: Hour, her: tuple[float, float], size: float) -> Drawing:
    marks = [
        *placed(title(0.98 if v >= 2 else 0.84), (128, 70)),
        *placed(props.ripples(124, 3), (130, 240)),
        *placed(props.stone(170, 40, "cc", "#6580a2"), (130, 252)),
        *placed(tansy(HUGGING, placed(props.pail(True, 0, "down"), (27, 4), 1.0)), her, size),
    ]
    if v >= 2:
        marks += placed(company.snail(), (190, 226), 0.68, flip=True)
    else:
        marks += placed(company.heron(), (206, 150), 0.6, flip=True, plane=0.2)
    marks += company.chorus(
        [(44, 160), (212, 152), (186, 180), (30, 196), (232, 188)] if v >= 2 else [(44, 156), (156, 150)], 0.52
    )
    return marks


def _near(hour: Hour, pail_at: tuple[float, float]) -> Drawing:
    return [
        *props.motes((pail_at[0], pail_at[1] - 4), 46, 34, "cover"),
        *[m for x, y, w in ((44, 244, 40), (216, 246, 46)) for m in placed(lily(w), (x, y))],
        *reeds((-2, 264), 8, 92, hour, "cd", -0.1, 26),
        *reeds((260, 264), 8, 80, hour, "ce", -0.1, 24),
    ]


def whole(v: int = 2) -> Scene:
    """The cover in one piece, as it goes round the boards: back, hinge, spine, hinge, front, and the turn-in all round.

    Its size is that of the book's print set-up, in mm; the front lies where its board will be.
    """
    hour = HOURS["night"]
    her, size = ((110, 174), 1.04) if v >= 2 else ((92, 176), 0.82)
    pail_at = (her[0] + 27 * size, her[1] + 2 * size)
    marks = [*_backdrop_of_whole(hour), *placed(_figures(v, hour, her, size), FRONT_AT)]
    marks += placed(words("JUNIPER ALDERSEA", 6.4, "#f7dfa6", 0.16), _on_front((128, 246.5)))
    marks += [*placed(_near(hour, pail_at), FRONT_AT), *_back(hour), *_spine()]
    glow = _on_front((pail_at[0], pail_at[1] - 4))
    return Scene("cover whole", WHOLE_W, WHOLE_H, hour, marks, Light(glow, 190, "#ffcf70", 1.15))


def _on_front(at: tuple[float, float]) -> tuple[float, float]:
    return at[0] + FRONT_AT[0], at[1] + FRONT_AT[1]


def _backdrop_of_whole(hour: Hour) -> Drawing:
    w, h, floor = WHOLE_W, WHOLE_H, WHOLE_H + 6
    far = [(-6, 164), (60, 150), (140, 158), (230, 146), (310, 160), (350, 149), (420, 163), (490, 143), (w + 6, 156)]
    trees = ((30, 44), (52, 58), (96, 36), (206, 46), (308, 40), (320, 52), (512, 44), (530, 36))
    return [
        *sky(w, h, hour, 177, seed="cover"),
        *props.stars((6, 6, w - 6, 146), 150, "cover"),
        *hill(far, hour.far, 0.85, floor=floor),
        *[m for x, s in trees for m in placed(poplar(s, "#2b4f80", 0.7), (x, 168))],
        *hill([(-6, 182), (150, 172), (376, 176), (w + 6, 181)], hour.middle, 0.6, floor=floor),
        *water(185, w, hour, "cover", floor=floor),
        *mist(183, w, "#547aa6", "cover", 5),
        *reeds(_on_front((26, 206)), 12, 84, hour, "ca", 0.3, 50),
        *reeds(_on_front((232, 210)), 12, 92, hour, "cb", 0.3, 44),
    ]


def _back(hour: Hour) -> Drawing:
    """Old Heron watches from the reeds of the back, beside the words and the white field of the bar code."""
    lines = ("THE MOON LIES", "IN THE TARN AND", "TANSY HAS A PAIL")
    marks = [
        *reeds((44, 236), 12, 96, hour, "cf", 0.2, 50),
        *placed(company.heron(), (82, 176), 0.78, plane=0.2),
        *company.chorus([(196, 150), (226, 178)], 0.44),
    ]
    for k, line in enumerate(lines):
        marks += placed(words(line, 8.5, "#fff1c9", 0.16), (200, 62 + 18 * k))
    field = np.array([(206, 226), (250, 226), (250, 258), (206, 258)], float)
    marks.append(Mark(field, "#ffffff", 0.4, raw=True, detail=0, shade=0))
    for k in range(16):
        x = 211 + 2.15 * k
        bar = np.array([(x, 231), (x + 0.6 + 0.5 * (k % 3), 231), (x + 0.6 + 0.5 * (k % 3), 252), (x, 252)], float)
        marks.append(Mark(bar, "#161616", 0, raw=True, detail=2, shade=0, ink=True))
    return marks


def _spine() -> Drawing:
    """The title down the spine, as it is read with the book lying on its back; kept off the spine's edges."""
    middle = FRONT_LEFT - HINGE - SPINE / 2
    return placed(words("TANSY AND THE MOON IN THE PAIL", 3.1, "#fff1c9", 0.17, bounce=0.0), (middle, 130), turn=90)


def _night(seed: str, horizon: float = 170, hour: str = "night") -> Drawing:
    return [*sky(S, S, HOURS[hour], horizon, 6, seed), *props.stars((6, 6, 250, horizon - 30), 26, seed)]


def big_pail() -> Scene:
    """The pail fills the cover; the title rises in its light; Tansy's eyes look over the rim."""
    hour = HOURS["night"]
    marks = [
        *_night("i2", 250),
        *placed(props.glow_beam(110), (128, 150)),
        *placed(head("wide", "oh"), (132, 118), 2.5),
        *placed(props.pail(True, 0, "down"), (128, 168), 4.2),
        *placed(flat_title(0.56), (128, 222)),
    ]
    return Scene("cover: big pail", S, S, hour, marks, Light((128, 160), 120))


def tiny_on_the_hill() -> Scene:
    """A great sky with the title in it, and a very small dormouse on a long hill."""
    hour = HOURS["night"]
    marks = [
        *_night("i3", 230),
        *placed(title(1.16), (128, 88)),
        *hill([(-6, 236), (80, 214), (170, 196), (262, 206)], "#29544e", 0.1, grass=3, seed="i3"),
        *placed(poplar(50, "#223f55", 0.2), (228, 206)),
        *placed(tansy(CARRYING, placed(props.pail(True), (40, 42), 1.0)), (150, 170), 0.4),
    ]
    return Scene("cover: tiny on the hill", S, S, hour, marks, Light((166, 186), 70))


def from_above() -> Scene:
    """Looking straight down: the round pail is the picture, the title runs above it."""
    hour = HOURS["night"]
    marks: Drawing = [
        *_night("i4", 600),
        *placed(props.pail_from_above(78), (128, 164)),
        *placed(props.moon(40), (132, 158)),
        *placed(flat_title(0.94), (128, 44)),
        *placed(head("wide", "oh"), (58, 196), 1.2, turn=-24),
        *placed(company.snail(), (206, 130), 0.8, turn=120),
    ]
    return Scene("cover: from above", S, S, hour, marks, Light((132, 158), 120))


def heron_tall() -> Scene:
    """Old Heron stands the whole height of the cover and looks down at the small light."""
    hour = HOURS["night"]
    marks = [
        *_night("i5", 200),
        *placed(props.moon(18, full=False), (222, 26)),
        *water(206, S, hour, "i5"),
        *placed(company.heron(((14, -50), (34, -80), (22, -104), (44, -108)), 40), (66, 138), 1.1),
        *placed(title(0.78), (176, 96)),
        *hill([(-6, 240), (120, 232), (262, 226)], "#29544e", 0.1, grass=4, seed="i5"),
        *placed(tansy(TIPTOE, placed(props.pail(True), (20, 34), 0.9)), (186, 186), 0.62, flip=True),
    ]
    return Scene("cover: heron tall", S, S, hour, marks, Light((176, 206), 90))


def against_the_moon() -> Scene:
    """A running silhouette against an enormous moon; the title along the bottom."""
    hour = HOURS["night"]
    runner = recoloured(placed(tansy(RUNNING, placed(props.pail(True, 12), (40, 30), 0.9)), (128, 118), 1.0), "#1a2142")
    marks = [
        *_night("i6", 240),
        *placed(props.halo(62, "#7fa0cc", "#1c3360"), (128, 108)),
        *placed(props.moon(84), (128, 108)),
        *hill([(-6, 186), (90, 176), (180, 174), (262, 190)], "#14243a", 0.0, grass=5, seed="i6"),
        *runner,
        *placed(flat_title(0.98), (128, 220)),
    ]
    return Scene("cover: against the moon", S, S, hour, marks, Light((128, 108), 120))
