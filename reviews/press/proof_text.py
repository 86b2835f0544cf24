"""A judged proof as plain values, the way it is stored and told."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reviews.press.proof_check import PatchDifference, ProofLine, ProofReport


def lines_to_text(report: ProofReport) -> list[dict[str, Any]]:
    """Write each line of the verdict."""
    return [_line(line) for line in report.lines]


def _line(line: ProofLine) -> dict[str, Any]:
    return {
        "criterion": line.criterion.value,
        "verdict": line.verdict.value,
        "value": None if line.value is None else round(line.value, 3),
        "limit": line.limit,
        "patches": line.n_patches,
        "worst": line.worst,
        "missing": list(line.missing),
    }


def patches_to_text(patches: Sequence[PatchDifference]) -> list[list[Any]]:
    """Write each patch, farthest from its aim first: its name, ΔE00, its aim and what was measured as L*, a*, b*."""
    ordered = sorted(patches, key=lambda patch: -patch.de00)
    return [
        [
            patch.measured.name,
            round(patch.de00, 3),
            [round(part, 2) for part in patch.aim.lab],
            [round(part, 2) for part in patch.measured.lab],
            _ink_name(patch),
        ]
        for patch in ordered
    ]


def _ink_name(patch: PatchDifference) -> str:
    """Name a patch of full inks by its letters, paper by "paper"; any other has no such name."""
    inks = patch.aim.inks or patch.measured.inks
    if inks is None or any(abs(ink) > 0.5 and abs(ink - 100) > 0.5 for ink in inks):
        return ""
    return "".join(letter for letter, ink in zip("CMYK", inks, strict=True) if ink > 50) or "paper"
