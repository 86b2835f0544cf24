"""Places where something came or went that touch one another: one figure found in two pieces is shown as one place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from reviews.geometry import Box, Point, bounding_box, overlap

#: How near two boxes lie that touch, as a share of the picture's width and height: a line's breadth, for boxes are cut
#: off at whole pixels of a smaller picture. Chosen here, not measured.
TOUCHING = 0.002
#: What is there on one picture alone; what moved or changed has its own arrow or its own words and stays by itself.
ONE_SIDED = frozenset({"added", "removed"})
_BOXES = ("old", "new", "on_b")


def joined_places(changes: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Join changes of one kind that touch, in the order found; each stands where the first of its parts did."""
    groups: list[list[Mapping[str, Any]]] = []
    for change in changes:
        near = [group for group in groups if any(_touch(part, change) for part in group)]
        if not near:
            groups.append([change])
            continue
        # What touches two that stood apart joins all three.
        near[0].extend([*(part for group in near[1:] for part in group), change])
        groups = [group for group in groups if group not in near[1:]]
    return [{**group[0], **{name: _around(part[name] for part in group) for name in _BOXES}} for group in groups]


def _touch(one: Mapping[str, Any], two: Mapping[str, Any]) -> bool:
    if one["label"] != two["label"] or one["label"] not in ONE_SIDED:
        return False
    return any(
        overlap(Box(**one[name]).grown(TOUCHING, TOUCHING), Box(**two[name])) is not None
        for name in _BOXES
        if one[name] and two[name]
    )


def _around(found: Iterable[Mapping[str, float] | None]) -> dict[str, float] | None:
    boxes = [Box(**box) for box in found if box]
    if not boxes:
        return None
    around = bounding_box([corner for box in boxes for corner in (Point(box.x0, box.y0), Point(box.x1, box.y1))])
    return {"x0": around.x0, "y0": around.y0, "x1": around.x1, "y1": around.y1}
