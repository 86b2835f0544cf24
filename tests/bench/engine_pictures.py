"""Draw the large pictures on which the engine is measured: painted areas, strokes and paper grain, at print size.

    python -m tests.bench.engine_pictures FOLDER

Nothing is committed; the files are the same at every run (fixed seeds).
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
import pyvips
from numpy.typing import NDArray

SEED = 20
SPREAD_PX = (13_200, 6_600)


def painted(width_px: int, height_px: int, seed: int) -> NDArray[np.uint8]:
    """Soft painted areas with 900 strokes and grain; (rows, columns, 3) uint8 RGB."""
    random = np.random.default_rng(seed)
    small = random.random((height_px // 300, width_px // 300, 3), dtype=np.float32)
    ground = cv2.resize(small, (width_px, height_px), interpolation=cv2.INTER_CUBIC)
    canvas = np.clip(ground * 160 + 60, 0, 255).astype(np.uint8)
    for _ in range(900):
        start = random.integers(0, (width_px, height_px))
        bend = random.normal(0, width_px / 60, (4, 2)).cumsum(axis=0)
        points = np.round(start + bend).astype(np.int32)
        shade = tuple(int(v) for v in random.integers(10, 240, 3))
        cv2.polylines(canvas, [points], False, shade, int(random.integers(3, width_px // 250)), cv2.LINE_AA)
    grain = random.normal(0, 3.0, (1024, 1024, 1)).astype(np.float32)
    for top in range(0, height_px, 1024):
        for left in range(0, width_px, 1024):
            part = canvas[top : top + 1024, left : left + 1024]
            part[:] = np.clip(part + grain[: part.shape[0], : part.shape[1]], 0, 255).astype(np.uint8)
    return canvas


def write_all(folder: Path) -> dict[str, Path]:
    """Write the four pictures of the goals and the twenty options, where they are not there yet."""
    files = {
        "CMYK TIFF 13200x6600": folder / "cmyk.tif",
        "16-bit RGB TIFF 13200x6600": folder / "rgb16.tif",
        "JPEG 6000x4500": folder / "photo.jpg",
        "grey PNG 9000x6000": folder / "grey.png",
    }
    if all(path.exists() for path in files.values()):
        return files
    big = pyvips.Image.new_from_array(painted(*SPREAD_PX, SEED)).copy(interpretation="srgb", xres=20, yres=20)
    inks = big.icc_transform("cmyk", input_profile="srgb", intent="relative", black_point_compensation=True)
    inks.tiffsave(str(files["CMYK TIFF 13200x6600"]), compression="lzw")
    deep = (big.cast("float") * 257 + pyvips.Image.gaussnoise(*SPREAD_PX, sigma=40, seed=1)).cast("ushort")
    deep.copy(interpretation="rgb16").tiffsave(
        str(files["16-bit RGB TIFF 13200x6600"]),
        compression="lzw",
        profile="p3",
    )
    photo = pyvips.Image.new_from_array(painted(6000, 4500, SEED + 1)).copy(interpretation="srgb", xres=12, yres=12)
    photo.jpegsave(str(files["JPEG 6000x4500"]), Q=92, profile="p3")
    grey = pyvips.Image.new_from_array(painted(9000, 6000, SEED + 2)[:, :, 1]).copy(interpretation="b-w")
    grey.pngsave(str(files["grey PNG 9000x6000"]))
    return files


def write_options(folder: Path) -> list[Path]:
    """Write twenty 3000 px JPEGs, a hand-in of idea options."""
    paths = [folder / f"option-{n:02}.jpg" for n in range(20)]
    for n, path in enumerate(paths):
        if not path.exists():
            option = pyvips.Image.new_from_array(painted(3000, 2250, SEED + 10 + n)).copy(interpretation="srgb")
            option.jpegsave(str(path), Q=90, profile="srgb")
    return paths


if __name__ == "__main__":
    into = Path(sys.argv[1])
    into.mkdir(parents=True, exist_ok=True)
    for name, path in write_all(into).items():
        print(f"{name}: {path.stat().st_size / 1e6:.0f} MB")
    print(f"{len(write_options(into))} options")
