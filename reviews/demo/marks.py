"""A drawing is a list of marks, back to front; a scene is a drawing with its size, its hour and its light."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from reviews.demo.curves import Pair, Points, chance, turned, wobbled


@dataclass(frozen=True, slots=True)
class Mark:
    """One shape or stroke. `detail` 0 is a big shape, 1 a part, 2 a touch that rough drawings leave out."""

    points: Points
    fill: str | None = None
    line: float = 0.7
    closed: bool = True
    detail: int = 1
    plane: float = 0.0  # 0 near the reader, 1 at the horizon
    shade: float = 1.0  # how round it is modelled in the colour stage
    raw: bool = False  # painted as it is, untouched by the light of the scene (skies, things that shine)
    glow: float = 0.0
    foil: bool = False
    ink: bool = False  # filled solid in line art as well (eyes, dark windows)
    tone: float | None = None  # darkness in pencil work, 0..1; None means from the fill


Drawing = list[Mark]


@dataclass(frozen=True, slots=True)
class Light:
    """One warm light at a place, reaching `radius` millimetres."""

    at: Pair
    radius: float
    colour: str = "#ffcf70"
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class Hour:
    """The colours of one hour of the night."""

    sky: tuple[str, str, str]
    far: str
    middle: str
    near: str
    water: str
    ambient: str
    shadow: str
    haze: str
    line: str = "#1b1a3a"


HOURS = {
    "dusk": Hour(
        ("#2b2f6b", "#8a5f9e", "#f2a98c"), "#6f6aa8", "#4a5a86", "#2c4059", "#5b5f9f", "#a8a2d6", "#2a2558", "#a583ad"
    ),
    "evening": Hour(
        ("#171b4a", "#2f4a86", "#6f86b8"), "#4b639a", "#2f5378", "#1d3b54", "#27497f", "#8494cf", "#151a45", "#5f7cb4"
    ),
    "night": Hour(
        ("#10163a", "#1c3360", "#2f5a86"), "#2f5580", "#234a66", "#16354a", "#1d3f70", "#7085c4", "#0e1338", "#41689c"
    ),
    "small hours": Hour(
        ("#120f33", "#2a2458", "#4a3d7a"), "#40427f", "#2d3a66", "#1c2a49", "#2a2f66", "#7672b8", "#100d30", "#5a5292"
    ),
    "dawn": Hour(
        ("#5a78b8", "#e8a6a0", "#ffdf9e"), "#8fa3c4", "#6d9a8f", "#3f6a5c", "#8fa8cf", "#d6c6d8", "#4a4278", "#f0c4a8"
    ),
}


@dataclass(frozen=True, slots=True)
class Scene:
    """What one picture shows."""

    name: str
    width: float
    height: float
    hour: Hour
    marks: Drawing
    light: Light | None = None
    words: tuple[tuple[float, float, float, int], ...] = field(default=())  # text blocks: x, y, width, lines


def placed(
    drawing: Iterable[Mark],
    at: Pair = (0, 0),
    size: float = 1.0,
    turn: float = 0.0,
    flip: bool = False,
    plane: float | None = None,
) -> Drawing:
    """Return the drawing set down at a place, scaled, turned and perhaps seen from the other side."""
    out = []
    for mark in drawing:
        points = mark.points * (-size if flip else size, size)
        points = turned(points, turn) + at
        out.append(
            replace(
                mark,
                points=points,
                line=mark.line * min(1.6, max(0.45, size)) if mark.line else 0,
                plane=mark.plane if plane is None else plane,
            )
        )
    return out


def recoloured(drawing: Iterable[Mark], fill: str, line: float | None = None) -> Drawing:
    """Return the drawing as a silhouette in one colour."""
    return [
        replace(
            m,
            fill=fill if m.fill and m.closed else m.fill,
            shade=0.2,
            raw=False,
            glow=0.0,
            tone=0.92,
            line=m.line if line is None else line,
        )
        for m in drawing
        if m.detail < 2 and (m.closed or m.line)
    ]


def stroke(points: Points | Sequence[Pair], line: float = 0.6, **more: object) -> Mark:
    """Return an open stroke."""
    return Mark(np.asarray(points, dtype=float), None, line, closed=False, **more)  # type: ignore[arg-type]


def shaky(drawing: Iterable[Mark], amount: float, *seed: object) -> Drawing:
    """Return the drawing redrawn by hand, each mark a little off."""
    rng = chance("shaky", *seed)
    return [replace(mark, points=wobbled(mark.points, amount, rng)) for mark in drawing]


def channels(colour: str) -> tuple[int, int, int]:
    """Return red, green, blue of a #rrggbb colour."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def mixed(one: str, other: str, share: float) -> str:
    """Return a colour `share` of the way from one to the other."""
    pairs = zip(channels(one), channels(other), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)


def darkness(colour: str) -> float:
    """Return how dark a colour looks, 0..1."""
    red, green, blue = channels(colour)
    return 1 - (0.3 * red + 0.59 * green + 0.11 * blue) / 255
