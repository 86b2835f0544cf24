"""Paint the demo's files and make what the screens show of them, on every core at once.

The demo reads its own pictures here, before the story is told, so that a picture can be handed in on the
day the story says; the worker finds them read and has nothing left to do.
"""

from __future__ import annotations

import hashlib
import multiprocessing
import os
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reviews.demo.draw import Commission, paint
from reviews.imaging.proof_sheet import facts_of_sheet
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import Refusal
from reviews.rules.states import StageKind


@dataclass(frozen=True)
class Ready:
    """One painted file: where it lies, its SHA-256, and what the engine read in it."""

    commission: Commission
    path: Path
    renditions: Path
    sha256: str
    width_px: int
    height_px: int
    facts: dict[str, Any]


def make_ready(commission: Commission, folder: Path) -> Ready:
    """Paint one file and render it; called in a process of its own."""
    path = paint(commission, folder)
    with path.open("rb") as painted:
        sha256 = hashlib.file_digest(painted, "sha256").hexdigest()
    renditions = folder / f"{sha256}.renditions"
    renditions.mkdir(exist_ok=True)
    made = make_renditions(path, renditions)
    if isinstance(made, Refusal):
        raise RuntimeError(f"The demo's own {path.name} was refused: {made.code}")
    facts = made.kept_facts()
    if commission.stage == StageKind.PROOF:
        facts["sheet"] = facts_of_sheet(path, made.facts)
    return Ready(commission, path, renditions, sha256, made.facts.width_px, made.facts.height_px, facts)


def make_all_ready(commissions: Iterable[Commission], folder: Path) -> Iterator[Ready]:
    """Paint and render everything, as each is done; the big files first, so that no core waits at the end."""
    # A fresh interpreter for each process: image libraries with threads of their own do not survive a fork.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(max_workers=os.cpu_count() or 1, mp_context=context) as pool:
        waiting = [pool.submit(make_ready, one, folder) for one in sorted(commissions, key=_weight, reverse=True)]
        for done in as_completed(waiting):
            yield done.result()


def _weight(commission: Commission) -> int:
    heavy = ("colour", "proof", "ink", "line", "finish", "sketch", "ideas")
    return len(heavy) - heavy.index(commission.stage)
