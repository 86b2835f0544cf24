"""What was found on a straightened photograph, told of the photograph as it came in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reviews.geometry import Box, Point, Region, bounding_box, clamp
from reviews.imaging.arrays import Matrix
from reviews.imaging.changes.findings import Alignment, ComparisonResult, FoundChange, TransferredNote


def bent_back(result: ComparisonResult, to_given: Matrix, given: Alignment) -> ComparisonResult:
    """Carry every place on the straightened picture to the one it was made of; places on the approved one stay.

    ``to_given`` maps pixels of the straightened picture to pixels of the other (3 x 3, in perspective).
    """
    straight_px = result.alignment.b_size_px

    def carried(point: Point) -> Point:
        x, y = point.x * straight_px[0] - 0.5, point.y * straight_px[1] - 0.5
        u, v, w = to_given @ np.array([x, y, 1.0])
        return Point((u / w + 0.5) / given.b_size_px[0], (v / w + 0.5) / given.b_size_px[1])

    def box(one: Box) -> Box:
        corners = (Point(x, y) for x in (one.x0, one.x1) for y in (one.y0, one.y1))
        return bounding_box(carried(corner) for corner in corners).clamped()

    def region(one: Region) -> Region:
        if one.kind != "box":
            return Region(one.kind, tuple(clamp(carried(point)) for point in one.points))
        around = box(one.box)
        return Region("box", (Point(around.x0, around.y0), Point(around.x1, around.y1)))

    def change(one: FoundChange) -> FoundChange:
        return replace(one, on_b=box(one.on_b))

    def note(one: TransferredNote) -> TransferredNote:
        return replace(one, by_page=region(one.by_page), on_b=region(one.on_b))

    return replace(
        result,
        alignment=given,
        changes=tuple(change(one) for one in result.changes),
        unsure=tuple(change(one) for one in result.unsure),
        notes=tuple(note(one) for one in result.notes),
    )
