"""Work on a large picture a few rows at a time, so that memory does not grow with its height."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from reviews.imaging.arrays import Floats32

# Rows worked on at once. At 10 000 px width one array of three float channels is then 30 MB.
STRIP_ROWS = 256


@dataclass(frozen=True)
class Strip:
    """Rows ``top`` to ``bottom`` of a picture, seen with some rows more on each side for filters to reach into."""

    top: int
    bottom: int
    seen_top: int
    seen_bottom: int

    @property
    def seen(self) -> slice:
        """The rows to read."""
        return slice(self.seen_top, self.seen_bottom)

    @property
    def rows(self) -> slice:
        """The rows to write."""
        return slice(self.top, self.bottom)

    @property
    def inner(self) -> slice:
        """Where the rows to write lie among those that were read."""
        return slice(self.top - self.seen_top, self.bottom - self.seen_top)


def row_strips(n_rows: int, margin: int, step: int = STRIP_ROWS) -> Iterator[Strip]:
    """Cut a picture's rows into strips with a margin for filters."""
    for top in range(0, n_rows, step):
        bottom = min(n_rows, top + step)
        yield Strip(top, bottom, max(0, top - margin), min(n_rows, bottom + margin))


def enlarged(small: Floats32, size: tuple[int, int], rows: slice) -> Floats32:
    """Give some rows of what `small` would be when enlarged (bilinear) to size = (width, height)."""
    width, height = size
    at = (np.arange(rows.start, rows.stop) + 0.5) * small.shape[0] / height - 0.5
    at = np.clip(at, 0, small.shape[0] - 1)
    above = np.floor(at).astype(np.int64)
    below = np.minimum(above + 1, small.shape[0] - 1)
    share = (at - above).astype(np.float32).reshape(-1, *[1] * (small.ndim - 1))
    lines = small[above] * (1 - share) + small[below] * share
    return np.asarray(cv2.resize(lines, (width, len(at)), interpolation=cv2.INTER_LINEAR), np.float32)
