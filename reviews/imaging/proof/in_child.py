"""Measure inks on an opened picture. Runs inside the confined child only."""

from __future__ import annotations

from typing import Any

import numpy as np

from reviews.imaging._vips import Region
from reviews.imaging.arrays import Pixels
from reviews.imaging.files.colour import device_8bit
from reviews.imaging.files.opening import Opened
from reviews.imaging.proof import inks

# How a box of fractions is turned as EXIF orientations 1 to 8 turn the picture it lies on.
Box = tuple[float, float, float, float]


class ForwardRows:
    """Rows of a sequential image, asked for in windows that overlap and only move down."""

    def __init__(self, image: Any) -> None:
        self._image = image
        self._region = Region.new(image)
        self._top = 0
        self._held: Pixels = np.empty((0, image.width, image.bands), np.uint8)

    def __call__(self, top: int, bottom: int) -> Pixels:
        """Give the rows from ``top`` to before ``bottom``; what lies above ``top`` is let go."""
        self._held = self._held[top - self._top :]
        self._top = top
        have = top + len(self._held)
        if bottom > have:
            raw = self._region.fetch(0, have, self._image.width, bottom - have)
            fresh = np.frombuffer(raw, np.uint8).reshape(bottom - have, self._image.width, self._image.bands)
            self._held = np.concatenate([self._held, fresh])
        return self._held[: bottom - top]


def inks_in(opened: Opened, request: dict[str, Any]) -> dict[str, Any]:
    """Measure a picture in CMYK, or converted to a printing condition; without either, say so and measure nothing."""
    device = device_8bit(opened.pixels())
    if opened.colour.space != "CMYK":
        if not request.get("condition"):
            return {"ink": None}
        device = _as_printed(device, opened, request["condition"])
    found = inks.measure(
        ForwardRows(device),
        device.width,
        device.height,
        request["px_per_mm"],
        limit=request["limit"],
        speck_mm=request["speck_mm"],
        thin_mm=request["thin_mm"],
    )
    area_over, places = inks.over_limit(found)
    thin, thin_places = inks.thin_black(found)
    turn = opened.facts.orientation
    return {
        "ink": {
            "highest": found.highest,
            "area_over": area_over,
            "places": [turned(box, turn) for box in places],
            "thin_black": thin,
            "thin_places": [turned(box, turn) for box in thin_places],
        }
    }


def _as_printed(device: Any, opened: Opened, condition: str) -> Any:
    """Convert to the inks of a printing condition: relative colorimetric with black point compensation."""
    has_profile = opened.colour.profile is not None
    return device.icc_transform(
        condition,
        embedded=has_profile,
        input_profile="srgb",
        intent="relative",
        black_point_compensation=True,
        depth=8,
    )


def turned(box: Box, orientation: int) -> Box:
    """Turn a box with the picture, as EXIF orientation 1 to 8 asks."""
    left, top, right, bottom = box
    if orientation in {5, 6, 7, 8}:
        left, top, right, bottom = top, left, bottom, right
    if orientation in {2, 3, 6, 7}:
        left, right = 1 - right, 1 - left
    if orientation in {3, 4, 7, 8}:
        top, bottom = 1 - bottom, 1 - top
    return left, top, right, bottom
