"""Look at a file for print: its header and its inks, in a confined child, against a piece and limits."""

from __future__ import annotations

from pathlib import Path

from reviews.imaging.child import sandbox
from reviews.imaging.decode import DEFAULT_LIMITS, facts_from, unreadable
from reviews.imaging.limits import Limits
from reviews.imaging.results import PictureFacts, Refusal
from reviews.press import file_check
from reviews.press.file_check import FileFacts, FileReport, InkFound
from reviews.press.flats import Flat
from reviews.press.limits import ArtKind, FileLimits

METHOD = "print-check-1"


def check_for_print(
    path: Path,
    flat: Flat,
    art: ArtKind,
    print_limits: FileLimits,
    *,
    condition: Path | None = None,
    page: int = 0,
    limits: Limits = DEFAULT_LIMITS,
) -> tuple[PictureFacts, FileReport] | Refusal:
    """Check one file against the flat it is meant for.

    ``condition`` is the ICC profile of a printing condition: without one, the inks of a file that has none are not
    measured, and the report says so. Memory does not grow with the picture.
    """
    refused = unreadable(path) or (unreadable(condition) if condition else None)
    if refused is not None:
        return refused
    header = sandbox.run("examine", {"path": str(path.resolve()), "page": page}, limits)
    if isinstance(header, Refusal):
        return header
    facts = facts_from(header["facts"])
    of_file = facts_of(facts)
    wide, _ = flat.with_bleed_mm if file_check.fits_bleed(of_file, flat) else (flat.width_mm, flat.height_mm)
    ink = inks_of(path, facts.width_px / wide, print_limits, condition=condition, page=page, limits=limits)
    if isinstance(ink, Refusal):
        return ink
    return facts, file_check.check_file(of_file, flat, art, print_limits, ink)


def inks_of(
    path: Path,
    px_per_mm: float,
    print_limits: FileLimits,
    *,
    condition: Path | None = None,
    page: int = 0,
    is_strict: bool = True,
    limits: Limits = DEFAULT_LIMITS,
) -> InkFound | Refusal | None:
    """Measure a file's inks at print size; None where it has none and no printing condition was given.

    ``is_strict`` refuses a JPEG whose data are damaged: not to be asked of one that was accepted and is shown.
    """
    answer = sandbox.run(
        "inks",
        {
            "path": str(path.resolve()),
            "page": page,
            "is_strict": is_strict,
            "condition": str(condition.resolve()) if condition else None,
            "px_per_mm": px_per_mm,
            "limit": print_limits.ink.limit,
            "speck_mm": print_limits.speck_mm,
            "thin_mm": print_limits.thin_mm,
        },
        limits,
    )
    return answer if isinstance(answer, Refusal) else _ink(answer)


def facts_of(facts: PictureFacts) -> FileFacts:
    """Copy what the print check asks of a file's facts."""
    return FileFacts(facts.width_px, facts.height_px, facts.mode, facts.bits, bool(facts.profile_name))


def _ink(answer: sandbox.Event) -> InkFound | None:
    found = answer["ink"]
    if found is None:
        return None
    boxes = {name: tuple(tuple(box) for box in found[name]) for name in ("places", "thin_places")}
    return InkFound(**{**found, **boxes})
