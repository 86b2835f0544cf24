"""Measure the picture engine against the bare library, in one run on the same files.

    python -m tests.bench.engine [FOLDER]

Prints the goals as ratios: first picture to mere decoding, everything to the bare tiler with the same colour
conversion, and twenty options to what their decodes and encodes alone need. CPU is user and system time as the
kernel counts it for each child; starting the interpreter and loading the library is left out on both sides.
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from statistics import median
from typing import Any

# The bare library is given the same threads as the engine's child, before it is loaded.
os.environ.setdefault("VIPS_CONCURRENCY", "2")

from reviews.imaging._vips import Image, Region
from reviews.imaging.child import sandbox
from reviews.imaging.files.icc import is_srgb
from reviews.imaging.limits import Limits
from reviews.imaging.results import Refusal
from tests.bench.engine_pictures import write_all, write_options

ROUNDS = 3
LOADERS = {".tif": Image.tiffload, ".jpg": Image.jpegload, ".png": Image.pngload}


@dataclass(frozen=True)
class Cost:
    cpu_seconds: float
    peak_mb: float


def in_a_child(work: Callable[[], None]) -> Cost:
    """Run something in a fork of this process and read the kernel's account of it."""
    pid = os.fork()
    if pid == 0:
        status = 1
        try:
            work()
            status = 0
        finally:
            os._exit(status)
    _, status, used = os.wait4(pid, 0)
    if status != 0:
        raise RuntimeError("the measured work failed")
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def written_apart(write: Callable[[Path], Any], folder: Path) -> Any:
    """Let another process make the pictures: the library's threads do not live on in a fork, which then waits."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as apart:
        return apart.submit(write, folder).result()


def opened(path: Path) -> Any:
    return LOADERS[path.suffix](str(path), access="sequential")


def decode(path: Path) -> None:
    """Merely decode: every pixel is asked for once and thrown away."""
    image = opened(path)
    region = Region.new(image)
    for top in range(0, image.height, 256):
        region.fetch(0, top, image.width, min(256, image.height - top))


def decode_by_average(path: Path) -> None:
    opened(path).avg()


def bare_tiler(path: Path, folder: Path) -> None:
    """The library's own tiler as anybody would call it, with the same colour conversion where there is one."""
    image = opened(path)
    profile = image.get("icc-profile-data") if image.get_typeof("icc-profile-data") else None
    if profile is not None and not is_srgb(profile):
        image = image.icc_transform("srgb", embedded=True, intent="relative", black_point_compensation=True)
    image.dzsave(
        str(folder / "bare.zip"),
        layout="iiif3",
        container="zip",
        compression=0,
        tile_size=512,
        overlap=0,
        suffix=".jpg[Q=82,keep=none]",
    )


def ours(path: Path, folder: Path) -> tuple[Cost, Cost]:
    """The engine: what had been spent when the first picture was there, and in all."""
    seen: list[Cost] = []

    def heard(event: dict[str, Any]) -> None:
        seen.append(Cost(event["cpu_seconds"], event["peak_bytes"] / 2**20))

    answer = sandbox.run("render", {"path": str(path), "folder": str(folder)}, Limits(), heard)
    if isinstance(answer, Refusal):
        raise RuntimeError(answer.code)
    return seen[0], Cost(answer["cpu_seconds"], answer["peak_bytes"] / 2**20)


def typical(costs: list[Cost]) -> Cost:
    return Cost(median(c.cpu_seconds for c in costs), max(c.peak_mb for c in costs))


def one_picture(name: str, path: Path, folder: Path) -> None:
    # The contenders take turns within each round, so that a busy machine is busy for all of them.
    rows: dict[str, list[Cost]] = {"decode": [], "avg": [], "tiler": [], "first": [], "all": []}
    for _ in range(ROUNDS):
        rows["decode"].append(in_a_child(lambda: decode(path)))
        rows["avg"].append(in_a_child(lambda: decode_by_average(path)))
        rows["tiler"].append(in_a_child(lambda: bare_tiler(path, folder)))
        first, whole = ours(path, folder)
        rows["first"].append(first)
        rows["all"].append(whole)
    cost = {key: typical(value) for key, value in rows.items()}
    mere = min(cost["decode"].cpu_seconds, cost["avg"].cpu_seconds)
    allowed = 1.15 * mere + 0.3
    print(
        f"{name}: decode {mere:.2f} s; first picture {cost['first'].cpu_seconds:.2f} s of {allowed:.2f} allowed "
        f"({cost['first'].cpu_seconds / allowed:.2f}), peak {cost['first'].peak_mb:.0f} of 250 MB"
    )
    ratio = cost["all"].cpu_seconds / cost["tiler"].cpu_seconds
    print(
        f"    bare tiler {cost['tiler'].cpu_seconds:.2f} s, {cost['tiler'].peak_mb:.0f} MB; everything "
        f"{cost['all'].cpu_seconds:.2f} s = {ratio:.2f}x of 1.20x allowed, peak {cost['all'].peak_mb:.0f} of 350 MB"
    )


def encode_alone(path: Path) -> None:
    """What twenty options need at the very least: each decoded once, and its preview, thumb and tiles encoded."""
    image = opened(path).copy_memory()
    image.resize(2048 / image.width).jpegsave_buffer(Q=88, keep="none")
    image.resize(480 / image.width).jpegsave_buffer(Q=82, keep="none")
    level = image
    while True:
        for top in range(0, level.height, 512):
            for left in range(0, level.width, 512):
                tile = level.crop(left, top, min(512, level.width - left), min(512, level.height - top))
                tile.jpegsave_buffer(Q=82, keep="none")
        if max(level.width, level.height) <= 512:
            return
        level = level.shrink(2, 2, ceil=True).copy_memory()


def twenty_options(folder: Path) -> None:
    paths = written_apart(write_options, folder)
    alone = in_a_child(lambda: [encode_alone(path) for path in paths]).cpu_seconds

    def one(path: Path) -> float:
        with tempfile.TemporaryDirectory(dir=folder) as into:
            return ours(path, Path(into))[1].cpu_seconds

    own, began = time.process_time(), time.monotonic()
    with ThreadPoolExecutor(2) as both_cores:
        spent = sum(both_cores.map(one, paths))
    wall, spent = time.monotonic() - began, spent + time.process_time() - own
    print(
        f"20 options of 3000 px: decodes and encodes alone {alone:.2f} s; fully shown in {spent:.2f} s of CPU "
        f"= {spent / alone:.2f}x of 1.30x allowed; {wall:.2f} s by the clock, {spent / wall:.1f} cores busy"
    )


def main() -> None:
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        for name, path in written_apart(write_all, folder).items():
            one_picture(name, path, folder)
        twenty_options(folder)
    print(f"(largest memory of this process itself {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB)")


if __name__ == "__main__":
    main()
