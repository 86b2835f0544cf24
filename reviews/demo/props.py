"""The pail with the moon in it, and the other things of the story: moon, stars, sign, lamp, stones."""

import numpy as np

from reviews.demo.curves import Pair, arc, band, chance, egg, ribbon, smooth
from reviews.demo.marks import Drawing, Mark, mixed, placed, stroke

GLOW, GLOW_PALE, TIN, TIN_DARK, WOOD, WOOD_DARK = ("#ffd86b", "#fff3c4", "#8fb0bd", "#5d7f92", "#9a6b45", "#6b4630")


def moon(r: float, full: bool = True, glow: float = 0.8) -> Drawing:
    """Return the moon, its middle at the origin."""
    if not full:
        outer, inner = arc(0, 0, r, r, 60, 300, 40), arc(r * 0.42, 0, r * 0.82, r * 0.86, 292, 68, 34)
        return [Mark(np.vstack([outer, inner]), GLOW_PALE, 0.6, raw=True, glow=glow, foil=True, detail=0, tone=0.0)]
    marks = [Mark(egg(0, 0, r, r, n=48), GLOW_PALE, 0.6, raw=True, glow=glow, foil=True, detail=0, tone=0.0)]
    for x, y, size in ((-0.35, -0.2, 0.2), (0.3, 0.32, 0.27), (0.28, -0.42, 0.12), (-0.3, 0.45, 0.11)):
        marks.append(
            Mark(egg(x * r, y * r, size * r, size * r * 0.9), "#ffe79c", 0.25, raw=True, glow=glow, detail=1, tone=0.04)
        )
    return marks


def halo(r: float, tint: str, sky: str, rings: int = 4) -> Drawing:
    """Return pale rings of light round the moon, widest first, each nearer to the light's own colour than the sky's."""
    return [
        Mark(egg(0, 0, r * k, r * k, n=52), mixed(sky, tint, (n + 1) / rings), 0, raw=True, detail=2, plane=0.95)
        for n, k in enumerate(np.linspace(2.5, 1.25, rings))
    ]


def motes(at: Pair, reach: float, n: int, seed: str) -> Drawing:
    """Return specks of light floating up from the pail."""
    rng = chance("motes", seed)
    marks: Drawing = []
    for _ in range(n):
        x, y = at[0] + rng.normal(0, reach * 0.45), at[1] - abs(rng.normal(0, reach * 0.6))
        size = float(rng.uniform(0.35, 1.1))
        marks.append(
            Mark(egg(float(x), float(y), size, size, n=8), "#ffe9a8", 0, raw=True, glow=0.8, detail=2, plane=0.1)
        )
    return marks


def star(r: float, points: int = 4) -> Drawing:
    """Return a star drawn with a brush: long and short rays."""
    angle = np.linspace(0, 2 * np.pi, points * 2, endpoint=False) - np.pi / 2
    reach = np.where(np.arange(points * 2) % 2 == 0, r, r * 0.3)
    return [
        Mark(
            np.column_stack([np.cos(angle) * reach, np.sin(angle) * reach]),
            "#fff6d0",
            0.25,
            raw=True,
            glow=0.35,
            foil=True,
            detail=1,
            tone=0.0,
        )
    ]


def stars(area: tuple[float, float, float, float], n: int, seed: str, clear: tuple[Pair, ...] = ()) -> Drawing:
    """Return a scatter of stars over x0, y0, x1, y1, keeping away from the places named."""
    rng = chance("stars", seed)
    marks: Drawing = []
    for _ in range(n):
        at = (rng.uniform(area[0], area[2]), rng.uniform(area[1], area[3]))
        if any(np.hypot(at[0] - x, at[1] - y) < 34 for x, y in clear):
            continue
        size = float(rng.choice([0.7, 0.9, 1.3, 2.4, 3.4], p=[0.35, 0.3, 0.18, 0.1, 0.07]))
        if size > 2:
            marks += placed(star(size), at, turn=rng.uniform(-12, 12), plane=1.0)
        else:
            marks.append(
                Mark(
                    egg(*at, size * 0.6, size * 0.6, n=8),
                    "#f4ecc6",
                    0,
                    raw=True,
                    glow=0.2,
                    foil=True,
                    detail=2,
                    plane=1.0,
                    tone=0.0,
                )
            )
    return marks


def pail(lit: bool = True, tip: float = 0.0, handle: str = "up") -> Drawing:
    """Return the pail, 40 units wide at the rim, its rim's middle at (0, 0); the moon shines out of it when lit."""
    side = np.array([(-20, 0), (-15, 36), (15, 36), (20, 0)], dtype=float)
    foot = arc(0, 36, 15, 4, 0, 180, 12)
    body = np.vstack([side[:1], arc(0, 36, 15, 4, 180, 0, 12), side[3:]])
    tops = {
        "up": [(-20, 0), (-17, -22), (0, -32), (17, -22), (20, 0)],
        "down": [(-20, 0), (-19, 9), (0, 15), (19, 9), (20, 0)],
        "left": [(-20, 0), (-30, -12), (-24, -24), (-2, -18), (20, 0)],
    }
    bail = Mark(ribbon(tops[handle], [1.8, 1.8, 3.2, 1.8, 1.8]), TIN_DARK, 0.5)
    water = Mark(
        egg(0, 0, 18.4, 4.8),
        GLOW if lit else "#3a5f80",
        0.4,
        raw=lit,
        glow=1.0 if lit else 0,
        foil=lit,
        tone=0.0 if lit else 0.6,
    )
    shine = [Mark(egg(-3, 0.4, 8, 2.4), GLOW_PALE, 0, raw=True, glow=1.0, tone=0.0)] if lit else []
    bands = [
        Mark(np.vstack([arc(0, y, r, 3.8, 180, 0, 12), arc(0, y + 3, r - 0.4, 3.8, 0, 180, 12)]), TIN_DARK, 0.4)
        for y, r in ((9, 18.6), (25, 16.6))
    ]
    dents = [stroke(np.array([(x, 15), (x * 0.93, 21)]), 0.35, detail=2) for x in (-12, -5, 6, 13)]
    front = [] if handle != "down" else [bail]
    behind = [] if handle == "down" else [bail]
    drawn = [
        Mark(foot, TIN_DARK, 0),
        *behind,
        Mark(body, TIN, 0.9, shade=1.1, detail=0),
        *bands,
        Mark(egg(0, 0, 20, 5.6), TIN_DARK, 0.8),
        water,
        *shine,
        *dents,
        *front,
    ]
    return placed(drawn, turn=tip)


def pail_from_above(r: float, lit: bool = True) -> Drawing:
    """Return the pail looked into from straight above."""
    marks = [
        Mark(egg(0, 0, r * 1.06, r * 1.06, n=60), TIN_DARK, 1.2, detail=0),
        Mark(egg(0, 0, r, r, n=60), TIN, 0.8, detail=0),
        Mark(egg(0, 0, r * 0.93, r * 0.93, n=60), "#27496b" if not lit else "#2a5c86", 0.9, detail=0, shade=1.2),
    ]
    for k, w in ((0.82, 0.5), (0.7, 0.4)):
        marks += [stroke(arc(0, 0, r * k, r * k, a, a + 38), w, detail=2) for a in (15, 120, 220)]
    return marks


def glow_beam(r: float) -> Drawing:
    """Return three flat rings of warm light, as printed from cut paper, to stand behind a pail."""
    return [
        Mark(egg(0, 0, r * k, r * k * 0.94, n=50), tint, 0, raw=True, detail=2, glow=g)
        for k, tint, g in ((1.0, "#35507e", 0.0), (0.72, "#5d6a80", 0.05), (0.46, "#a08b66", 0.12))
    ]


def stone(w: float, h: float, seed: str, fill: str = "#6d7d93") -> Drawing:
    """Return a stone, sitting on the origin."""
    rng = chance("stone", seed)
    angle = np.linspace(0, 2 * np.pi, 9, endpoint=False)
    reach = rng.uniform(0.86, 1.1, 9)
    shape = smooth(np.column_stack([np.cos(angle) * w / 2 * reach, np.sin(angle) * h / 2 * reach - h / 2]))
    cracks = [
        stroke(
            smooth([(w * (k - 0.1), -h * 0.75), (w * k, -h * 0.5), (w * (k - 0.04), -h * 0.35)], closed=False),
            0.3,
            detail=2,
        )
        for k in (-0.15, 0.18)
    ]
    return [Mark(shape, fill, 0.8, detail=0), *cracks]


def signpost(boards: tuple[tuple[Drawing, float, bool], ...]) -> Drawing:
    """Return a post with lettered boards: (lettering, height, points left). The post stands on the origin."""
    marks: Drawing = [Mark(ribbon([(0, 0), (1, -50), (-1, -104)], [9, 8, 7]), WOOD, 0.9, detail=0)]
    marks += [stroke(smooth([(x, -8), (x + 1, -40), (x - 0.5, -84)], closed=False), 0.3, detail=2) for x in (-2, 1.5)]
    for lettering, y, left in boards:
        point = -1 if left else 1
        board = np.array(
            [
                (-34 * point, -10),
                (30 * point, -11),
                (44 * point, 0),
                (30 * point, 11),
                (-34 * point, 10),
                (-31 * point, 0),
            ]
        )
        marks += placed(
            [
                Mark(board.astype(float), "#c79a63", 0.9, detail=0),
                stroke(np.array([(-28, 7.2), (26, 8.2)]), 0.3, detail=2),
                stroke(np.array([(-20, -7.6), (28, -8.2)]), 0.3, detail=2),
            ],
            (6 * point, y),
            turn=-2 * point,
        )
        marks += placed(lettering, (6 * point, y), turn=-2 * point)
    return marks


def lantern_moth_ring(r: float) -> list[Pair]:
    """Return the places of a ring of moths, a little uneven."""
    rng = chance("ring")
    return [
        (float(np.cos(a) * r * rng.uniform(0.85, 1.15)), float(np.sin(a) * r * 0.7 * rng.uniform(0.85, 1.15)))
        for a in np.linspace(0, 2 * np.pi, 9, endpoint=False)
    ]


def ripples(r: float, rings: int = 3, tint: str = "#9fc0dc") -> Drawing:
    """Return rings on water, seen slantwise."""
    return [
        Mark(
            band(arc(0, 0, r * k, r * k * 0.26, start, start + 130, 26), [0.2, 1.1, 0.2]),
            tint,
            0,
            detail=1,
            shade=0,
            plane=0.1,
        )
        for k in np.linspace(0.35, 1, rings)
        for start in (20, 205)
    ]


def door(w: float) -> Drawing:
    """Return Tansy's round front door with its lit window, sill on the origin."""
    frame = np.vstack([arc(0, -w * 0.62, w * 0.56, w * 0.62, 180, 360, 20), np.array([(w * 0.56, 0), (-w * 0.56, 0)])])
    leaf = np.vstack([arc(0, -w * 0.6, w * 0.44, w * 0.5, 180, 360, 20), np.array([(w * 0.44, 0), (-w * 0.44, 0)])])
    planks = [stroke(np.array([(x * w, -w * 1.0), (x * w, -1)]), 0.35, detail=2) for x in (-0.2, 0.05, 0.27)]
    return [
        Mark(frame, WOOD_DARK, 0.7),
        Mark(leaf, "#b5563f", 0.6),
        *planks,
        Mark(egg(0, -w * 0.72, w * 0.16, w * 0.16), GLOW, 0.5, raw=True, glow=0.7, tone=0.0),
        stroke(np.array([(0, -w * 0.88), (0, -w * 0.56)]), 0.4),
        stroke(np.array([(-w * 0.16, -w * 0.72), (w * 0.16, -w * 0.72)]), 0.4),
        Mark(egg(w * 0.3, -w * 0.34, w * 0.04, w * 0.04), GLOW, 0.3),
    ]
