"""Register of a plate on its art: peak memory and CPU seconds by the size of the piece, each in a process of its own.

`python -m tests.bench.register [--mm 520x310 1100x400]` prints a line per size. The figures are those of the measuring
process; the children that decode are bounded by themselves (see `tests.bench.print_check`).
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys

MEASURE = """
import json, resource, sys
import cv2
import numpy as np
from reviews.imaging.proof.register import measure_shift, px_per_mm_of

def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

wide_mm, high_mm = float(sys.argv[1]), float(sys.argv[2])
per_mm = px_per_mm_of((wide_mm, high_mm))
size = round(high_mm * per_mm), round(wide_mm * per_mm)
dice = np.random.default_rng(5)
plate, art = np.zeros(size, np.uint8), np.full((*size, 3), 190, np.uint8)
off = round(0.5 * per_mm)
for _ in range(60):
    x, y = int(dice.integers(60, size[1] - 60)), int(dice.integers(60, size[0] - 60))
    corners = np.array([(x, y), (x + 50, y + 10), (x + 20, y + 55)], np.int32)
    cv2.fillPoly(plate, [corners + [off, 0]], 255)
    cv2.fillPoly(art, [corners], tuple(int(v) for v in dice.integers(20, 120, 3)))
before = peak()
shift = measure_shift(plate, art, per_mm)
used = resource.getrusage(resource.RUSAGE_SELF)
told = {"px": size, "shift": shift and [shift.right_mm, shift.down_mm], "put": off / per_mm, "peak": peak()}
print("TOLD", json.dumps(told | {"before": before, "cpu": used.ru_utime + used.ru_stime}))
"""


def measured(wide_mm: float, high_mm: float) -> dict[str, float]:
    run = [sys.executable, "-c", MEASURE, str(wide_mm), str(high_mm)]
    done = subprocess.run(run, capture_output=True, text=True, check=True)
    told: dict[str, float] = json.loads(done.stdout.rsplit("TOLD", 1)[1])
    return told


def main() -> None:
    """Measure each size and print what it took."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mm", nargs="+", default=["130x70", "520x310", "1100x400"])
    for size in parser.parse_args().mm:
        wide, high = (float(mm) for mm in size.split("x"))
        told = measured(wide, high)
        print(
            f"{size:>10} mm  {told['px']} px  put {told['put']:.3f} mm, told {told['shift']}  "
            f"{told['cpu']:.1f} CPU s  peak {told['peak']:.0f} MB ({told['before']:.0f} with the pictures alone)"
        )


if __name__ == "__main__":
    main()
