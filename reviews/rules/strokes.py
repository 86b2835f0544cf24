"""What is drawn over the art with a note: strokes as points with pressure, bounded, and how wide each part is drawn.

A stroke is a list of [x, y, pressure]: x and y as fractions of the picture, origin top left, pressure from 0 to 1 as a
pen gives it, and a half where none does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reviews.rules.states import Refused

#: A drawn correction has a few dozen strokes; each is thinned by the page before it is sent.
MOST_STROKES = 60
MOST_POINTS = 4000
_DECIMALS = 4
#: Pressure is kept in steps that can be told apart when drawn.
_LEVELS = 5
#: Of the picture's longer side: the line of no pressure, and what full pressure adds. By eye, on spreads of our own.
_THINNEST, _PRESSED = 0.002, 0.006
#: Around a drawing, so that a straight line too has an area to be shown in.
_MARGIN = 0.005

Strokes = list[list[list[float]]]


@dataclass(frozen=True)
class StrokeRun:
    """A part of a stroke drawn at one width: its points as fractions, the width as a share of the longer side."""

    points: tuple[tuple[float, float], ...]
    width: float


def checked_strokes(raw: Any) -> Strokes:
    """Read submitted strokes; raises Refused where they are none, too many or too long."""
    if not isinstance(raw, list):
        raise Refused("strokes-unreadable")
    if len(raw) > MOST_STROKES:
        raise Refused("strokes-too-many", n=MOST_STROKES)
    n_points = 0
    for stroke in raw:
        if not isinstance(stroke, list) or not stroke:
            raise Refused("strokes-unreadable")
        n_points += len(stroke)
        if n_points > MOST_POINTS:
            raise Refused("strokes-too-long")
    return [[_checked_point(point) for point in stroke] for stroke in raw]


def _checked_point(point: Any) -> list[float]:
    if not isinstance(point, list) or len(point) != 3:
        raise Refused("strokes-unreadable")
    for value in point:
        # bool is an int in Python, and NaN passes no comparison.
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
            raise Refused("strokes-unreadable")
    x, y, pressure = point
    return [round(x, _DECIMALS), round(y, _DECIMALS), round(pressure * (_LEVELS - 1)) / (_LEVELS - 1)]


def box_around(strokes: Strokes) -> dict[str, Any]:
    """Give the place of a drawing as a box, which everything that knows no strokes goes by."""
    xs = [point[0] for stroke in strokes for point in stroke]
    ys = [point[1] for stroke in strokes for point in stroke]
    low = [max(0.0, min(xs) - _MARGIN), max(0.0, min(ys) - _MARGIN)]
    high = [min(1.0, max(xs) + _MARGIN), min(1.0, max(ys) + _MARGIN)]
    return {"kind": "box", "points": [low, high]}


def width_at(pressure: float) -> float:
    """Say how wide a line is drawn, as a share of the picture's longer side."""
    return _THINNEST + _PRESSED * pressure


def runs_of(strokes: Strokes) -> list[StrokeRun]:
    """Split strokes where the pressure changes; neighbours share a point, so that no gap is seen."""
    runs = []
    for stroke in strokes:
        start = 0
        for at in range(1, len(stroke) + 1):
            if at == len(stroke) or stroke[at][2] != stroke[start][2]:
                points = tuple((point[0], point[1]) for point in stroke[start : at + 1])
                runs.append(StrokeRun(points, width_at(stroke[start][2])))
                start = at
    return runs
