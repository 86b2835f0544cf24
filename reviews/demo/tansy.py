"""Tansy, a dormouse in a mustard scarf, in whatever pose a picture needs. Standing she is about 92 units tall."""

import numpy as np

from reviews.demo.curves import Pair, Points, arc, band, chance, egg, fringe, ribbon, smooth
from reviews.demo.marks import Drawing, Mark, placed, stroke
from reviews.demo.poses import Pose

FUR, FUR_DARK, FUR_LIGHT, CREAM = "#c9783c", "#a55a2a", "#e09a56", "#f6e2bd"
PINK, SCARF, SCARF_DARK, DARK = "#e79a8c", "#f0b429", "#cc8a14", "#1f1726"


def tansy(pose: Pose, held: Drawing | None = None) -> Drawing:
    """Return Tansy in a pose, with what she holds between her body and her near arm."""
    return [
        *_tail(pose.tail),
        *_arm((4, 10), pose.other, near=False),
        *_leg(pose.hips, pose.foot_behind, near=False),
        *_body(pose.hips),
        *_leg(pose.hips, pose.foot, near=True),
        *_scarf_end(pose.scarf),
        *placed(head(pose.eyes, pose.mouth), pose.head, turn=pose.tilt),
        *_scarf_wrap(pose.head),
        *(held or []),
        *_arm((-2, 12), pose.hand, near=True),
    ]


def head(eyes: str = "open", mouth: str = "smile") -> Drawing:
    """Return the head on its own, three-quarter view, facing right, its centre at the origin."""
    skull = smooth(
        [
            (-25, 3),
            (-23, -12),
            (-10, -22),
            (8, -21),
            (19, -12),
            (26, -1),
            (28, 5),
            (22, 12),
            (10, 17),
            (-6, 19),
            (-20, 14),
        ]
    )
    cheek = smooth([(27, 3), (22, 12), (10, 17), (-4, 17.5), (-8, 10), (2, 5), (14, 4), (22, 0)])
    whiskers = [
        stroke(smooth([(17, 7 + k), (4, 9 + 2 * k), (-9, 12 + 5 * k)], closed=False), 0.28, detail=2, plane=0)
        for k in (-1.2, 0, 1.4)
    ]
    return [
        *_ear(11, -21, 8.5, far=True),
        Mark(skull, FUR, 0.9, detail=0),
        *fur(skull, 26, "head"),
        Mark(cheek, CREAM, 0, shade=0.6),
        Mark(egg(-1, 10, 6.5, 4), PINK, 0, detail=2, shade=0),
        *_ear(-12, -19, 11),
        *_eye(9.5, -3.5, 1.0, eyes),
        *_eye(21.5, -4.5, 0.72, eyes),
        *_forelock(),
        Mark(egg(28, 3.4, 2.9, 2.3, 20), "#b9586a", 0.5, shade=0.4),
        stroke(smooth([(27, 5.5), (26, 8), (24, 9.2)], closed=False), 0.45),
        *_mouth(mouth),
        *whiskers,
    ]


def _ear(x: float, y: float, r: float, far: bool = False) -> Drawing:
    return [
        Mark(egg(x, y, r, r * 1.08, -12), FUR_DARK if far else FUR, 0.85),
        Mark(egg(x + 1.2, y + 1.4, r * 0.66, r * 0.72, -12), PINK, 0.35, shade=0.8),
    ]


def _eye(x: float, y: float, size: float, state: str) -> Drawing:
    if state in ("shut", "glad"):
        bow = arc(
            x, y + (2 if state == "glad" else -2), 5 * size, 4.2 * size, *((200, 340) if state == "glad" else (20, 160))
        )
        return [Mark(band(bow, [0.6, 1.6, 0.6]), DARK, 0, shade=0, ink=True)]
    grow = 1.25 if state == "wide" else 1.0
    dx, dy = (1.0, 1.8) if state == "down" else (1.3 * size, -1.8)
    shine = Mark(egg(x + dx * size, y + dy * size, 1.7 * size, 1.9 * size), "#ffffff", 0, detail=1, shade=0, raw=True)
    ball = Mark(egg(x, y, 5.0 * size * grow, 6.0 * size * grow), DARK, 0.4, shade=0, ink=True)
    brow = stroke(
        smooth([(x - 4 * size, y - 9.5), (x, y - 11.5 - grow), (x + 4 * size, y - 9.8)], closed=False), 0.5, detail=2
    )
    spark = Mark(egg(x - 1.6 * size, y + 2.4 * size, 0.8 * size, 0.8 * size), "#fff6d8", 0, detail=2, shade=0, raw=True)
    return [ball, shine, spark, brow] if size == 1.0 else [ball, shine, spark]


def _forelock() -> Drawing:
    return [
        Mark(
            ribbon([(x, -19), (x + dx * 0.4, -23), (x + dx, -25.5 + abs(dx) * 0.3)], [2.8, 2.0, 0.3], steps=5),
            FUR_LIGHT,
            0.3,
            detail=1,
        )
        for x, dx in ((-1, -5), (1.5, 1), (3.5, 6))
    ]


def _mouth(kind: str) -> Drawing:
    if kind in ("oh", "laugh"):
        rx, ry = (2.0, 2.6) if kind == "oh" else (3.8, 3.0)
        return [Mark(egg(21.5, 11.5, rx, ry, 10), "#7c2f3d", 0.5, shade=0.2, ink=True)]
    paths = {
        "smile": [(24, 9.2), (20, 11.6), (15.5, 10.4)],
        "worry": [(24, 9.2), (20.5, 10.2), (18, 12.4)],
        "firm": [(24, 9.2), (20.5, 10.4), (17, 10.2)],
    }
    return [stroke(smooth(paths[kind], closed=False), 0.55)]


def fur(outline: Points, n: int, seed: str) -> Drawing:
    """Return touches of fur inside an outline."""
    rng = chance("fur", seed)
    middle = outline.mean(axis=0)
    marks = []
    for _ in range(n):
        start = middle + (outline[rng.integers(len(outline))] - middle) * rng.uniform(0.35, 0.92)
        if seed == "head" and start[0] > -1:
            continue  # nothing on her face but her face
        length = rng.uniform(2.2, 4.2)
        path = smooth(
            [
                tuple(start),
                (start[0] - length * 0.6, start[1] + length * 0.5),
                (start[0] - length, start[1] + length * 1.1),
            ],
            closed=False,
            steps=4,
        )
        marks.append(
            Mark(
                band(path, [0.2, 0.8, 0.15], round_ends=False),
                FUR_LIGHT if rng.random() < 0.5 else FUR_DARK,
                0,
                detail=2,
                shade=0,
            )
        )
    return marks


def _body(hips: Pair) -> Drawing:
    x, y = hips
    back = smooth(
        [
            (-9, -2),
            (7, -2),
            (14, 14),
            (x + 21, y - 10),
            (x + 20, y + 8),
            (x + 6, y + 16),
            (x - 12, y + 14),
            (x - 20, y + 2),
            (x - 18, y - 14),
            ((x - 34) / 2, (y - 4) / 2),
        ]
    )
    belly = smooth([(6, 4), (13, 14), (x + 19, y - 8), (x + 18, y + 6), (x + 8, y + 12), (x + 2, y), (4, 16)])
    return [Mark(back, FUR, 0.9, detail=0), Mark(belly, CREAM, 0, shade=0.7), *fur(back, 22, "body")]


def _arm(shoulder: Pair, paw: Pair, near: bool) -> Drawing:
    (sx, sy), (px, py) = shoulder, paw
    reach = max(np.hypot(px - sx, py - sy), 1.0)
    bend = np.sqrt(max(0.0, 17.0**2 - (reach / 2) ** 2))
    elbow = ((sx + px) / 2 - (py - sy) / reach * bend * 0.8, (sy + py) / 2 + (px - sx) / reach * bend * 0.8)
    limb = ribbon([shoulder, elbow, paw], [12, 10, 7.5])
    tint = FUR if near else FUR_DARK
    away = np.array([px - elbow[0], py - elbow[1]])
    along = away / max(np.hypot(*away), 1e-6)
    fingers = [
        stroke(
            np.array(
                [
                    (px, py) + along * 1.0 + (-along[1] * k, along[0] * k),
                    (px, py) + along * 4.2 + (-along[1] * k * 1.3, along[0] * k * 1.3),
                ]
            ),
            0.35,
            detail=2,
        )
        for k in (-1.5, 1.5)
    ]
    return [
        Mark(limb, tint, 0.8),
        Mark(egg(px + along[0] * 2, py + along[1] * 2, 5, 4.2), PINK, 0.6, shade=0.6),
        *fingers,
    ]


def _leg(hips: Pair, foot: Pair, near: bool) -> Drawing:
    x, y = hips
    tint = FUR if near else FUR_DARK
    start = (x + (2 if near else -4), y + 4)
    knee = ((start[0] + foot[0]) / 2 + 7, (start[1] + foot[1]) / 2)
    sole = smooth(
        [
            (foot[0] - 6, foot[1] + 3),
            (foot[0] - 5, foot[1] - 3),
            (foot[0] + 4, foot[1] - 4),
            (foot[0] + 15, foot[1] - 1),
            (foot[0] + 16, foot[1] + 3),
            (foot[0] + 4, foot[1] + 4),
        ]
    )
    toes = [
        stroke(np.array([(foot[0] + k, foot[1] - 0.4), (foot[0] + k + 2.4, foot[1] + 2.4)]), 0.35, detail=2)
        for k in (9, 12)
    ]
    return [Mark(ribbon([start, knee, foot], [19, 15, 8]), tint, 0.8), Mark(sole, PINK, 0.7, shade=0.7), *toes]


def _tail(points: tuple[Pair, ...]) -> Drawing:
    path = smooth(points, closed=False, steps=12)
    rng = chance("tail")
    widths = [6, 11, 14, 16, 15, 9, 3]
    plume = band(path, widths)
    ragged = plume + rng.normal(0, 0.7, plume.shape)
    tufts = []
    for k in range(4, len(path) - 2, 2):
        side = 1 if k % 4 else -1
        ahead = path[min(k + 4, len(path) - 1)] - path[k]
        across = np.array([-ahead[1], ahead[0]]) * 0.35 * side
        tufts.append(
            Mark(
                band(
                    smooth(
                        [
                            tuple(path[k] + across * 0.3),
                            tuple(path[k] + across + ahead * 0.4),
                            tuple(path[k] + across * 1.5 + ahead),
                        ],
                        closed=False,
                        steps=4,
                    ),
                    [0.3, 1.1, 0.2],
                    round_ends=False,
                ),
                FUR_LIGHT if side > 0 else FUR_DARK,
                0,
                detail=2,
                shade=0,
            )
        )
    return [Mark(ragged, FUR, 0.8, detail=0), *tufts]


def _scarf_wrap(at: Pair) -> Drawing:
    shift = at[0] * 0.3
    wrap = ribbon([(-15 + shift, -1), (-6 + shift, 6), (6 + shift, 6.5), (16 + shift, 0)], [9, 11, 11, 8])
    folds = [
        stroke(smooth([(x + shift, 1.5), (x + 1.5 + shift, 5), (x + shift, 9)], closed=False, steps=4), 0.4, detail=2)
        for x in (-6, 1, 8)
    ]
    return [Mark(wrap, SCARF, 0.85, shade=1.1), *folds]


def _scarf_end(points: tuple[Pair, ...]) -> Drawing:
    path = smooth(points, closed=False)
    end = path[-1]
    ahead = (path[-1] - path[-3]) / max(np.hypot(*(path[-1] - path[-3])), 1e-6)
    across = np.array([-ahead[1], ahead[0]])
    threads = [
        stroke(np.array([end + across * k, end + across * k * 1.2 + ahead * 5]), 0.5, detail=2)
        for k in (-4, -2, 0, 2, 4)
    ]
    stripes = [
        Mark(
            band(np.array([path[i] - across * 0.1, path[i + 1]]), [9, 9], round_ends=False),
            SCARF_DARK,
            0,
            detail=2,
            shade=0,
        )
        for i in (-6, -10)
    ]
    return [Mark(band(path, [8, 9, 10, 10], round_ends=False), SCARF, 0.8, shade=1.1), *stripes, *threads]


def from_behind(look: float = 0.0) -> Drawing:
    """Return Tansy seen from behind, sitting, her head turned `look` units aside; her seat is at (0, 60)."""
    body = smooth([(-12, 0), (12, 0), (22, 26), (26, 48), (16, 60), (-16, 60), (-26, 48), (-22, 26)])
    skull = smooth(
        [
            (-24 + look, -20),
            (-14 + look, -37),
            (2 + look, -40),
            (18 + look, -34),
            (26 + look, -19),
            (18 + look, -5),
            (0 + look, -1),
            (-18 + look, -5),
        ]
    )
    plume = fringe(smooth([(0, 50), (24, 62), (46, 52), (52, 30)], closed=False, steps=10), 1.5, chance("behind"), 2.5)
    return [
        Mark(
            band(smooth([(0, 52), (24, 62), (46, 52), (52, 30)], closed=False), [8, 13, 15, 14, 5]), FUR, 0.8, detail=0
        ),
        stroke(plume, 0.3, detail=2),
        Mark(body, FUR, 0.9, detail=0),
        *fur(body, 26, "behind"),
        *_ear(-17 + look, -36, 10),
        *_ear(19 + look, -35, 10),
        Mark(skull, FUR, 0.9, detail=0),
        *fur(skull, 18, "nape"),
        Mark(ribbon([(-18, -1), (-6, 5), (8, 5), (19, -2)], [9, 11, 11, 8]), SCARF, 0.85, shade=1.1),
        *_scarf_end(((10, 4), (15, 16), (13, 30), (19, 40))),
    ]
