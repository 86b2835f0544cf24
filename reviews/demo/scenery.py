"""Sky, hills, water and everything that grows: the planes a picture is stacked from."""

from collections.abc import Sequence

import numpy as np

from reviews.demo.curves import Pair, chance, fringe, ribbon, smooth
from reviews.demo.growing import tuft
from reviews.demo.marks import Drawing, Hour, Mark, mixed


def sky(width: float, height: float, hour: Hour, horizon: float, bands: int = 14, seed: str = "sky") -> Drawing:
    """Return the sky laid in bands with a wavering edge, darkest at the top, down to the horizon."""
    rng = chance("sky", seed)
    marks: Drawing = [Mark(_box(-2, -2, width + 2, height + 2), hour.sky[0], 0, raw=True, detail=0, plane=1.0, shade=0)]
    for step in range(1, bands + 1):
        share = step / bands
        tint = (
            mixed(hour.sky[0], hour.sky[1], share * 2)
            if share < 0.5
            else mixed(hour.sky[1], hour.sky[2], share * 2 - 1)
        )
        y = horizon * (step / (bands + 1)) ** 0.92
        xs = np.linspace(-4, width + 4, 14)
        edge = smooth(list(zip(xs, y + rng.normal(0, horizon * 0.012, 14), strict=True)), closed=False, steps=6)
        marks.append(
            Mark(
                np.vstack([edge, [(width + 4, height + 4), (-4, height + 4)]]),
                tint,
                0,
                raw=True,
                detail=0,
                plane=1.0,
                shade=0,
            )
        )
    return marks


def _box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], dtype=float)


def hill(
    tops: Sequence[Pair], fill: str, plane: float, floor: float = 262, grass: float = 0.0, seed: str = "hill"
) -> Drawing:
    """Return a hill from its top line; `grass` is the height of the tufts along the edge."""
    ridge = smooth(tops, closed=False, steps=14)
    edge = fringe(ridge, grass, chance("hill", seed), pace=2.6, lean=0.2) if grass else ridge
    shape = np.vstack([edge, [(ridge[-1, 0], floor), (ridge[0, 0], floor)]])
    rng = chance("tufts", seed)
    marks: Drawing = [Mark(shape, fill, 0.7, detail=0, plane=plane, shade=0.75)]
    for _ in range(int((ridge[-1, 0] - ridge[0, 0]) / 9) if plane < 0.6 else 0):
        spot = ridge[rng.integers(len(ridge))] + (rng.uniform(-8, 8), rng.uniform(6, 60))
        marks += tuft(
            (float(spot[0]), float(spot[1])),
            3.4 + grass * 0.7,
            mixed(fill, "#0c1c20" if rng.random() < 0.6 else "#a8c890", 0.35),
            rng,
            plane,
        )
    return marks


def water(y: float, width: float, hour: Hour, seed: str, floor: float = 262, shine: Pair | None = None) -> Drawing:
    """Return a sheet of water from y downward, with lying strokes and perhaps a path of light under `shine`."""
    rng = chance("water", seed)
    marks: Drawing = [Mark(_box(-2, y, width + 2, floor), hour.water, 0.5, detail=0, plane=0.55, shade=0.3)]
    for k in range(44):
        depth = rng.uniform(0, 1) ** 1.4
        yy = y + 2 + depth * (floor - y - 4)
        x, long = rng.uniform(0, width), (6 + 30 * depth) * rng.uniform(0.5, 1.4)
        tint = mixed(hour.water, hour.sky[2] if k % 3 else hour.sky[0], rng.uniform(0.2, 0.5))
        lying = ribbon([(x, yy), (x + long / 2, yy + 0.5), (x + long, yy)], [0.2, 0.5 + 1.6 * depth, 0.2], steps=5)
        marks.append(Mark(lying, tint, 0, detail=2 if k % 4 else 1, plane=0.5 - 0.4 * depth, shade=0))
    return marks + (_light_path(shine, floor, rng) if shine else [])


def _light_path(start: Pair, floor: float, rng: np.random.Generator) -> Drawing:
    marks: Drawing = []
    for k in range(13):
        y = start[1] + (k / 13) ** 1.3 * (floor - start[1])
        half = (3 + 1.3 * k) * rng.uniform(0.6, 1.2)
        x = start[0] + rng.normal(0, 1.5 + 0.3 * k)
        bar = ribbon([(x - half, y), (x, y + 0.6), (x + half, y)], [0.3, 1.2 + 0.16 * k, 0.3], steps=5)
        marks.append(Mark(bar, "#ffe7a6", 0, raw=True, glow=0.35, foil=True, plane=0.4, tone=0.0))
    return marks


def mist(y: float, width: float, tint: str, seed: str, thick: float = 7.0) -> Drawing:
    """Return a long low bank of mist."""
    rng = chance("mist", seed)
    marks: Drawing = []
    for _ in range(3):
        x, long = rng.uniform(-0.1, 0.6) * width, width * rng.uniform(0.3, 0.6)
        yy = y + rng.normal(0, thick * 0.5)
        marks.append(
            Mark(
                ribbon([(x, yy), (x + long * 0.4, yy - 1.5), (x + long, yy)], [0.5, thick, 0.5]),
                tint,
                0,
                raw=True,
                detail=2,
                plane=0.8,
                shade=0,
            )
        )
    return marks


def cloud(w: float, fill: str) -> Drawing:
    """Return a flat-bottomed night cloud."""
    shape = smooth(
        [
            (-w / 2, 0),
            (-w * 0.4, -w * 0.09),
            (-w * 0.2, -w * 0.1),
            (-w * 0.06, -w * 0.2),
            (w * 0.16, -w * 0.18),
            (w * 0.26, -w * 0.08),
            (w * 0.45, -w * 0.06),
            (w / 2, 0),
            (0, w * 0.025),
        ]
    )
    return [Mark(shape, fill, 0.4, raw=True, detail=0, plane=0.95)]
