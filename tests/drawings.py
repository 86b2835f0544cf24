"""Picture-book scenes made by our own code, so that what changed between two versions is known exactly.

A scene is a list of figures in painter's order; a figure is a list of strokes in unit coordinates (x right, y
down, about one unit tall) with a placement that carries units to page millimetres. Everything stays vector until
it is drawn, so a version is drawn once from displaced points and no finished picture is ever resampled.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Colour = tuple[int, int, int]
Rng = np.random.Generator


@dataclass(frozen=True, eq=False)
class Stroke:
    points: Floats
    fill: Colour | None = None
    is_closed: bool = True
    is_inner: bool = False
    holes: tuple[Floats, ...] = ()  # further rings of the same paint, filled by the even-odd rule

    def moved(self, how: Callable[[Floats], Floats]) -> Stroke:
        return replace(self, points=how(self.points), holes=tuple(how(h) for h in self.holes))


@dataclass(frozen=True, eq=False)
class Figure:
    ident: int
    kind: str
    strokes: tuple[Stroke, ...]
    placed: Floats  # 3x3, unit -> page mm


@dataclass(frozen=True, eq=False)
class Scene:
    width_mm: float
    height_mm: float
    sky: Colour
    figures: tuple[Figure, ...]

    def figure(self, ident: int) -> Figure | None:
        return next((f for f in self.figures if f.ident == ident), None)


def similarity(scale: float, degrees: float, dx: float, dy: float) -> Floats:
    angle = np.deg2rad(degrees)
    c, s = scale * np.cos(angle), scale * np.sin(angle)
    return np.array([[c, -s, dx], [s, c, dy], [0, 0, 1]], float)


def apply(matrix: Floats, points: Floats) -> Floats:
    return points @ matrix[:2, :2].T + matrix[:2, 2]


def oval(cx: float, cy: float, rx: float, ry: float, turn: float = 0.0, start: float = 0, stop: float = 360) -> Floats:
    t = np.deg2rad(np.linspace(start, stop, 40, endpoint=stop - start < 360))
    c, s = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
    x, y = rx * np.cos(t), ry * np.sin(t)
    return np.stack([cx + c * x - s * y, cy + s * x + c * y], 1)


def rounded(corners: Iterable[tuple[float, float]], *, is_closed: bool = True, rounds: int = 3) -> Floats:
    """Return the corners cut (Chaikin) into a soft outline."""
    p = np.array(list(corners), float)
    for _ in range(rounds):
        q = np.roll(p, -1, 0) if is_closed else p[1:]
        head = p if is_closed else p[:-1]
        cut = np.stack([0.75 * head + 0.25 * q, 0.25 * head + 0.75 * q], 1).reshape(-1, 2)
        p = cut if is_closed else np.concatenate([p[:1], cut, p[-1:]])
    return p


def straight(*corners: tuple[float, float]) -> Floats:
    return np.array(corners, float)


def tint(rng: Rng, low: int = 60, high: int = 235) -> Colour:
    r, g, b = rng.integers(low, high, 3)
    return int(r), int(g), int(b)


def closed(points: Floats, fill: Colour, inner: bool = False) -> Stroke:
    return Stroke(points, fill, True, inner)


def mark(points: Floats) -> Stroke:
    return Stroke(points, None, False, True)


def eye(x: float, y: float, r: float) -> list[Stroke]:
    return [
        closed(oval(x, y, r, r), (250, 250, 245), True),
        closed(oval(x + r * 0.2, y, r * 0.5, r * 0.5), (25, 20, 30), True),
    ]


def house(rng: Rng) -> list[Stroke]:
    w, h, roof = rng.uniform(0.35, 0.55), rng.uniform(0.3, 0.45), rng.uniform(0.2, 0.4)
    wall, door = tint(rng, 120), rng.uniform(-0.2, 0.1)
    parts = [
        closed(
            straight((w * 0.45, -h - roof * 0.9), (w * 0.7, -h - roof * 0.9), (w * 0.7, 0), (w * 0.45, 0)), tint(rng)
        ),
        closed(straight((-w, -h), (w, -h), (w, 0.5), (-w, 0.5)), wall),
        closed(straight((-w - 0.08, -h), (0.05, -h - roof), (w + 0.08, -h)), tint(rng)),
        closed(rounded([(door, 0.5), (door, 0.1), (door + 0.18, 0.1), (door + 0.18, 0.5)], rounds=1), tint(rng), True),
    ]
    for x in np.linspace(-w * 0.7, w * 0.5, int(rng.integers(2, 4))):
        parts.append(
            closed(
                straight((x, -h * 0.7), (x + 0.14, -h * 0.7), (x + 0.14, -h * 0.25), (x, -h * 0.25)), tint(rng), True
            )
        )
    parts += [mark(straight((-w, y), (w, y))) for y in rng.uniform(0.1, 0.45, 2)]
    return parts


def tree(rng: Rng) -> list[Stroke]:
    trunk = rng.uniform(0.05, 0.1)
    parts = [
        closed(
            rounded([(-trunk, 0.5), (-trunk * 0.7, -0.2), (trunk * 0.7, -0.2), (trunk, 0.5)], rounds=1),
            tint(rng, 60, 140),
        )
    ]
    leaf = tint(rng, 70, 200)
    for _ in range(int(rng.integers(3, 6))):
        x, y, r = rng.uniform(-0.25, 0.25), rng.uniform(-0.42, -0.05), rng.uniform(0.14, 0.24)
        parts.append(closed(bumpy(rng, x, y, r), tuple(int(np.clip(c + rng.integers(-25, 25), 0, 255)) for c in leaf)))  # type: ignore[arg-type]
    for _ in range(4):
        x, y = rng.uniform(-0.25, 0.25), rng.uniform(-0.4, 0)
        parts.append(mark(oval(x, y, 0.06, 0.04, rng.uniform(0, 180), 0, 160)))
    return parts


def bumpy(rng: Rng, x: float, y: float, r: float) -> Floats:
    n = int(rng.integers(7, 12))
    t = np.linspace(0, 2 * np.pi, n, endpoint=False)
    radius = r * rng.uniform(0.75, 1.2, n)
    return rounded(list(zip(x + radius * np.cos(t), y + radius * np.sin(t), strict=True)))


def dormouse(rng: Rng) -> list[Stroke]:
    fur, lean = tint(rng, 110, 210), rng.uniform(-15, 15)
    head, ear = rng.uniform(0.17, 0.23), rng.uniform(0.07, 0.12)
    parts = [
        closed(rounded([(0.2, 0.3), (0.5, 0.15), (0.55, -0.2), (0.65, -0.2), (0.62, 0.25), (0.3, 0.42)]), fur),
        closed(oval(0, 0.15, rng.uniform(0.2, 0.28), 0.34, lean), fur),
        closed(oval(0, 0.2, 0.13, 0.2, lean), tint(rng, 190, 240), True),
    ]
    parts += [closed(oval(s * head * 0.8, -0.38, ear, ear), fur) for s in (-1, 1)]
    parts.append(closed(oval(0, -0.22, head * 1.15, head), fur))
    parts.append(closed(rounded([(-0.2, -0.08), (0.2, -0.08), (0.22, 0.02), (-0.22, 0.02)], rounds=2), tint(rng), True))
    parts += eye(-0.08, -0.26, 0.035) + eye(0.09, -0.26, 0.035)
    parts.append(closed(oval(0, -0.17, 0.03, 0.022), (60, 30, 40), True))
    parts += [closed(oval(s * 0.14, 0.47, 0.1, 0.05), fur) for s in (-1, 1)]
    parts += [mark(straight((s * 0.05, -0.16), (s * 0.26, -0.2 + d))) for s in (-1, 1) for d in (0, 0.06)]
    return parts


def child(rng: Rng) -> list[Stroke]:
    coat, skin, hair = tint(rng), tint(rng, 150, 235), tint(rng, 40, 160)
    arm = rng.uniform(-0.3, 0.15)
    parts = [
        closed(
            rounded([(s * 0.03, 0.2), (s * 0.15, 0.2), (s * 0.17, 0.5), (s * 0.02, 0.5)], rounds=1),
            tint(rng, 40, 140),
        )
        for s in (-1, 1)
    ]
    parts += [
        closed(rounded([(s * 0.12, -0.12), (s * 0.38, arm), (s * 0.4, arm + 0.09), (s * 0.12, 0.02)], rounds=2), coat)
        for s in (-1, 1)
    ]
    parts.append(closed(rounded([(-0.13, -0.17), (0.13, -0.17), (0.24, 0.27), (-0.24, 0.27)], rounds=1), coat))
    parts += [closed(oval(0, y, 0.02, 0.02), tint(rng), True) for y in (-0.07, 0.03, 0.13)]
    parts += [
        closed(oval(0, -0.33, 0.15, 0.17), skin),
        closed(
            rounded(
                [(-0.19, -0.28), (-0.17, -0.5), (0, -0.56), (0.17, -0.5), (0.19, -0.28), (0.1, -0.41), (-0.08, -0.42)]
            ),
            hair,
        ),
    ]
    parts += eye(-0.06, -0.33, 0.026) + eye(0.06, -0.33, 0.026)
    parts.append(mark(oval(0, -0.26, 0.06, 0.035, 0, 20, 160)))
    return parts


def balloon(rng: Rng) -> list[Stroke]:
    w = rng.uniform(0.24, 0.36)
    parts = [
        closed(oval(0, -0.15, w, 0.34), tint(rng)),
        closed(oval(0, -0.15, w * 0.45, 0.34), tint(rng), True),
        closed(straight((-0.1, 0.33), (0.1, 0.33), (0.08, 0.5), (-0.08, 0.5)), tint(rng)),
    ]
    parts += [mark(straight((s * 0.1, 0.33), (s * w * 0.8, 0.06))) for s in (-1, 1)]
    parts += [mark(straight((-0.09, y), (0.09, y))) for y in (0.39, 0.45)]
    return parts


def boat(rng: Rng) -> list[Stroke]:
    bow, mast = rng.uniform(0.45, 0.6), rng.uniform(-0.55, -0.4)
    parts = [
        closed(straight((-0.015, mast), (0.015, mast), (0.015, 0.2), (-0.015, 0.2)), tint(rng, 60, 120)),
        closed(rounded([(0.04, mast + 0.03), (0.42, 0.1), (0.04, 0.13)], rounds=1), tint(rng, 150, 240)),
        closed(rounded([(-0.04, mast + 0.1), (-0.33, 0.1), (-0.04, 0.13)], rounds=1), tint(rng, 150, 240)),
        closed(rounded([(-bow, 0.18), (bow, 0.18), (bow * 0.7, 0.48), (-bow * 0.65, 0.48)], rounds=2), tint(rng)),
    ]
    parts += [closed(oval(x, 0.3, 0.045, 0.045), tint(rng), True) for x in (-0.2, 0, 0.2)]
    parts.append(mark(straight((-bow * 0.9, 0.24), (bow * 0.9, 0.24))))
    return parts


def flower(rng: Rng) -> list[Stroke]:
    n, petal, colour = int(rng.integers(5, 9)), rng.uniform(0.09, 0.14), tint(rng)
    parts = [
        closed(
            rounded([(-0.02, 0.5), (-0.03, 0.1), (-0.01, -0.2), (0.02, -0.2), (0.01, 0.1), (0.02, 0.5)], rounds=2),
            tint(rng, 60, 150),
        )
    ]
    parts += [closed(oval(s * 0.15, 0.25, 0.15, 0.05, -s * 25), tint(rng, 60, 170)) for s in (-1, 1)]
    parts += [
        closed(oval(0.2 * np.cos(t), -0.22 + 0.2 * np.sin(t), petal * 1.2, petal * 0.8, float(np.rad2deg(t))), colour)
        for t in np.linspace(0, 2 * np.pi, n, endpoint=False)
    ]
    parts.append(closed(oval(0, -0.22, 0.1, 0.1), tint(rng, 150, 240), True))
    parts += [mark(straight((-0.02, y), (0.1, y - 0.06))) for y in (0.05, 0.15)]
    return parts


def heron(rng: Rng) -> list[Stroke]:
    body, bend = tint(rng, 120, 220), rng.uniform(0.1, 0.22)
    parts = [mark(straight((s * 0.05, 0.15), (s * 0.05 + 0.02, 0.33), (s * 0.05, 0.5))) for s in (-1, 1)]
    parts.append(
        closed(
            rounded(
                [
                    (0.1, 0.05),
                    (bend, -0.15),
                    (0.02, -0.32),
                    (0.1, -0.47),
                    (0.2, -0.4),
                    (0.12, -0.3),
                    (bend + 0.12, -0.12),
                    (0.22, 0.05),
                ]
            ),
            body,
        )
    )
    parts += [
        closed(rounded([(-0.4, 0.15), (-0.1, -0.12), (0.2, -0.05), (0.2, 0.12), (-0.05, 0.24)]), body),
        closed(rounded([(-0.42, 0.19), (-0.1, -0.02), (0.08, 0.04), (-0.08, 0.17)]), tint(rng, 60, 160), True),
        closed(straight((0.18, -0.44), (0.48, -0.36), (0.19, -0.38)), tint(rng, 150, 240)),
    ]
    parts += eye(0.14, -0.42, 0.025)
    parts += [mark(straight((-0.3 + 0.1 * k, 0.15), (-0.2 + 0.1 * k, 0.06))) for k in range(3)]
    return parts


def snail(rng: Rng) -> list[Stroke]:
    shell = tint(rng)
    parts = [
        closed(
            rounded([(-0.5, 0.4), (-0.3, 0.22), (0.3, 0.25), (0.38, -0.1), (0.5, -0.1), (0.52, 0.2), (0.4, 0.42)]),
            tint(rng, 140, 230),
        )
    ]
    for r, dark in ((0.32, 1.0), (0.21, 0.78), (0.11, 0.55)):  # rings of one colour would be a detail nobody sees
        ring = int(shell[0] * dark), int(shell[1] * dark), shell[2]
        parts.append(closed(oval(-0.05, 0.05, r, r * 0.95), ring, dark < 1))
    parts += [mark(straight((0.42, -0.1), (0.38 + d, -0.32))) for d in (0, 0.12)]
    parts.append(closed(oval(0.45, 0.03, 0.025, 0.025), (25, 20, 30), True))
    return parts


def pail(rng: Rng) -> list[Stroke]:
    w, metal = rng.uniform(0.26, 0.36), tint(rng, 120, 220)
    return [
        mark(oval(0, -0.2, w, 0.28, 0, 180, 359)),
        closed(rounded([(-w, -0.2), (w, -0.2), (w * 0.72, 0.46), (-w * 0.72, 0.46)], rounds=1), metal),
        closed(oval(0, -0.2, w, 0.07), tint(rng, 60, 160)),
        closed(oval(0, -0.19, w * 0.6, 0.04), (245, 240, 200), True),
        mark(straight((-w * 0.9, 0.02), (w * 0.9, 0.02))),
        mark(straight((-w * 0.8, 0.3), (w * 0.8, 0.3))),
    ]


def cloud(rng: Rng) -> list[Stroke]:
    parts = [
        closed(bumpy(rng, x, rng.uniform(-0.06, 0.06), rng.uniform(0.16, 0.24)), tint(rng, 210, 250))
        for x in (-0.3, 0.02, 0.3)
    ]
    return parts + [mark(oval(rng.uniform(-0.3, 0.3), 0.05, 0.1, 0.05, 0, 200, 340)) for _ in range(2)]


def toad(rng: Rng) -> list[Stroke]:
    skin = tint(rng, 80, 190)
    parts = [closed(oval(s * 0.32, 0.3, 0.2, 0.16, s * 20), skin) for s in (-1, 1)]
    parts += [
        closed(oval(0, 0.1, rng.uniform(0.34, 0.44), 0.3), skin),
        closed(oval(0, 0.22, 0.24, 0.15), tint(rng, 180, 240), True),
    ]
    for s in (-1, 1):
        parts += [closed(oval(s * 0.2, -0.2, 0.1, 0.1), skin), *eye(s * 0.2, -0.2, 0.055)]
    parts.append(mark(oval(0, 0.0, 0.24, 0.08, 0, 10, 170)))
    parts += [
        closed(oval(*rng.uniform((-0.25, -0.1), (0.25, 0.05)), 0.03, 0.025), tint(rng, 60, 160), True) for _ in range(4)
    ]
    return parts


Cast = Mapping[str, Callable[[Rng], list[Stroke]]]
FIGURES: Cast = {
    f.__name__: f for f in (house, tree, dormouse, child, balloon, boat, flower, heron, snail, pail, cloud, toad)
}


def make_figure(rng: Rng, ident: int, placed: Floats, kind: str | None = None, cast: Cast = FIGURES) -> Figure:
    name = kind or str(rng.choice(list(cast)))
    flip = np.array([-1.0 if rng.random() < 0.4 else 1.0, 1.0])
    return Figure(ident, name, tuple(s.moved(lambda points: points * flip) for s in cast[name](rng)), placed)


def _hill(rng: Rng, ident: int, width: float, height: float) -> Figure:
    x = np.linspace(-0.3 * width, 1.3 * width, 60)
    y = height * rng.uniform(0.45, 0.85) + sum(
        rng.uniform(2, 12) * np.sin(2 * np.pi * x / (width * rng.uniform(0.2, 0.9)) + rng.uniform(0, 6))
        for _ in range(3)
    )
    outline = np.concatenate([np.stack([x, y], 1), [[1.3 * width, 1.4 * height], [-0.3 * width, 1.4 * height]]])
    return Figure(ident, "hill", (Stroke(outline, tint(rng, 90, 220)),), np.eye(3))


def make_scene(rng: Rng, *, n_figures: int | None = None, n_hills: int | None = None, cast: Cast = FIGURES) -> Scene:
    """Return a double page 500 mm wide (2:1, 16:9 or root two) with 8-18 figures before 1-3 hills."""
    width = 500.0
    height = width / float(rng.choice([2.0, 1.78, 1.41]))
    hills = int(rng.integers(1, 4)) if n_hills is None else n_hills
    count = int(rng.integers(8, 19)) if n_figures is None else n_figures
    figures = [_hill(rng, i + 1, width, height) for i in range(hills)]
    taken: list[Floats] = []
    while len(figures) < hills + count:
        size = float(rng.uniform(36, 105))
        spot = _free_spot(rng, taken, size, width, height)
        taken.append(np.array([*spot, size]))
        placed = similarity(size, rng.uniform(-8, 8), *spot)
        figures.append(make_figure(rng, len(figures) + 1, placed, cast=cast))
    return Scene(width, height, tint(rng, 170, 245), tuple(figures))


def _free_spot(rng: Rng, taken: list[Floats], size: float, width: float, height: float) -> tuple[float, float]:
    """Return the least crowded of a few random spots: figures overlap here and there, as on a real page."""
    spots = rng.uniform((size * 0.4, size * 0.4), (width - size * 0.4, height - size * 0.4), (8, 2))
    room = [min((float(np.hypot(*(s - t[:2])) - 0.5 * (size + t[2])) for t in taken), default=0.0) for s in spots]
    x, y = spots[int(np.argmax(room))]
    return float(x), float(y)
