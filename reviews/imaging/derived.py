"""New pictures made from handed-in ones: files in, a file out, with a recipe that names its sources by hash.

The sources stay the originals; a derived picture can always be made again from them by its recipe. Sheets are decoded
and pictures made in confined children (see `child.sandbox`), so neither a hostile nor a huge scan reaches the worker.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from reviews.imaging.arrays import OnProgress, no_progress
from reviews.imaging.child import sandbox
from reviews.imaging.decode import DEFAULT_LIMITS, unreadable
from reviews.imaging.limits import Limits
from reviews.imaging.results import PencilName, Refusal

# Sheets are worked on at full size up to this side: an A3 sheet at 600 ppi.
MAX_SIDE_PX = 10_000
# Measured: four A3 sheets at 400 ppi take 34 s of CPU, two 14 s. Memory counts without the mapped sheets and canvas.
LIMITS = Limits(wall_seconds=900, cpu_seconds=600, memory_bytes=1_200 << 20)
# The share of the way that is done when the sheets are decoded.
_READ_SHARE = 0.3


__all__ = ["Derived", "Refusal", "join_files", "take_ink_from", "take_page_from", "turn_file"]


@dataclass(frozen=True, kw_only=True)
class Derived:
    """A new picture: where it is, how large, the recipe, and what it cost."""

    path: Path
    width_px: int
    height_px: int
    recipe: dict[str, Any]
    cpu_seconds: float
    peak_bytes: int


def join_files(
    sheets: Sequence[Path], out: Path, *, names: Sequence[str] = (), on_progress: OnProgress = no_progress
) -> Derived | Refusal:
    """Join scans of one drawing into a PNG; `names` are what people call the files, `on_progress` hears how far."""
    return _make("join", sheets, out, names or [path.name for path in sheets], {}, on_progress)


def take_ink_from(
    scan: Path,
    out: Path,
    pencil: PencilName = "",
    *,
    at: Sequence[float] | None = None,
    names: Sequence[str] = (),
    on_progress: OnProgress = no_progress,
) -> Derived | Refusal:
    """Leave only the ink of a scan, as a grey PNG; `at` points at a stroke of the pencil, in shares of its sides."""
    more = {"pencil": pencil, "at": list(at) if at else None}
    return _make("ink", [scan], out, names or [scan.name], more, on_progress)


def take_page_from(path: Path, out: Path, page: int, *, on_progress: OnProgress = no_progress) -> Derived | Refusal:
    """Make a file of its own of one page (from 1) of a PDF or TIFF; what the page holds stays as it is."""
    return _remake("page", path, out, {"page": page - 1}, on_progress)


def turn_file(
    path: Path, out: Path, *, quarters: int, cut: Sequence[int], on_progress: OnProgress = no_progress
) -> Derived | Refusal:
    """Turn a picture clockwise by quarters, then cut its sides by per cent: left, top, right, bottom."""
    return _remake("turn", path, out, {"quarters": quarters, "cut": list(cut)}, on_progress)


def _remake(task: str, path: Path, out: Path, more: dict[str, Any], on_progress: OnProgress) -> Derived | Refusal:
    refused = unreadable(path)
    if refused is not None:
        return refused
    folder = str(out.resolve().parent)
    request = more | {"path": str(path.resolve()), "out": str(out.resolve()), "folder": folder}
    made = sandbox.run(task, request, LIMITS, lambda event: _pass_on(event, on_progress))
    if isinstance(made, Refusal):
        return made
    return Derived(
        path=out,
        width_px=made["width"],
        height_px=made["height"],
        recipe=made["recipe"] | {"sources_sha256": [_sha256(path)]},
        cpu_seconds=made["cpu_seconds"],
        peak_bytes=made["peak_bytes"],
    )


def _make(
    task: str, sheets: Sequence[Path], out: Path, names: Sequence[str], more: dict[str, Any], on_progress: OnProgress
) -> Derived | Refusal:
    """Decode the sheets one after the other, then make the picture; each step in a child of its own."""
    with tempfile.TemporaryDirectory(prefix=".sheets-", dir=out.resolve().parent) as folder:
        read: list[sandbox.Event] = []
        for n, (path, name) in enumerate(zip(sheets, names, strict=True)):
            on_progress(_READ_SHARE * n / len(sheets), {"code": "reading-sheet", "name": name})
            answer = _read(path, Path(folder) / f"{n}.rgb")
            if isinstance(answer, Refusal):
                return replace(answer, values={**answer.values, "sheet": n + 1, "sheet_name": name})
            read.append(answer)
        request = more | {
            "path": str(sheets[0]),
            "names": list(names),
            "out": str(out.resolve()),
            "folder": folder,
            "ppi": _common_ppi(read),
            "sheets": [{key: each[key] for key in ("path", "width", "height")} for each in read],
        }
        made = sandbox.run(task, request, LIMITS, lambda event: _pass_on(event, on_progress))
    if isinstance(made, Refusal):
        return made
    recipe = made["recipe"] | {"sources_sha256": [_sha256(path) for path in sheets]}
    return Derived(
        path=out,
        width_px=made["width"],
        height_px=made["height"],
        recipe=recipe,
        cpu_seconds=sum(each["cpu_seconds"] for each in (*read, made)),
        peak_bytes=max(each["peak_bytes"] for each in (*read, made)),
    )


def _read(path: Path, out: Path) -> sandbox.Event | Refusal:
    """Decode one sheet to a file of raw pixels; one that would have to be reduced is refused instead."""
    refused = unreadable(path)
    if refused is not None:
        return refused
    request = {"path": str(path.resolve()), "longest_px": MAX_SIDE_PX, "out": str(out), "folder": str(out.parent)}
    answer = sandbox.run("read", request, DEFAULT_LIMITS)
    if isinstance(answer, Refusal):
        return answer
    facts = answer["facts"]
    if max(facts["width_px"], facts["height_px"]) > MAX_SIDE_PX:
        size = {"width_px": facts["width_px"], "height_px": facts["height_px"]}
        return Refusal("sheet-too-large", {**size, "most_px": MAX_SIDE_PX})
    return answer | {"path": str(out)}


def _common_ppi(read: Sequence[sandbox.Event]) -> float | None:
    """Give the resolution that all sheets state, or None where they differ or are silent."""
    stated = {each["facts"]["ppi_x"] for each in read}
    return stated.pop() if len(stated) == 1 else None


def _pass_on(event: sandbox.Event, on_progress: OnProgress) -> None:
    if event["event"] == "progress":
        on_progress(_READ_SHARE + (1 - _READ_SHARE) * event["share"], event["step"])


def _sha256(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()
