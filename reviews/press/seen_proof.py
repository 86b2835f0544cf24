"""What a photographed or scanned proof shows beside the art, as values. Indicative only, and no measurement."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import hypot

#: Raise the number when the same two pictures would give another map.
SEEN_METHOD = "seen-2"
#: What is left after the cast is marked above this (CIEDE2000), in places at least so wide. Our own starting values,
#: measured on painted pictures photographed by arithmetic (tests/imaging/test_seen_proof.py).
LEAST_SEEN_DE = 6.0
LEAST_PLACE_MM = 4.0
MOST_SEEN = 12
#: A cast of so much may hide what it should show: a press that printed too little of an ink looks the same.
LARGE_CAST = 8.0
#: Light that falls off by less is not worth a word; it is taken out all the same.
LEAST_UNEVEN = 0.08


class NotSeen(StrEnum):
    """Why nothing can be told of a photograph."""

    NOT_LAID = "not-laid"
    NOT_SURE = "not-sure"
    TOO_LITTLE = "too-little"


@dataclass(frozen=True)
class ColourCast:
    """What the overall cast does, in CIELAB: above nought lighter, redder (below: greener), yellower (below: bluer)."""

    lighter: float
    redder: float
    yellower: float

    @property
    def size(self) -> float:
        return hypot(self.lighter, self.redder, self.yellower)


@dataclass(frozen=True, kw_only=True)
class SeenFound:
    """The cast that was taken out, and what is left (CIEDE2000): half of the sheet no more than ``left_de``.

    ``area`` is the share of what was seen in which more is left than may be; ``places`` are boxes of fractions of the
    photograph, largest first; ``seen_share`` how much of the art the photograph shows. ``straightened`` is by how much
    the page's corners were off a plain laying, in per cent of the width, before the photograph was put straight;
    ``uneven`` by what share the best lit place is lighter than the worst.
    """

    cast: ColourCast
    left_de: float
    worst_de: float
    area: float
    seen_share: float
    places: tuple[tuple[float, ...], ...]
    straightened: float = 0.0
    uneven: float = 0.0


def sheet_name(art_sha256: str, width_um: int) -> str:
    """Name the sheet that is laid over a photograph, beside the photograph's other renditions."""
    return f"seen-{art_sha256[:16]}-{width_um}-{SEEN_METHOD}.png"
