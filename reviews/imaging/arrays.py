"""The array types that every room of imaging shares, each with one meaning."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]  # rows, columns, and channels where there are several; 0 to 255
Bools = NDArray[np.bool_]
Floats32 = NDArray[np.float32]
Floats64 = NDArray[np.float64]
Complexes = NDArray[np.complex64]  # an orientation field: twice the angle, the length how sure
Matrix = NDArray[np.float64]  # 2 x 3 or 3 x 3, acting on (x, y) in pixels
BoxPx = tuple[float, float, float, float]  # left, top, right, bottom

# What is being done, as a code with its values: {"code": "compared-sheets", "one": 1, "two": 2}.
Step = Mapping[str, str | int]
OnProgress = Callable[[float, Step], None]  # share done (0 to 1), and the step that is being done


def no_progress(share: float, step: Step) -> None:
    """Take no notice of how far the work has come."""
