"""Points, boxes and affine maps of a page: the only place where fraction, pixel and millimetre meet.

A fraction is a place on the picture, x and y in [0, 1], origin top left. A pixel coordinate is the same place times
the picture's width and height (so pixel *edges*, not centres). Millimetres count from the picture's top left corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

RegionKind = Literal["point", "box", "outline"]
# Five decimals of a 7000 px picture are 0.07 px: finer than anyone can point, and short in JSON.
STORED_DECIMALS = 5
MAX_OUTLINE_POINTS = 400
POINTS_OF_KIND = {"point": (1, 1), "box": (2, 2), "outline": (3, MAX_OUTLINE_POINTS)}
MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Point:
    """A place on the picture, as fractions of its width and height."""

    x: float
    y: float


@dataclass(frozen=True)
class Box:
    """An upright rectangle, as fractions of the picture's width and height."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        return max(0.0, self.x1 - self.x0)

    @property
    def height(self) -> float:
        return max(0.0, self.y1 - self.y0)

    @property
    def area(self) -> float:
        return self.width * self.height

    @property
    def centre(self) -> Point:
        return Point((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)

    def clamped(self) -> Box:
        """Cut the box to the picture."""
        return Box(_unit(self.x0), _unit(self.y0), _unit(self.x1), _unit(self.y1))

    def grown(self, by_x: float, by_y: float) -> Box:
        """Push every side outwards, staying on the picture."""
        return Box(self.x0 - by_x, self.y0 - by_y, self.x1 + by_x, self.y1 + by_y).clamped()


@dataclass(frozen=True)
class Region:
    """What a note marks: a point, a box (top left, bottom right) or a closed outline."""

    kind: RegionKind
    points: tuple[Point, ...]

    @property
    def box(self) -> Box:
        return bounding_box(self.points)

    @property
    def centre(self) -> Point:
        return self.box.centre


def _unit(value: float) -> float:
    return min(1.0, max(0.0, value))


def clamp(point: Point) -> Point:
    """Bring a point back onto the picture."""
    return Point(_unit(point.x), _unit(point.y))


def bounding_box(points: Iterable[Point]) -> Box:
    """Find the smallest upright box around the points."""
    held = list(points)
    if not held:
        raise ValueError("There are no points to put a box around.")
    return Box(min(p.x for p in held), min(p.y for p in held), max(p.x for p in held), max(p.y for p in held))


def overlap(one: Box, two: Box) -> Box | None:
    """Find what two boxes share; None when they do not meet."""
    shared = Box(max(one.x0, two.x0), max(one.y0, two.y0), min(one.x1, two.x1), min(one.y1, two.y1))
    return shared if shared.x0 < shared.x1 and shared.y0 < shared.y1 else None


def region_from_json(raw: Any) -> Region:
    """Read a stored or submitted region; raises ValueError with a sentence when it is not one."""
    if not isinstance(raw, dict) or raw.get("kind") not in tuple(POINTS_OF_KIND):
        raise ValueError("A marked place is a point, a box or an outline.")
    kind, points = raw["kind"], raw.get("points")
    least, most = POINTS_OF_KIND[kind]
    if not isinstance(points, list) or not least <= len(points) <= most:
        wanted = f"{least}" if least == most else f"{least} to {most}"
        raise ValueError(f"A marked {kind} has {wanted} point{'' if most == 1 else 's'}.")
    read = tuple(_point_from_json(pair) for pair in points)
    if kind == "box" and not (read[0].x < read[1].x and read[0].y < read[1].y):
        raise ValueError("A marked box goes from its top left corner to its bottom right corner and is not empty.")
    return Region(kind, read)


def _point_from_json(pair: Any) -> Point:
    if not isinstance(pair, list | tuple) or len(pair) != 2:
        raise ValueError("Each point of a marked place has two numbers.")
    for value in pair:
        # bool is an int in Python, and NaN passes no comparison: both would be stored as nonsense.
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
            raise ValueError("A marked place lies on the picture: its numbers are between 0 and 1.")
    return Point(round(float(pair[0]), STORED_DECIMALS), round(float(pair[1]), STORED_DECIMALS))


def region_to_json(region: Region) -> dict[str, Any]:
    """Write a region the way it is stored: {"kind": …, "points": [[x, y], …]}, five decimals."""
    return {
        "kind": region.kind,
        "points": [[round(p.x, STORED_DECIMALS), round(p.y, STORED_DECIMALS)] for p in region.points],
    }


@dataclass(frozen=True)
class Affine:
    """The map (x, y) -> (a x + b y + c, d x + e y + f); the same six numbers, row by row, as a 2 x 3 matrix."""

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float

    def apply(self, point: Point) -> Point:
        return Point(self.a * point.x + self.b * point.y + self.c, self.d * point.x + self.e * point.y + self.f)

    def after(self, first: Affine) -> Affine:
        """Compose: the map that does `first`, then this one."""
        return Affine(
            self.a * first.a + self.b * first.d,
            self.a * first.b + self.b * first.e,
            self.a * first.c + self.b * first.f + self.c,
            self.d * first.a + self.e * first.d,
            self.d * first.b + self.e * first.e,
            self.d * first.c + self.e * first.f + self.f,
        )

    def inverse(self) -> Affine:
        """Return the way back; a map that flattens everything has none (ZeroDivisionError)."""
        size = self.a * self.e - self.b * self.d
        a, b, d, e = self.e / size, -self.b / size, -self.d / size, self.a / size
        return Affine(a, b, -(a * self.c + b * self.f), d, e, -(d * self.c + e * self.f))

    def rows(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        return (self.a, self.b, self.c), (self.d, self.e, self.f)


IDENTITY = Affine(1.0, 0.0, 0.0, 0.0, 1.0, 0.0)


def affine_from_rows(rows: Sequence[Sequence[float]]) -> Affine:
    """Read a 2 x 3 matrix given as two rows."""
    (a, b, c), (d, e, f) = rows
    return Affine(float(a), float(b), float(c), float(d), float(e), float(f))


def map_region(region: Region, carry: Affine) -> Region:
    """Carry a region through a map of fractions. A box stays upright: it becomes the box around its carried corners."""
    if region.kind != "box":
        return Region(region.kind, tuple(clamp(carry.apply(p)) for p in region.points))
    one, two = region.points
    corners = (one, Point(two.x, one.y), two, Point(one.x, two.y))
    box = bounding_box(carry.apply(p) for p in corners).clamped()
    return Region("box", (Point(box.x0, box.y0), Point(box.x1, box.y1)))


def fraction_map(pixel_map: Affine, from_px: tuple[int, int], to_px: tuple[int, int]) -> Affine:
    """Turn a map between pixels of two pictures (width, height each) into a map between their fractions."""
    (w1, h1), (w2, h2) = from_px, to_px
    enlarge = Affine(float(w1), 0.0, 0.0, 0.0, float(h1), 0.0)
    reduce = Affine(1.0 / w2, 0.0, 0.0, 0.0, 1.0 / h2, 0.0)
    return reduce.after(pixel_map).after(enlarge)


def to_pixels(point: Point, width_px: int, height_px: int) -> tuple[float, float]:
    """Give a fraction's place in pixels."""
    return point.x * width_px, point.y * height_px


def from_pixels(x_px: float, y_px: float, width_px: int, height_px: int) -> Point:
    """Give a pixel's place as fractions."""
    return Point(x_px / width_px, y_px / height_px)


@dataclass(frozen=True, kw_only=True)
class PageFrame:
    """How a picture lies on the printed page or opening.

    Parameters
    ----------
    width_px, height_px : size of the picture as it is looked at.
    trim_width_mm, trim_height_mm : one page after trimming.
    bleed_mm : what is drawn beyond the trim on each outer side.
    n_pages_across : 1 for a single page, 2 for an opening; 3 for a cover in one piece (back, spine, front).
    spine_mm : width of the spine, for a cover in one piece.
    sheet_mm : width and height of a printer's whole sheet, where the picture shows one with the page somewhere on it.
    sheet_trim : where the page is on that sheet, None where nothing tells.

    Notes
    -----
    Whether the picture includes the bleed is not written in any file; it is read from the proportions, whichever of
    the two printed sizes is nearer. With no bleed the question does not arise. The picture is taken to fill the
    width exactly, so `mm_per_px` is the printed width over the pixel width.
    """

    width_px: int
    height_px: int
    trim_width_mm: float
    trim_height_mm: float
    bleed_mm: float = 0.0
    n_pages_across: int = 1
    spine_mm: float = 0.0
    sheet_mm: tuple[float, float] | None = None
    sheet_trim: Box | None = None

    @property
    def is_sheet(self) -> bool:
        """Say whether the picture is larger than the page: no edge of it is then an edge of the page."""
        return self.sheet_mm is not None

    @property
    def is_laid(self) -> bool:
        """Say whether it is known where the page is on the picture."""
        return not self.is_sheet or self.sheet_trim is not None

    @property
    def across_mm(self) -> float:
        """Trimmed width of everything the picture shows, spine included."""
        return self.trim_width_mm * min(self.n_pages_across, 2) + self.spine_mm

    @property
    def includes_bleed(self) -> bool:
        if self.bleed_mm <= 0 or self.is_sheet:
            return False
        drawn = math.log(self.width_px / self.height_px)
        with_bleed = (self.across_mm + 2 * self.bleed_mm) / (self.trim_height_mm + 2 * self.bleed_mm)
        return abs(drawn - math.log(with_bleed)) < abs(drawn - math.log(self.across_mm / self.trim_height_mm))

    @property
    def width_mm(self) -> float:
        if self.sheet_mm is not None:
            return self.sheet_mm[0]
        return self.across_mm + (2 * self.bleed_mm if self.includes_bleed else 0.0)

    @property
    def height_mm(self) -> float:
        if self.sheet_mm is not None:
            return self.sheet_mm[1]
        return self.trim_height_mm + (2 * self.bleed_mm if self.includes_bleed else 0.0)

    @property
    def mm_per_px(self) -> float:
        return self.width_mm / self.width_px

    @property
    def ppi(self) -> float:
        """Effective resolution when printed at size."""
        return MM_PER_INCH / self.mm_per_px

    @property
    def trim_box(self) -> Box:
        """The trimmed page on the picture, as fractions; the whole of a sheet on which nothing tells where it is."""
        if self.sheet_trim is not None:
            return self.sheet_trim
        if not self.includes_bleed:
            return Box(0.0, 0.0, 1.0, 1.0)
        x, y = self.bleed_mm / self.width_mm, self.bleed_mm / self.height_mm
        return Box(x, y, 1.0 - x, 1.0 - y)

    @property
    def gutter_x(self) -> float | None:
        """Where the fold of an opening lies, as a fraction of the width; None where no single fold does."""
        return self.trim_box.centre.x if self.n_pages_across == 2 and self.is_laid else None


def page_map(one: PageFrame, two: PageFrame) -> Affine | None:
    """Carry one picture of a page onto another by the page's own edges, whatever is drawn on it.

    None where they do not show the same pages: then no edge of the one is an edge of the other.
    """
    if not (one.is_laid and two.is_laid):
        return None
    if (one.across_mm, one.trim_height_mm) != (two.across_mm, two.trim_height_mm):
        return None
    a, b = one.trim_box, two.trim_box
    wider, taller = (b.x1 - b.x0) / (a.x1 - a.x0), (b.y1 - b.y0) / (a.y1 - a.y0)
    return Affine(wider, 0.0, b.x0 - wider * a.x0, 0.0, taller, b.y0 - taller * a.y0)
