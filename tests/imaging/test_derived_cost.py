"""Making a picture from large scans stays within bounds: A4 sheets at 300 ppi, in the confined child that makes it."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from reviews.imaging.derived import Derived, join_files, take_ink_from
from tests.imaging.scanned import drawn_on_paper, inked_over_pencil, scan

pytestmark = pytest.mark.slow

A4_PX = (2480, 3508)
MEGABYTE = 1 << 20
# Bounds are a fixed part (the library, numpy, finding the places) and a part per pixel of what is made: sheets and
# canvas mapped from files, one sheet laid, masks. Joining, measured: 407 MB for 16 megapixels, 754 for 58 and 1345 for
# 104; it was 1860 for 58 before. The ink alone, measured: 315 MB for 31 megapixels.
JOIN_MB, JOIN_BYTES_PER_PX = 300, 11
INK_MB, INK_BYTES_PER_PX = 160, 9


def large(small: np.ndarray, width: int, height: int) -> np.ndarray:
    return cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)


def test_joining_a4_sheets_holds_little_more_than_the_picture(tmp_path: Path) -> None:
    width, height = A4_PX
    across = int(width * 1.85)
    drawing = large(drawn_on_paper(across // 2, height // 2, 801), across, height)
    for name, left, turn in (("a.tif", 0, 0.0), ("b.tif", across - width, 0.7)):
        Image.fromarray(scan(drawing, left, 0, width, height, left + 1, turn=turn).picture).save(tmp_path / name)
    made = join_files([tmp_path / "a.tif", tmp_path / "b.tif"], tmp_path / "one.png")
    assert isinstance(made, Derived)
    n_pixels = made.width_px * made.height_px
    assert made.peak_bytes < JOIN_MB * MEGABYTE + JOIN_BYTES_PER_PX * n_pixels
    # Measured 0.25 to 0.3 s a megapixel.
    assert made.cpu_seconds < 1.0 * n_pixels / 1e6


def test_taking_the_pencil_out_holds_little_more_than_the_scan(tmp_path: Path) -> None:
    width, height = A4_PX
    picture = large(inked_over_pencil(width // 2, height // 2, 802, "blue")[0], width, height)
    Image.fromarray(picture).save(tmp_path / "scan.tif")
    made = take_ink_from(tmp_path / "scan.tif", tmp_path / "ink.png")
    assert isinstance(made, Derived)
    n_pixels = width * height
    assert made.peak_bytes < INK_MB * MEGABYTE + INK_BYTES_PER_PX * n_pixels
    assert made.cpu_seconds < 1.0 * n_pixels / 1e6
