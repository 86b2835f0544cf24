"""Read measured colour: text files of CGATS.17 and ISO 28178, and the tables that share their form.

A file names its columns between BEGIN_DATA_FORMAT and END_DATA_FORMAT and has a row a patch between BEGIN_DATA and
END_DATA. Device values are per cent of ink, colours CIELAB; a table that has XYZ (D50, white 100 or 1) is turned into
CIELAB. Spectra are passed over.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reviews.press.colour_difference import Lab
from reviews.press.refused import CannotPrint

Inks = tuple[float, float, float, float]  # cyan, magenta, yellow, black in per cent

MOST_PATCHES = 20_000  # ten times the largest usual chart; more is no measurement of a proof
_LONGEST_ROW = 4000  # characters: room for a whole spectrum; taking a quoted row apart grows with its square
_FARTHEST_LAB = 1000.0  # no colour lies so far out, and the seventh powers of CIEDE2000 stay finite
_D50 = (96.422, 100.0, 82.521)  # ICC.1: the white of the profile connection space, to three places
_LAB = ("LAB_L", "LAB_A", "LAB_B")
_XYZ = ("XYZ_X", "XYZ_Y", "XYZ_Z")
_CMYK = ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K")
_NAMES = ("SAMPLE_NAME", "SAMPLENAME", "SAMPLE_LOC", "SAMPLE_ID", "SAMPLEID")


@dataclass(frozen=True)
class MeasuredPatch:
    """One measured patch: its name, its inks where the file tells them, its colour."""

    name: str
    inks: Inks | None
    lab: Lab


@dataclass(frozen=True)
class Measured:
    """A measured sheet or a reference set, with what its header says of it."""

    patches: tuple[MeasuredPatch, ...]
    header: dict[str, str]

    @property
    def title(self) -> str:
        """Name the set by its own words, or nothing."""
        return self.header.get("DESCRIPTOR", "") or self.header.get("ORIGINATOR", "")


def read_measured(text: str) -> Measured:
    """Read one table of measured patches; raise CannotPrint with what is missing or wrong, and in which line."""
    lines = [line.strip() for line in text.lstrip("\ufeff").splitlines()]
    columns = _columns(lines)
    rows = list(_rows(lines))
    if not rows:
        raise CannotPrint("no-patches")
    if len(rows) > MOST_PATCHES:
        raise CannotPrint("too-many-patches", n=len(rows), most=MOST_PATCHES)
    header = dict(_header(lines))
    inks_factor = _inks_factor(columns, rows)
    xyz_factor = _xyz_factor(columns, rows)
    return Measured(tuple(_patch(columns, at, row, inks_factor, xyz_factor) for at, row in rows), header)


def _between(lines: Sequence[str], begin: str, end: str) -> Iterator[tuple[int, str]]:
    """Give the numbered lines of the first section of a name; nothing where there is none."""
    inside = False
    for number, line in enumerate(lines, 1):
        if line == end and inside:
            return
        if inside and line and not line.startswith("#"):
            yield number, line
        if line == begin:
            inside = True


def _columns(lines: Sequence[str]) -> list[str]:
    columns = [name for _, line in _between(lines, "BEGIN_DATA_FORMAT", "END_DATA_FORMAT") for name in line.split()]
    if not columns:
        raise CannotPrint("no-columns")
    columns = [name.upper() for name in columns]
    if not (set(_LAB) <= set(columns) or set(_XYZ) <= set(columns)):
        missing = [name for name in _LAB if name not in columns]
        raise CannotPrint("missing-columns", columns=missing)
    some = [name for name in _CMYK if name in columns]
    if some and len(some) < len(_CMYK):
        raise CannotPrint("missing-columns", columns=[name for name in _CMYK if name not in columns])
    return columns


def _rows(lines: Sequence[str]) -> Iterator[tuple[int, list[str]]]:
    for number, line in _between(lines, "BEGIN_DATA", "END_DATA"):
        if len(line) > _LONGEST_ROW:
            raise CannotPrint("bad-row", line=number)
        try:
            yield number, shlex.split(line) if '"' in line else line.split()
        except ValueError as wrong:
            raise CannotPrint("bad-row", line=number) from wrong


def _header(lines: Sequence[str]) -> Iterator[tuple[str, str]]:
    for line in lines:
        if line in {"BEGIN_DATA_FORMAT", "BEGIN_DATA"}:
            return
        key, _, value = line.partition(" ")
        if key.isupper() and value:
            yield key, value.strip().strip('"')


def _number(columns: Sequence[str], name: str, at: int, row: Sequence[str]) -> float:
    try:
        value = float(row[columns.index(name)].replace(",", "."))
    except (ValueError, IndexError) as wrong:
        raise CannotPrint("bad-row", line=at) from wrong
    if value != value or abs(value) == float("inf"):
        raise CannotPrint("bad-row", line=at)
    return value


def _inks_factor(columns: Sequence[str], rows: Sequence[tuple[int, list[str]]]) -> float:
    """Say what turns the ink columns into per cent: some files count from 0 to 1."""
    if _CMYK[0] not in columns:
        return 1.0
    most = max(_number(columns, name, at, row) for at, row in rows for name in _CMYK)
    return 100.0 if 0 < most <= 1.0 else 1.0


def _xyz_factor(columns: Sequence[str], rows: Sequence[tuple[int, list[str]]]) -> float:
    if set(_LAB) <= set(columns):
        return 1.0
    most = max(_number(columns, "XYZ_Y", at, row) for at, row in rows)
    return 100.0 if most <= 1.5 else 1.0


def _patch(columns: Sequence[str], at: int, row: Sequence[str], inks_factor: float, xyz_factor: float) -> MeasuredPatch:
    if len(row) != len(columns):
        raise CannotPrint("bad-row", line=at)
    inks = None
    if _CMYK[0] in columns:
        c, m, y, k = (round(_number(columns, name, at, row) * inks_factor, 4) for name in _CMYK)
        if not all(-0.01 <= ink <= 100.01 for ink in (c, m, y, k)):
            raise CannotPrint("inks-out-of-range", line=at)
        inks = (c, m, y, k)
    if set(_LAB) <= set(columns):
        lab = Lab(*(_number(columns, name, at, row) for name in _LAB))
    else:
        x, y_, z = (_number(columns, name, at, row) * xyz_factor for name in _XYZ)
        lab = lab_of_xyz(x, y_, z)
    if not all(abs(value) <= _FARTHEST_LAB for value in lab):  # also where one is not a number
        raise CannotPrint("bad-row", line=at)
    name = next((row[columns.index(name)] for name in _NAMES if name in columns), str(at))
    return MeasuredPatch(name, inks, lab)


def lab_of_xyz(x: float, y: float, z: float) -> Lab:
    """Turn XYZ under D50 (white 100) into CIELAB, after CIE 15."""
    fx, fy, fz = (_compressed(value / white) for value, white in zip((x, y, z), _D50, strict=True))
    return Lab(116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz))


def _compressed(ratio: float) -> float:
    return float(ratio ** (1 / 3)) if ratio > (6 / 29) ** 3 else ratio / (3 * (6 / 29) ** 2) + 4 / 29
