"""What grows: grass, reeds, trees, ferns and toadstools, and the stump that is Tansy's house."""

import numpy as np

from reviews.demo.curves import Pair, arc, chance, dots, egg, fringe, ribbon, smooth
from reviews.demo.marks import Drawing, Hour, Mark, mixed, placed, stroke


def tuft(at: Pair, high: float, fill: str, rng: np.random.Generator, plane: float = 0.0) -> Drawing:
    """Return a few short blades of grass."""
    blades = []
    for lean in (-0.5, 0.0, 0.6):
        tip = (at[0] + lean * high * rng.uniform(0.6, 1.2), at[1] - high * rng.uniform(0.7, 1.1))
        blades.append(
            Mark(
                ribbon(
                    [(at[0] + lean * 1.2, at[1]), ((at[0] + tip[0]) / 2, (at[1] + tip[1]) / 2 - 0.5), tip],
                    [0.9, 0.8, 0.15],
                    steps=3,
                    round_ends=False,
                ),
                fill,
                0,
                detail=2,
                plane=plane,
                shade=0,
            )
        )
    return blades


def reeds(at: Pair, n: int, high: float, hour: Hour, seed: str, plane: float = 0.0, spread: float = 30.0) -> Drawing:
    """Return a clump of reeds and bulrushes rooted round a place; below plane 0 they are silhouettes."""
    rng = chance("reeds", seed)
    marks: Drawing = []
    base = hour.near if plane < 0 else mixed("#4f7d4a", hour.far, plane * 0.7)
    if plane >= 0:
        dark = mixed(hour.water, hour.sky[0], 0.45)
        marks.append(Mark(egg(at[0], at[1] + 3, spread * 0.62, 3.2), dark, 0, detail=1, plane=plane, shade=0))
    for number in range(n):
        x = at[0] + rng.uniform(-0.5, 0.5) * spread
        tall = high * rng.uniform(0.6, 1.0)
        sway = rng.normal(0.04, 0.13) * tall
        tint = mixed(base, "#14283a" if number % 2 else "#9ab86a", rng.uniform(0, 0.3) if plane >= 0 else 0.1)
        path = [(x, at[1] + 3), (x + sway * 0.25, at[1] - tall * 0.5), (x + sway, at[1] - tall)]
        if number % 3 == 0:
            marks.append(Mark(ribbon(path, [1.5, 1.3, 0.9]), tint, 0.4, plane=plane))
            cob = "#7a4a34" if plane >= 0 else mixed(hour.near, "#000000", 0.25)
            marks.append(_bulrush(x + sway, at[1] - tall, sway * 0.05, cob, plane))
        else:
            marks.append(Mark(ribbon(path, [4.2, 3.6, 0.3], round_ends=False), tint, 0.45, plane=plane))
    return marks


def _bulrush(x: float, y: float, lean: float, fill: str, plane: float) -> Mark:
    return Mark(ribbon([(x, y - 1), (x, y - 8), (x + lean, y - 15)], [3.4, 4.6, 3.6]), fill, 0.5, plane=plane)


def grass(
    y: float, x0: float, x1: float, high: float, fill: str, seed: str, plane: float = -0.1, floor: float = 262
) -> Drawing:
    """Return a foreground bank of grass as one ragged silhouette; an end inside the picture slopes into the ground."""
    xs = np.linspace(x0, x1, 12)
    rng = chance("grass", seed)
    ys = y + rng.normal(0, 2.5, 12)
    away = np.minimum(np.arange(12) / 4 if x0 > 0 else 1.0, np.arange(12)[::-1] / 4 if x1 < 250 else 1.0)
    ys = ys + (floor + high - ys) * (1 - np.clip(away, 0, 1)) ** 1.5
    edge = fringe(smooth(list(zip(xs, ys, strict=True)), closed=False), high, rng, pace=3.2, lean=0.25)
    return [Mark(np.vstack([edge, [(x1, floor), (x0, floor)]]), fill, 0.5, detail=0, plane=plane, shade=0.4)]


def flowers(x0: float, x1: float, y: float, n: int, seed: str, plane: float = 0.0) -> Drawing:
    """Return small meadow flowers on stems along a stretch of ground."""
    rng = chance("flowers", seed)
    marks: Drawing = []
    for number in range(n):
        x, foot, tall = rng.uniform(x0, x1), y + rng.uniform(-3, 12), rng.uniform(8, 17)
        top = (float(x + rng.normal(0, 2)), float(foot - tall))
        petal = ("#f3d7e4", "#fdf3d0", "#b9c8f2", "#f2b8a0")[number % 4]
        marks.append(
            Mark(
                ribbon([(x, foot), (x + 0.6, foot - tall / 2), top], [0.9, 0.8, 0.6], steps=4),
                "#4f7d4a",
                0.25,
                plane=plane,
            )
        )
        turns = np.linspace(0, 2 * np.pi, 5, endpoint=False) + rng.uniform(0, 1)
        marks += [
            Mark(
                egg(top[0] + 1.9 * np.cos(a), top[1] + 1.5 * np.sin(a), 1.5, 1.25, n=10),
                petal,
                0.25,
                plane=plane,
                shade=0.4,
            )
            for a in turns
        ]
        marks.append(Mark(egg(*top, 1.0, 0.9, n=8), "#f0b429", 0, plane=plane, detail=2, shade=0))
    return marks


def poplar(high: float, fill: str, plane: float) -> Drawing:
    """Return a slim tree standing on the origin."""
    crown = smooth(
        [
            (0, -high),
            (high * 0.09, -high * 0.7),
            (high * 0.12, -high * 0.35),
            (high * 0.05, -high * 0.08),
            (-high * 0.06, -high * 0.08),
            (-high * 0.12, -high * 0.4),
            (-high * 0.08, -high * 0.75),
        ]
    )
    return [
        Mark(
            ribbon([(0, 2), (0, -high * 0.2)], [high * 0.05, high * 0.04]),
            mixed(fill, "#140f20", 0.4),
            0.4,
            plane=plane,
        ),
        Mark(crown, fill, 0.6, detail=0, plane=plane),
    ]


def bush(w: float, h: float, fill: str, plane: float, seed: str) -> Drawing:
    """Return a round bush with lobes, sitting on the origin."""
    rng = chance("bush", seed)
    angle = np.linspace(np.pi, 2 * np.pi, 9)
    lobes = [
        (float(np.cos(a) * w / 2 * rng.uniform(0.9, 1.1)), float(np.sin(a) * h * rng.uniform(0.85, 1.1))) for a in angle
    ]
    shape = smooth([*lobes, (w * 0.42, h * 0.1), (0, h * 0.16), (-w * 0.42, h * 0.1)])
    leaves = [
        stroke(
            arc(rng.uniform(-0.35, 0.35) * w, -rng.uniform(0.2, 0.8) * h, w * 0.06, w * 0.05, 180, 350, 8),
            0.4,
            detail=2,
            plane=plane,
        )
        for _ in range(8)
    ]
    return [Mark(shape, fill, 0.7, detail=0, plane=plane), *leaves]


def willow(high: float, hour: Hour, seed: str, plane: float = 0.25) -> Drawing:
    """Return a leaning willow with hanging branches, rooted at the origin."""
    rng = chance("willow", seed)
    bark, leaf = mixed("#6b4a3a", hour.far, plane * 0.5), mixed("#5f8a52", hour.middle, 0.25 + plane * 0.4)
    behind = mixed(leaf, hour.near, 0.45)
    marks: Drawing = []
    for drop in range(20):
        marks += _hanging(rng.uniform(-0.52, 0.58) * high, high, behind, rng, plane + 0.05, drop % 2)
    trunk = ribbon(dots("-0.04,0.03 -0.07,-0.3 0.03,-0.55 0,-0.8") * high, [high * w for w in (0.26, 0.15, 0.12, 0.07)])
    marks.append(Mark(trunk, bark, 0.9, detail=0, plane=plane))
    lobes = ((-0.38, -0.64, 0.19), (0.44, -0.62, 0.21), (-0.2, -0.84, 0.25), (0.26, -0.86, 0.27), (0.03, -0.73, 0.27))
    for number, (x, y, r) in enumerate(lobes):
        crown = egg(x * high, y * high, r * high, r * high * 0.72)
        ragged = crown + rng.normal(0, high * 0.008, crown.shape)
        tint = mixed(leaf, "#a9c474", 0.07 * number)
        marks.append(Mark(smooth(ragged, steps=3), tint, 0.6, detail=0, plane=plane, shade=1.1))
    for drop in range(30):
        tint = mixed(leaf, "#a9c474" if drop % 3 else hour.near, rng.uniform(0.1, 0.4))
        marks += _hanging(rng.uniform(-0.52, 0.58) * high, high, tint, rng, plane, drop % 2)
    return marks


def _hanging(x: float, high: float, fill: str, rng: np.random.Generator, plane: float, leafy: int) -> Drawing:
    """Return one hanging willow branch, longer towards the outside of the tree."""
    top = -high * (0.82 - 0.5 * abs(x / high)) + rng.normal(0, high * 0.04)
    drop = high * rng.uniform(0.26, 0.46)
    path = [(x, top), (x + 0.03 * high, top + drop * 0.5), (x + rng.normal(0.01, 0.02) * high, top + drop)]
    thick = high * (0.026 if leafy else 0.016)
    return [Mark(ribbon(path, [thick * 0.5, thick, 0.3], steps=6), fill, 0.3, detail=1, plane=plane)]


def fern(at: Pair, reach: float, lean: float, fill: str, plane: float = -0.1) -> Drawing:
    """Return one arching fern frond."""
    tip = (at[0] + lean * reach, at[1] - reach * 0.8)
    spine = smooth([at, (at[0] + lean * reach * 0.25, at[1] - reach * 0.6), tip], closed=False, steps=9)
    marks: Drawing = [stroke(spine, 0.9, plane=plane)]
    for k in range(2, len(spine) - 1):
        size = reach * 0.24 * (1 - k / len(spine)) + 1.5
        ahead = spine[k + 1] - spine[k]
        ahead = ahead / max(np.hypot(*ahead), 1e-6)
        for side in (-1, 1):
            across = np.array([-ahead[1], ahead[0]]) * side
            end = spine[k] + across * size + ahead * size * 0.6
            marks.append(
                Mark(
                    ribbon(
                        [tuple(spine[k]), tuple((spine[k] + end) / 2 + ahead), tuple(end)],
                        [size * 0.22, size * 0.34, 0.3],
                        steps=4,
                    ),
                    fill,
                    0.35,
                    plane=plane,
                    detail=1,
                )
            )
    return marks


def mushroom(high: float, cap: str = "#c9584a") -> Drawing:
    """Return a toadstool standing on the origin."""
    top = smooth(
        [
            (-high * 0.5, -high * 0.55),
            (-high * 0.3, -high * 0.95),
            (high * 0.3, -high * 0.95),
            (high * 0.5, -high * 0.55),
            (0, -high * 0.5),
        ]
    )
    spots = [
        Mark(egg(x * high, y * high, high * 0.07, high * 0.06), "#f6e7cf", 0, detail=2, shade=0)
        for x, y in ((-0.22, -0.72), (0.05, -0.85), (0.25, -0.68))
    ]
    return [
        Mark(ribbon([(0, 0), (0, -high * 0.6)], [high * 0.28, high * 0.2]), "#ead9bd", 0.6),
        Mark(top, cap, 0.7),
        *spots,
    ]


def lily(w: float, plane: float = 0.1) -> Drawing:
    """Return a lily pad seen slantwise."""
    return [
        Mark(np.vstack([arc(0, 0, w / 2, w * 0.15, 20, 335, 26), [(0, 0)]]), "#5d8f63", 0.6, plane=plane, detail=1),
        stroke(np.array([(0, 0), (-w * 0.3, w * 0.04)]), 0.3, detail=2, plane=plane),
    ]


def hollow_tree(high: float, hour: Hour) -> Drawing:
    """Return the old stump that is Tansy's house, roots on the origin, without its door."""
    outline = (
        "-0.5,0.03 -0.3,-0.16 -0.26,-0.6 -0.34,-0.92 -0.16,-0.86 -0.04,-1 0.12,-0.84 0.3,-0.94 0.26,-0.55 "
        "0.32,-0.14 0.56,0.03"
    )
    trunk = smooth(dots(outline) * high)
    twig = ribbon(dots("0.2,-0.8 0.4,-1.1 0.5,-1.3") * high, [high * 0.05, high * 0.03, high * 0.01])
    leaves = [
        m
        for x, y in ((0.4, -1.1), (0.5, -1.3), (0.36, -1.26), (0.56, -1.14))
        for m in placed(bush(high * 0.22, high * 0.14, "#587a4c", 0.0, f"{x}"), (x * high, y * high))
    ]
    knot = Mark(egg(-high * 0.12, -high * 0.7, high * 0.028, high * 0.034), hour.near, 0.5)
    return [Mark(twig, "#6b4a3a", 0.7), *leaves, Mark(trunk, "#7d5640", 0.95, detail=0), *_bark(high), knot]


def _bark(high: float) -> Drawing:
    return [
        stroke(smooth(dots("0,-0.2 0.03,-0.5 -0.01,-0.78") * high + (x * high, y * high), closed=False), 0.5, detail=2)
        for x, y in ((-0.2, 0), (-0.1, 0.02), (0.14, 0), (0.21, -0.02), (0.02, -0.12), (-0.15, -0.08))
    ]
