"""The array types that every room of imaging shares, each with one meaning."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]  # rows, columns, and channels where there are several; 0 to 255
Bools = NDArray[np.bool_]
Floats32 = NDArray[np.float32]
Floats64 = NDArray[np.float64]
Complexes = NDArray[np.complex64]  # an orientation field: twice the angle, the length how sure
Matrix = NDArray[np.float64]  # 2 x 3 or 3 x 3, acting on (x, y) in pixels
BoxPx = tuple[float, float, float, float]  # left, top, right, bottom

OnProgress = Callable[[float, str], None]  # share done (0 to 1), and what is being done
