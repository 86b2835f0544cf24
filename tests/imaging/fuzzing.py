"""Damage good pictures in many ways and feed them to the door.

    python -m tests.bench.fuzz 5000

prints how many of that many mutants were accepted and refused, under which codes, and the slowest verdict; of those
accepted every fifth is rendered as a worker would. The test run does the same with fewer (`ROUGHPROOF_FUZZ` sets how
many).
"""

from __future__ import annotations

import random
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from reviews.imaging.decode import check
from reviews.imaging.limits import Limits
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import PictureFacts, Refusal, Renditions
from reviews.pages.wording.pictures import refusal_sentence
from tests.imaging.picture_files import ALLOWED
from tests.imaging.plate_files import WITH_PLATES
from tests.imaging.unusual_tiffs import READ

# Tighter than in service, so that a mutant that announces a huge picture costs the run little.
LIMITS = Limits(max_pixels=20_000_000, wall_seconds=20, cpu_seconds=20, memory_bytes=600 << 20)
RENDERED = 5
KNOWN_CODES = {
    "not-a-picture",
    "truncated",
    "empty",
    "too-many-pixels",
    "unsupported-kind",
    "too-large",
    "took-too-long",
    "damaged",
    "too-many-pages",
    "no-merged-picture",
    "locked",
    "no-such-page",
    "too-much-memory",
    "not-found",
}
_TELLING = (
    b"\x00",
    b"\xff",
    b"\x7f",
    b"\x80",
    b"\xff\xff\xff\xff",
    b"\x00\x00\x00\x00",
    b"\x7f\xff\xff\xff",
    b"\x80\x00\x00\x00",
)


def seeds(folder: Path) -> list[bytes]:
    """One small good file of every form the door takes, two with spot plates, and TIFFs of unusual samples."""
    made = []
    for form, (_, _, write) in {**ALLOWED, **WITH_PLATES, **READ}.items():
        path = folder / form
        write(path)
        made.append(path.read_bytes())
    return made


def mutants(originals: list[bytes], n: int, seed: int) -> Iterator[bytes]:
    """Give n damaged files: bytes changed, cut, doubled, swapped between files, mostly near the headers."""
    dice = random.Random(seed)
    for _ in range(n):
        data = bytearray(dice.choice(originals))
        for _ in range(dice.choice((1, 1, 2, 4, 16))):
            # Two thirds of the damage goes to the first kilobyte, where the headers are.
            at = dice.randrange(min(len(data), 1024) if dice.random() < 0.67 else len(data))
            match dice.randrange(6):
                case 0:
                    data[at] ^= 1 << dice.randrange(8)
                case 1:
                    data[at] = dice.randrange(256)
                case 2:
                    telling = dice.choice(_TELLING)
                    data[at : at + len(telling)] = telling
                case 3:
                    del data[at : at + dice.randrange(1, 40)]
                case 4:
                    data[at:at] = data[at : at + dice.randrange(1, 200)]
                case _:
                    other = dice.choice(originals)
                    data[at : at + 32] = other[at : at + 32]
            data = data or bytearray(b"\x00")
        if dice.random() < 0.15:
            del data[dice.randrange(len(data)) :]
        yield bytes(data)


def feed(n: int, seed: int, folder: Path) -> tuple[Counter[str], float]:
    """Check n mutants; gives the count of each verdict and the slowest in seconds. Raises on anything but a verdict."""
    originals = seeds(folder)

    def one(numbered: tuple[int, bytes]) -> tuple[str, float]:
        number, data = numbered
        path = folder / f"mutant-{number}"
        path.write_bytes(data)
        began = time.monotonic()
        try:
            verdict = verdict_of(check(path, limits=LIMITS))
            if verdict == "accepted" and number % RENDERED == 0:
                verdict = rendered(path, folder / f"rendered-{number}")
        except Exception as problem:
            kept = Path(tempfile.gettempdir()) / f"mutant-{seed}-{number}"
            kept.write_bytes(data)
            raise AssertionError(f"no verdict on mutant {number} of seed {seed}, kept as {kept}") from problem
        path.unlink()
        return verdict, time.monotonic() - began

    with ThreadPoolExecutor(2) as both_cores:
        results = list(both_cores.map(one, enumerate(mutants(originals, n, seed))))
    return Counter(code for code, _ in results), max(seconds for _, seconds in results)


def rendered(path: Path, folder: Path) -> str:
    """Render what was accepted, as a worker does; it ends in pictures or in a refusal with its sentence."""
    folder.mkdir()
    try:
        found = make_renditions(path, folder, limits=LIMITS)
        return "accepted and rendered" if isinstance(found, Renditions) else f"then {verdict_of(found)}"
    finally:
        shutil.rmtree(folder)


def verdict_of(found: PictureFacts | Refusal) -> str:
    if isinstance(found, PictureFacts):
        assert found.width_px > 0 and found.height_px > 0
        return "accepted"
    assert found.code in KNOWN_CODES, found
    said = refusal_sentence(found.code, found.values)
    assert said.endswith(".") and len(said) > 40 and "no words for" not in said, found
    return found.code
