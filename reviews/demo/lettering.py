"""Letters drawn as shapes, as if cut from paper: our own, no font is used. Only the letters the book needs."""

from dataclasses import replace

import numpy as np

from reviews.demo.curves import Pair, band, egg, smooth
from reviews.demo.marks import Drawing, Mark, darkness, placed
from reviews.demo.props import moon

Strokes = tuple[tuple[bool, tuple[Pair, ...]], ...]  # (curved, points); each letter is 1 high, y down from its top

_C, _S = True, False
LETTERS: dict[str, tuple[float, Strokes]] = {
    "A": (0.78, ((_S, ((0.02, 1), (0.39, 0.0))), (_S, ((0.37, 0.0), (0.78, 1))), (_S, ((0.16, 0.66), (0.62, 0.63))))),
    "D": (
        0.72,
        (
            (_S, ((0.1, 0.02), (0.08, 0.98))),
            (_C, ((0.02, 0.02), (0.46, 0.08), (0.7, 0.46), (0.48, 0.88), (0.03, 0.98))),
        ),
    ),
    "E": (
        0.62,
        (
            (_S, ((0.1, 0.0), (0.08, 1))),
            (_S, ((0.06, 0.04), (0.58, 0.02))),
            (_S, ((0.08, 0.5), (0.48, 0.47))),
            (_S, ((0.06, 0.97), (0.6, 0.96))),
        ),
    ),
    "F": (0.6, ((_S, ((0.1, 0.0), (0.08, 1))), (_S, ((0.06, 0.04), (0.58, 0.02))), (_S, ((0.08, 0.5), (0.46, 0.47))))),
    "G": (
        0.8,
        (
            (_C, ((0.7, 0.16), (0.42, 0.0), (0.08, 0.3), (0.12, 0.8), (0.48, 1.0), (0.72, 0.84), (0.72, 0.58))),
            (_S, ((0.46, 0.57), (0.76, 0.56))),
        ),
    ),
    "H": (
        0.76,
        ((_S, ((0.1, 0.0), (0.08, 1))), (_S, ((0.66, 0.02), (0.68, 0.99))), (_S, ((0.08, 0.52), (0.68, 0.48)))),
    ),
    "I": (0.24, ((_S, ((0.12, 0.0), (0.12, 1))),)),
    "J": (0.5, ((_C, ((0.4, 0.0), (0.41, 0.6), (0.34, 0.95), (0.12, 0.98), (0.02, 0.8))),)),
    "L": (0.58, ((_S, ((0.1, 0.0), (0.08, 1))), (_S, ((0.05, 0.96), (0.58, 0.95))))),
    "M": (
        0.98,
        (
            (_S, ((0.1, 0.04), (0.04, 1))),
            (_S, ((0.1, 0.0), (0.48, 0.78))),
            (_S, ((0.46, 0.78), (0.86, 0.0))),
            (_S, ((0.86, 0.04), (0.94, 1))),
        ),
    ),
    "N": (
        0.76,
        ((_S, ((0.1, 0.02), (0.08, 1))), (_S, ((0.09, 0.02), (0.68, 0.97))), (_S, ((0.67, 0.0), (0.68, 0.98)))),
    ),
    "O": (0.86, ((_C, ((0.43, 0.0), (0.1, 0.22), (0.06, 0.7), (0.42, 1.0), (0.76, 0.74), (0.8, 0.26), (0.46, 0.0))),)),
    "P": (
        0.66,
        ((_S, ((0.1, 0.0), (0.08, 1))), (_C, ((0.04, 0.02), (0.5, 0.06), (0.62, 0.3), (0.44, 0.54), (0.06, 0.58)))),
    ),
    "R": (
        0.7,
        (
            (_S, ((0.1, 0.0), (0.08, 1))),
            (_C, ((0.04, 0.02), (0.5, 0.06), (0.6, 0.28), (0.44, 0.5), (0.06, 0.54))),
            (_S, ((0.3, 0.52), (0.68, 1))),
        ),
    ),
    "S": (
        0.64,
        (
            (
                _C,
                (
                    (0.58, 0.14),
                    (0.34, 0.0),
                    (0.08, 0.2),
                    (0.22, 0.44),
                    (0.48, 0.56),
                    (0.58, 0.8),
                    (0.3, 1.0),
                    (0.02, 0.86),
                ),
            ),
        ),
    ),
    "T": (0.7, ((_S, ((0.0, 0.03), (0.7, 0.01))), (_S, ((0.35, 0.02), (0.36, 1))))),
    "U": (0.74, ((_C, ((0.08, 0.0), (0.08, 0.6), (0.2, 0.95), (0.52, 0.96), (0.66, 0.6), (0.66, 0.0))),)),
    "Y": (0.72, ((_S, ((0.02, 0.0), (0.36, 0.52))), (_S, ((0.7, 0.0), (0.35, 0.54))), (_S, ((0.36, 0.48), (0.36, 1))))),
    "1": (0.4, ((_S, ((0.02, 0.2), (0.24, 0.0))), (_S, ((0.24, 0.0), (0.24, 1))))),
    "2": (
        0.6,
        ((_C, ((0.04, 0.2), (0.3, 0.0), (0.54, 0.24), (0.3, 0.6), (0.04, 0.98))), (_S, ((0.04, 0.97), (0.58, 0.96)))),
    ),
    "3": (
        0.58,
        (
            (_C, ((0.06, 0.1), (0.34, 0.0), (0.5, 0.24), (0.24, 0.46))),
            (_C, ((0.24, 0.46), (0.56, 0.66), (0.34, 1.0), (0.02, 0.88))),
        ),
    ),
    "4": (0.62, ((_S, ((0.4, 0.0), (0.02, 0.66))), (_S, ((0.02, 0.66), (0.6, 0.66))), (_S, ((0.42, 0.3), (0.42, 1))))),
    "5": (
        0.58,
        (
            (_S, ((0.52, 0.02), (0.12, 0.03))),
            (_S, ((0.12, 0.03), (0.08, 0.44))),
            (_C, ((0.06, 0.44), (0.44, 0.42), (0.5, 0.8), (0.24, 1.0), (0.02, 0.9))),
        ),
    ),
    "6": (0.6, ((_C, ((0.44, 0.0), (0.1, 0.36), (0.08, 0.8), (0.34, 1.0), (0.54, 0.74), (0.32, 0.5), (0.08, 0.7))),)),
}
LEANS = (-5, 3, -2, 4, -4, 2, 5, -3)


def letter(sign: str, high: float, fill: str, weight: float, line: float, foil: bool) -> tuple[float, Drawing]:
    """Return a letter's width and its shapes, its top left at the origin."""
    wide, strokes = LETTERS[sign]
    marks: Drawing = []
    for curved, points in strokes:
        path = np.asarray(points) * high
        path = smooth(path, closed=False, steps=10) if curved else np.linspace(path[0], path[-1], 7)
        thick = weight * high
        marks.append(
            Mark(
                band(path, [thick * 1.22, thick * 0.92, thick * 1.15], round_ends=False),
                fill,
                line,
                raw=True,
                glow=0.22 if foil else 0.0,
                foil=foil,
                detail=1,
                shade=0,
                tone=None if not foil else 0.05,
                ink=darkness(fill) > 0.7,
            )
        )
    if line:  # the same again without outlines, so that no joint shows inside a letter
        marks += [replace(mark, line=0.0) for mark in marks]
    return wide * high, marks


def words(
    text: str,
    high: float,
    fill: str,
    weight: float = 0.17,
    line: float = 0.0,
    foil: bool = False,
    bounce: float = 0.04,
    moons: bool = False,
) -> Drawing:
    """Return a line of lettering, its middle at the origin; with `moons` the letters O are moons."""
    x = 0.0
    drawn: list[tuple[float, Drawing]] = []
    seen = 0
    for number, sign in enumerate(text):
        if sign == " ":
            x += high * 0.42
            continue
        if sign == "O" and moons:
            seen += 1
            shape = placed(
                moon(high * 0.48, full=seen == 1, glow=0.45), (high * 0.48, high * 0.5), turn=0 if seen == 1 else 155
            )
            wide = high * 0.96
        else:
            wide, shape = letter(sign, high, fill, weight, line, foil)
        shift = bounce * high * (1 if number % 2 else -1)
        drawn.append((x, placed(shape, (0, shift), turn=LEANS[number % 8] * bounce * 14)))
        x += wide + high * 0.16
    return [mark for left, shape in drawn for mark in placed(shape, (left - (x - high * 0.16) / 2, -high / 2))]


def title(size: float = 1.0, fill: str = "#fff1c9", small: str = "#f7c65a", line: float = 0.75) -> Drawing:
    """Return the title on four lines, its middle at the origin, about 150 units wide."""
    rows = (
        ("TANSY", 40.0, -50.0, fill, False),
        ("AND THE", 12.0, -14.0, small, False),
        ("MOON", 40.0, 19.0, fill, True),
        ("IN THE PAIL", 18.0, 56.0, small, False),
    )
    marks: Drawing = []
    for text, high, y, tint, moons in rows:
        marks += placed(words(text, high, tint, 0.2 if high > 20 else 0.17, line, foil=True, moons=moons), (0, y))
    return placed(marks, size=size * 0.82)


def flat_title(size: float = 1.0, fill: str = "#fff1c9", small: str = "#f7c65a") -> Drawing:
    """Return the title on two long lines, its middle at the origin, about 210 units wide."""
    return placed(
        [
            *placed(words("TANSY AND THE", 19, small, 0.18, 0.75, foil=True), (0, -26)),
            *placed(words("MOON", 30, fill, 0.2, 0.75, foil=True, moons=True), (-66, 12)),
            *placed(words("IN THE PAIL", 16, small, 0.18, 0.75, foil=True), (62, 15)),
        ],
        size=size,
    )


def dot(size: float, fill: str) -> Drawing:
    """Return a full stop or bullet."""
    return [Mark(egg(0, 0, size, size), fill, 0, raw=True, foil=True, detail=2)]
