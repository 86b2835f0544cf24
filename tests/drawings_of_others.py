"""Drawings that other people made, as figures of our scenes: Debian's Open Clip Art, where the package is installed.

The outlines are read as vectors, so that everything the generator does to a figure of its own (media, hands, edits,
exact truth) it does to these. What the scene cannot say is left out: see-through shades, blurs, text, pictures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache, partial
from pathlib import Path
from typing import Literal
from xml.etree import ElementTree
from zlib import crc32

import cv2
import numpy as np

from tests.drawings import Colour, Floats, Rng, Stroke

FOLDER = Path("/usr/share/openclipart/svg")
MISSING = "Drawings by others are not installed: apt-get install openclipart-svg"
SUBJECTS = ("animals", "buildings", "education", "food", "people", "plants", "recreation", "transportation/boating",
            "transportation/vehicles")  # fmt: skip
BYTES = range(2_500, 60_000)  # less is a sign, more is a traced photograph
STROKES, POINTS, LEAST_FILLS = range(4, 90), 6_000, 2
SEE_THROUGH = 0.6  # paint thinner than this is shade, which a line drawing does not have
XLINK = "{http://www.w3.org/1999/xlink}href"
# What is fitted on one of them is measured on the other. A folder goes as a whole: its drawings are often of one hand.
Part = Literal["tuning", "others"]
TUNING_OF_EACH = 3  # one folder of so many is for tuning


def is_installed() -> bool:
    return FOLDER.is_dir()


@lru_cache(maxsize=2)
def names(part: Part) -> tuple[str, ...]:
    """Return the drawings that may be worth reading, by their path, in one order everywhere."""
    if not is_installed():
        raise FileNotFoundError(MISSING)
    found = (path for subject in SUBJECTS for path in (FOLDER / subject).rglob("*.svg"))
    every = sorted(str(p.relative_to(FOLDER)) for p in found if p.stat().st_size in BYTES)
    return tuple(
        name for name in every if (crc32(str(Path(name).parent).encode()) % TUNING_OF_EACH == 0) == (part == "tuning")
    )


def cast_of(rng: Rng, part: Part, count: int = 26) -> Mapping[str, Callable[[Rng], list[Stroke]]]:
    """Choose drawings for one scene: by name, what gives its strokes in unit coordinates."""
    chosen: dict[str, Callable[[Rng], list[Stroke]]] = {}
    for i in rng.permutation(len(names(part))):
        name = names(part)[int(i)]
        if strokes_of(name):
            chosen[name] = partial(_given, name)
        if len(chosen) == count:
            return chosen
    raise FileNotFoundError(f"Only {len(chosen)} drawings could be read in {FOLDER}.")


def _given(name: str, _: Rng) -> list[Stroke]:
    return list(strokes_of(name))


@lru_cache(maxsize=2048)
def strokes_of(name: str) -> tuple[Stroke, ...]:
    """Read one drawing as strokes about one unit large around its middle; nothing if it is not fit to be a figure."""
    from svgelements import SVG, Shape

    path = FOLDER / name
    try:
        tree = ElementTree.parse(path)
        shapes = [e for e in SVG.parse(str(path), reify=True).elements() if isinstance(e, Shape)]
    except Exception:  # files of twenty years by a thousand hands; one that cannot be read is left out
        return ()
    if any(e.tag.endswith(("}text", "}image", "}use", "}clipPath", "}mask")) for e in tree.iter()):
        return ()
    tones = _gradients(tree)
    strokes = [s for shape in shapes for s in _strokes(shape, tones)]
    if not strokes or sum(len(ring) for s in strokes for ring in (s.points, *s.holes)) > POINTS:
        return ()
    return _fitted(strokes)


def _fitted(strokes: list[Stroke]) -> tuple[Stroke, ...]:
    """Return the strokes at unit size, those inside another marked as inner; nothing if they are no figure."""
    every = np.concatenate([s.points for s in strokes])
    low, high = every.min(0), every.max(0)
    size = float((high - low).max())
    if not size > 0 or float((high - low).min()) < 0.25 * size:
        return ()
    unit = [s.moved(lambda points: (points - (low + high) / 2) / size) for s in strokes]
    unit = [s for s in unit if float(np.ptp(s.points, 0).max()) > 0.02]
    fills = {s.fill for s in unit if s.fill is not None}
    if len(unit) not in STROKES or len(fills) < LEAST_FILLS:
        return ()
    out: list[Stroke] = []
    for stroke in unit:
        is_small = float(np.prod(np.ptp(stroke.points, 0))) < 0.12
        is_inside = any(_lies_in(stroke.points, other.points) for other in out if other.fill is not None)
        out.append(replace(stroke, is_inner=stroke.fill is None or (is_small and is_inside)))
    return tuple(out) if any(s.fill and not s.is_inner for s in out) else ()


def _lies_in(points: Floats, others: Floats) -> bool:
    return bool((points.min(0) >= others.min(0)).all() and (points.max(0) <= others.max(0)).all())


def _strokes(shape: object, tones: Mapping[str, Colour]) -> Iterator[Stroke]:
    """Return a shape's outlines: one painted stroke with its holes, or drawn lines as marks."""
    from svgelements import Path as Outline

    values = shape.values  # type: ignore[attr-defined]
    fill = _colour(shape.fill, values.get("fill"), tones)  # type: ignore[attr-defined]
    thin = _number(values.get("opacity"))
    is_painted = fill is not None and thin * _number(values.get("fill-opacity")) > SEE_THROUGH
    line = getattr(shape.stroke, "value", None)  # type: ignore[attr-defined]
    is_drawn = line is not None and thin * _number(values.get("stroke-opacity")) > SEE_THROUGH
    rings = [ring for part in Outline(shape).as_subpaths() if (ring := _flat(Outline(part))) is not None]
    rings.sort(key=lambda ring: -float(np.prod(np.ptp(ring, 0))))
    if rings and is_painted:
        yield Stroke(rings[0], fill, holes=tuple(rings[1:]))
    elif is_drawn:
        yield from (Stroke(ring, None, False, True) for ring in rings)


def _number(given: object) -> float:
    try:
        return float(str(given)) if given is not None else 1.0
    except ValueError:
        return 1.0


def _colour(seen: object, named: object, tones: Mapping[str, Colour]) -> Colour | None:
    text = str(named or "")
    if text.startswith("url(#"):
        return tones.get(text[5:].split(")")[0].strip("'\""))
    if getattr(seen, "value", None) is None:
        return None
    return int(seen.red), int(seen.green), int(seen.blue)  # type: ignore[attr-defined]


def _gradients(tree: ElementTree.ElementTree) -> dict[str, Colour]:
    """Return each gradient's middle tone by its name: the scene's paints are flat."""
    from svgelements import Color

    own: dict[str, list[Colour]] = {}
    heirs: dict[str, str] = {}
    for element in tree.iter():
        name = element.get("id")
        if not element.tag.endswith("Gradient") or not name:
            continue
        heirs[name] = (element.get(XLINK) or "").lstrip("#")
        for stop in element:
            style = dict(p.split(":", 1) for p in (stop.get("style") or "").replace(" ", "").split(";") if ":" in p)
            shade = Color(style.get("stop-color") or stop.get("stop-color") or "black")
            if shade.value is not None:
                own.setdefault(name, []).append((shade.red, shade.green, shade.blue))
    found = {name: own.get(name) or own.get(parent) for name, parent in heirs.items()}
    return {name: tuple(int(v) for v in np.mean(stops, 0)) for name, stops in found.items() if stops}  # type: ignore[misc]


def _flat(outline: object) -> Floats | None:
    """Return an outline as points, no more than its form needs."""
    segments = [s for s in outline if type(s).__name__ != "Move"]  # type: ignore[attr-defined]
    points: list[tuple[float, float]] = []
    for segment in segments:
        if segment.start is None or segment.end is None:
            continue
        steps = [1.0] if type(segment).__name__ in ("Line", "Close") else np.linspace(0, 1, 17)[1:]
        points += [(float(p.x), float(p.y)) for p in (segment.point(t) for t in steps)]
    ring = np.array(points, np.float64)
    if len(ring) < 3 or not np.isfinite(ring).all():
        return None
    size = float(np.ptp(ring, 0).max())
    if size <= 0:
        return None
    slim = cv2.approxPolyDP((ring / size).astype(np.float32)[:, None], 0.002, True)[:, 0].astype(np.float64) * size
    return slim if len(slim) >= 3 else None
