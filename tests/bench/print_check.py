"""A full print check of a large CMYK file beside merely decoding it with the same library: CPU seconds and memory.

`python -m tests.bench.print_check [--megapixels 87] [--runs 3]` prints the ratio; each is a process of its own.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

DECODE = """
import resource, sys
from reviews.imaging._vips import Image, Region
image = Image.tiffload(sys.argv[1], access="sequential")
region = Region.new(image)
for top in range(0, image.height, 256):
    region.fetch(0, top, image.width, min(256, image.height - top))
"""
CHECK = """
import sys
from pathlib import Path
from reviews.imaging.files.opening import open_picture
from reviews.imaging.limits import Limits
from reviews.imaging.proof.in_child import inks_in
opened = open_picture(Path(sys.argv[1]), Limits(), Path(sys.argv[2]))
print(inks_in(opened, {"px_per_mm": 23.6, "limit": 300, "speck_mm": 2, "thin_mm": 0.75}))
"""


def painted(path: Path, megapixels: float) -> None:
    """Write collage-like CMYK art: soft paint, grain and dark line, so that it compresses as art does."""
    width = round(math.sqrt(megapixels * 2) * 1000)
    height = width // 2
    dice = np.random.default_rng(87)
    plates = [Image.fromarray(dice.uniform(0, 200, (9, 18)).astype(np.float32)) for _ in range(4)]
    soft = np.asarray([np.asarray(plate.resize((width, height))) for plate in plates])
    art = np.moveaxis(soft, 0, -1).astype(np.uint8)
    art[::97, :, 3] = 255
    art += dice.integers(0, 6, (height, width, 1), dtype=np.uint8)
    Image.fromarray(art, "CMYK").save(path, compression="tiff_lzw", dpi=(600, 600))


def run(code: str, *arguments: str) -> tuple[float, float]:
    """Run a piece of code in a process of its own; give its CPU seconds and its peak memory in MB."""
    wrapped = code + (
        "\nimport json, resource\nused = resource.getrusage(resource.RUSAGE_SELF)\n"
        'print("USED", json.dumps([used.ru_utime + used.ru_stime, used.ru_maxrss / 1024]))'
    )
    done = subprocess.run([sys.executable, "-c", wrapped, *arguments], capture_output=True, text=True, check=True)
    seconds, megabytes = json.loads(done.stdout.rsplit("USED", 1)[1])
    return seconds, megabytes


def pairs_of(megapixels: float, runs: int) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Check and decode a painted file in turn; give CPU seconds and megabytes of each run of both."""
    with tempfile.TemporaryDirectory() as folder:
        art = Path(folder) / "art.tif"
        # In a process apart: a child's peak memory counts what its parent had when it was forked.
        again = [sys.executable, "-m", "tests.bench.print_check", "--megapixels", str(megapixels)]
        subprocess.run([*again, "--paint", str(art)], check=True)
        pairs = [(run(CHECK, str(art), folder), run(DECODE, str(art))) for _ in range(runs)]
    return [check for check, _ in pairs], [decode for _, decode in pairs]


def ratio_of(check: list[tuple[float, float]], decode: list[tuple[float, float]]) -> float:
    return statistics.median(c[0] / d[0] for c, d in zip(check, decode, strict=True))


def main() -> None:
    """Measure in turn and print medians and the ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--megapixels", type=float, default=87)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--paint", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.paint:
        painted(options.paint, options.megapixels)
        return
    check, decode = pairs_of(options.megapixels, options.runs)
    ratio = ratio_of(check, decode)
    print(f"decode  {statistics.median(d[0] for d in decode):6.2f} CPU s  {max(d[1] for d in decode):5.0f} MB")
    print(f"check   {statistics.median(c[0] for c in check):6.2f} CPU s  {max(c[1] for c in check):5.0f} MB")
    print(f"ratio   {ratio:6.2f}  (goal: at most 3, in at most 350 MB)")


if __name__ == "__main__":
    main()
