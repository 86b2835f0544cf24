"""The others of the story: Old Heron, Pocket the snail, the moth chorus, the toad ferryman."""

import numpy as np

from reviews.demo.curves import Pair, Points, arc, band, dots, egg, ribbon, smooth
from reviews.demo.marks import Drawing, Mark, placed, stroke

SLATE, SLATE_DARK, SLATE_PALE, BEAK = "#8ea3bb", "#5b6f8f", "#c9d4df", "#e0a64a"
SHELL, SHELL_DARK, SKIN, DARK = "#d98d6a", "#a95c4a", "#d9c79a", "#1f1726"
MOSS, MOSS_DARK, BELLY = "#7f9a4f", "#566f38", "#d8d796"


def heron(
    neck: tuple[Pair, ...] | Points = ((14, -44), (30, -66), (10, -92), (24, -116)),
    look: float = 6.0,
    eye: str = "open",
    leg_up: bool = False,
) -> Drawing:
    """Return Old Heron facing right; his feet stand at (0, 90), his back is at the origin; `neck` ends at his head."""
    body = smooth([(-44, 34), (-30, 4), (-6, -16), (18, -22), (28, -8), (22, 12), (2, 28), (-24, 36)])
    wing = smooth([(12, -14), (20, 2), (4, 18), (-20, 30), (-52, 44), (-44, 26), (-24, 4), (-6, -10)])
    feathers = [
        stroke(
            smooth([(8 - 9 * k, -4 + 6 * k), (-8 - 9 * k, 8 + 7 * k), (-24 - 7 * k, 20 + 6 * k)], closed=False),
            0.45,
            detail=1 + k % 2,
        )
        for k in range(4)
    ]
    throat = ribbon([(10, -8), *neck], [22, 13, 10, 9, 11])
    beard = [stroke(smooth([(16 + k, -14), (20 + k, 2), (17 + 2 * k, 14)], closed=False), 0.5) for k in (0, 4, 8)]
    return [
        *_heron_legs(leg_up),
        Mark(body, SLATE, 0.95, detail=0),
        Mark(throat, SLATE_PALE, 0.9, detail=0),
        *beard,
        Mark(wing, SLATE_DARK, 0.9, detail=0),
        *feathers,
        *placed(heron_head(eye), neck[-1], turn=look),
    ]


def _heron_legs(up: bool) -> Drawing:
    legs = [[(-2, 28), (-4, 56), (-1, 88)], [(6, 26), (26, 44), (10, 62)] if up else [(6, 26), (10, 58), (9, 88)]]
    marks: Drawing = []
    for leg in legs:
        marks.append(Mark(ribbon(leg, [4, 2.6, 2.4]), BEAK, 0.55))
        x, y = leg[-1]
        marks += [
            Mark(ribbon([(x, y), (x + dx * 0.6, y + dy * 0.4), (x + dx, y + dy)], [2, 1.6, 0.8]), BEAK, 0.4)
            for dx, dy in ((15, 3), (11, 6), (-8, 3))
        ]
    return marks


def heron_head(eye: str) -> Drawing:
    """Return Old Heron's head on its own, looking right."""
    skull = smooth([(-9, 2), (-6, -7), (4, -9), (13, -4), (14, 2), (4, 6)])
    beak = smooth([(12, -3), (30, 0), (50, 5), (30, 5), (12, 4)])
    crest = Mark(ribbon([(2, -7), (-14, -8), (-34, 2)], [4, 4, 0.6]), SLATE_DARK, 0.6)
    lid = [stroke(arc(5, -2.2, 3.0, 2.6, 190, 350), 0.8)]
    look = [
        Mark(egg(5, -2, 2.6, 2.6), "#f7e08a", 0.4, shade=0),
        Mark(egg(5.8, -2, 1.5, 1.7), DARK, 0, shade=0, ink=True),
        Mark(egg(6.3, -2.7, 0.5, 0.5), "#ffffff", 0, raw=True),
        *lid,
    ]
    shut = [stroke(arc(5, -2, 3.0, 2.2, 20, 160), 0.7)]
    return [
        crest,
        Mark(beak, BEAK, 0.7),
        stroke(np.array([(13, 1.2), (44, 4.4)]), 0.35),
        Mark(skull, SLATE_PALE, 0.85, detail=0),
        Mark(ribbon([(11, -4), (2, -7.5), (-8, -4)], [1.5, 4, 2]), SLATE_DARK, 0.3),
        *(look if eye == "open" else shut),
    ]


def heron_flying(beat: float = 1.0) -> Drawing:
    """Return Old Heron on the wing, facing right; beat 1 is wings up, -1 wings down."""
    far_wing = smooth([(10, 0), (0, -30 * beat), (-26, -60 * beat), (-34, -40 * beat), (-26, -14 * beat), (-10, 6)])
    near_wing = smooth([(14, 2), (16, -34 * beat), (-2, -78 * beat), (-18, -64 * beat), (-24, -34 * beat), (-14, 8)])
    body = smooth([(-40, 10), (-14, -6), (16, -6), (30, 2), (16, 12), (-14, 14)])
    quills = [
        stroke(
            smooth(
                [(10 - 6 * k, -4 * beat), (4 - 6 * k, -30 * beat), (-6 - 4 * k, (-62 + 8 * k) * beat)], closed=False
            ),
            0.4,
            detail=2,
        )
        for k in range(4)
    ]
    return [
        Mark(far_wing, SLATE_DARK, 0.8, detail=0),
        Mark(ribbon([(-34, 10), (-60, 12), (-88, 10)], [4, 2.4, 2]), BEAK, 0.5),
        Mark(body, SLATE, 0.9, detail=0),
        Mark(ribbon([(22, 2), (40, 12), (44, -4), (56, -6)], [16, 11, 9, 10]), SLATE_PALE, 0.8, detail=0),
        Mark(near_wing, SLATE, 0.9, detail=0),
        *quills,
        *placed(heron_head("open"), (58, -6), turn=4),
    ]


def snail(eyes: str = "open", stretch: float = 1.0) -> Drawing:
    """Return Pocket the snail facing right, about 60 units long, sole on y = 0."""
    foot = dots("-30,0 -20,-6 6,-8 20,-16 27,-24 34,-22 34,-12 26,-1 4,1") * (stretch, 1)
    marks = [Mark(smooth(foot), SKIN, 0.8, detail=0), *_shell()]
    for tip, size in (((38 * stretch, -42), 4.4), ((28 * stretch, -44), 3.8)):
        stalk = ribbon([(30 * stretch, -20), ((30 * stretch + tip[0]) / 2 + 1, -32), tip], [4.5, 3, 2.6])
        marks += [Mark(stalk, SKIN, 0.6), *_stalk_eye(tip, size, eyes)]
    mouth = smooth([(34 * stretch, -15), (31 * stretch, -12.6), (28 * stretch, -13.4)], closed=False)
    return [*marks, stroke(mouth, 0.5), Mark(egg(27 * stretch, -15, 2.4, 1.7), "#e79a8c", 0, detail=2, shade=0)]


def _shell() -> Drawing:
    turns = np.linspace(0, 2 * np.pi * 2.3, 60)
    radius = 15.5 * (1 - turns / (2 * np.pi * 2.55))
    coil = np.column_stack([-4 + radius * np.cos(turns + 0.6), -22 + radius * np.sin(turns + 0.6)])
    bars = []
    for angle in np.linspace(2.4, 6.4, 12):
        spoke = [
            (-4 + np.cos(angle + bend) * r, -22 + np.sin(angle + bend) * r)
            for bend, r in ((0, 12), (0.12, 15), (0.1, 17.5))
        ]
        bars.append(stroke(smooth(spoke, closed=False, steps=3), 0.5, detail=2))
    gleam = Mark(egg(-9, -29, 4.5, 3, -30), "#f3bf9c", 0, detail=2, shade=0)
    return [Mark(egg(-4, -22, 18.5, 18), SHELL, 0.95, detail=0), stroke(coil, 0.75), *bars, gleam]


def _stalk_eye(at: Pair, size: float, state: str) -> Drawing:
    if state == "shut":
        return [Mark(egg(*at, size, size), SKIN, 0.6), stroke(arc(*at, size * 0.7, size * 0.5, 20, 160), 0.5)]
    return [
        Mark(egg(*at, size, size), "#fffdf2", 0.6, shade=0.5),
        Mark(egg(at[0] + 1, at[1] - 0.4, size * 0.5, size * 0.58), DARK, 0, ink=True, shade=0),
        Mark(egg(at[0] + 1.7, at[1] - 1.4, size * 0.2, size * 0.2), "#ffffff", 0, raw=True),
    ]


def moth(spread: float = 1.0, tint: str = "#e8d3b8", sing: bool = True) -> Drawing:
    """Return a moth of the chorus seen from the front, mouth open, about 44 units across."""
    marks: Drawing = []
    for side in (-1, 1):
        upper = smooth(
            [
                (side * 3, -2),
                (side * 12 * spread, -17),
                (side * 24 * spread, -15),
                (side * 22 * spread, -3),
                (side * 10, 4),
            ]
        )
        lower = smooth(
            [(side * 3, 2), (side * 14 * spread, 3), (side * 17 * spread, 13), (side * 8 * spread, 16), (side * 2, 8)]
        )
        feeler = smooth([(side * 1.5, -7), (side * 5, -14), (side * 9, -16)], closed=False)
        marks += [
            Mark(lower, tint, 0.6),
            Mark(upper, tint, 0.7, detail=0),
            Mark(egg(side * 16 * spread, -10, 3.4, 3.4), "#8a5a6a", 0.35, shade=0),
            Mark(egg(side * 16 * spread, -10, 1.4, 1.4), "#f8e3a0", 0, detail=2, shade=0),
            stroke(feeler, 0.5),
            stroke(
                smooth([(side * 6, -3), (side * 13 * spread, -5), (side * 20 * spread, -5)], closed=False),
                0.35,
                detail=2,
            ),
        ]
    marks.append(Mark(smooth([(-3.4, -5), (0, -8), (3.4, -5), (3, 6), (0, 14), (-3, 6)]), "#b99a84", 0.7))
    marks += [Mark(egg(x, -4.6, 0.9, 1.1), DARK, 0, ink=True, shade=0) for x in (-1.5, 1.5)]
    return [*marks, Mark(egg(0, -1, 1.1, 1.5 if sing else 0.6), "#6b2f3d", 0.3, ink=True, shade=0)]


MOTH_TINTS = ("#f0dcc0", "#e6bfa8", "#cfd3e6", "#e9d59a", "#d9b7c6")


def chorus(places: list[Pair], size: float = 0.5, plane: float = 0.1) -> Drawing:
    """Return moths at the places given, each at its own angle and tint."""
    marks: Drawing = []
    for number, at in enumerate(places):
        marks += placed(
            moth(0.8 + 0.12 * (number % 4), MOTH_TINTS[number % 5], number % 3 != 1),
            at,
            size * (0.82 + 0.12 * (number % 4)),
            turn=(-24, 12, 30, -8, 18, -34)[number % 6],
            plane=plane,
        )
    return marks


def toad(swimming: bool = True, eyes: str = "open") -> Drawing:
    """Return the toad ferryman facing right, cap on, about 110 units long; the water line is y = 0."""
    body = smooth(dots("-56,6 -50,-16 -28,-30 4,-30 26,-36 46,-30 56,-14 50,0 30,8 -10,12 -40,12"))
    chin = smooth(dots("54,-12 48,0 30,7 0,10 20,-2 40,-8"))
    warts = dots("-36,-14 -22,-21 -8,-16 -28,-4 6,-23 12,-10 -44,-4")
    marks = [
        Mark(ribbon(dots("-44,-2 -74,4 -92,-8 -108,2"), [18, 12, 8, 6]), MOSS_DARK, 0.8),
        Mark(body, MOSS, 1.0, detail=0),
        Mark(chin, BELLY, 0, shade=0.7),
        *[
            Mark(egg(x, y, 2 + n % 3 * 0.6, 1.7 + n % 3 * 0.4), MOSS_DARK, 0.35, detail=2)
            for n, (x, y) in enumerate(warts)
        ],
        *_toad_eye(20, -38, 9.0, eyes),
        *_toad_eye(38, -36, 7.5, eyes),
        *placed(_cap(), (26, -45), turn=6),
        stroke(smooth(dots("55,-13 44,-9 30,-10 20,-14"), closed=False), 0.8),
        stroke(egg(50, -18, 0.8, 0.6), 0.4),
        Mark(egg(24, -8, 4, 2.6), "#d98d78", 0, detail=2, shade=0),
    ]
    arm = ribbon(dots("16,2 32,12 52,8" if swimming else "16,0 26,14 40,16"), [13, 9.5, 8.5])
    fingers = [stroke(np.array([(50, 8 + k), (58, 8 + 2.4 * k)]), 0.6) for k in (-1.5, 0.5, 2.5)] if swimming else []
    return [*marks, Mark(arm, MOSS, 0.8), *fingers]


def _toad_eye(x: float, y: float, r: float, state: str) -> Drawing:
    lid = Mark(egg(x, y, r, r), MOSS, 0.8)
    if state == "shut":
        return [lid, stroke(arc(x, y, r * 0.75, r * 0.5, 15, 165), 0.7)]
    return [
        lid,
        Mark(egg(x + 1.5, y + 0.5, r * 0.66, r * 0.66), "#f2c84b", 0.5, shade=0.3),
        Mark(egg(x + 2.4, y + 0.6, r * 0.44, r * 0.26), DARK, 0, ink=True, shade=0),
        Mark(egg(x + 4, y - 1.6, r * 0.14, r * 0.14), "#ffffff", 0, raw=True),
        Mark(band(arc(x, y, r * 0.86, r * 0.86, 190, 340, 14), [1.0, 3.2, 1.0]), MOSS_DARK, 0.3),
    ]


def _cap() -> Drawing:
    crown = smooth([(-15, 2), (-14, -10), (0, -15), (15, -10), (15, 2), (0, 4)])
    peak = smooth([(2, 2), (15, 0), (27, 4), (14, 7), (0, 6)])
    return [
        Mark(crown, "#3f5f8c", 0.8),
        Mark(ribbon([(-15, 1), (0, 4.4), (15, 1)], [4, 5, 4]), "#f0b429", 0.5),
        Mark(peak, "#24385c", 0.7),
        Mark(egg(4, -7, 2.6, 2.6), "#f0d48a", 0.4),
    ]
