"""Starting limits for files that go to press, by printing condition and kind of art; each with where it comes from.

All are starting values that a house edits: total ink is a property of the printing condition and stands in no profile.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum


class ArtKind(StrEnum):
    """What a file mainly is: resolution is asked for differently."""

    LINE = "line"  # black line, drawn or scanned
    TONE = "tone"  # colour or grey
    MIXED = "mixed"  # line on tone in one file


@dataclass(frozen=True)
class InkCondition:
    """A printing condition by its ink limit in per cent of 400, and the source of the figure."""

    limit: float
    source: str


INK_CONDITIONS = {
    "coated-fogra39": InkCondition(330.0, "iso-coated"),
    "coated-fogra51": InkCondition(300.0, "profile-notes"),
    "uncoated-fogra52": InkCondition(300.0, "build-notes"),
    "uncoated-fogra47": InkCondition(280.0, "printers-uncoated"),
    "swop-web": InkCondition(300.0, "swop"),
    "newsprint": InkCondition(240.0, "preflight-2022"),
    "on-demand": InkCondition(240.0, "on-demand-help"),
}


@dataclass(frozen=True)
class Resolution:
    """Effective ppi at print size: below ``warn`` it wants a look, below ``least`` it will show."""

    warn: float
    least: float
    source: str


RESOLUTIONS = {
    ArtKind.TONE: Resolution(225.0, 150.0, "twice-the-ruling"),
    ArtKind.LINE: Resolution(1000.0, 600.0, "design-primers"),
    ArtKind.MIXED: Resolution(500.0, 300.0, "printers-mixed"),
}


@dataclass(frozen=True, kw_only=True)
class FileLimits:
    """All a file is held against."""

    ink: InkCondition = INK_CONDITIONS["coated-fogra39"]
    resolutions: dict[ArtKind, Resolution] = field(default_factory=lambda: dict(RESOLUTIONS))
    # Half a per cent of the longer side is a millimetre and a quarter on a page of 250 mm: within the bleed.
    aspect_error: float = 0.005
    # What is smaller than this in either direction is a speck: common practice, a few mm.
    speck_mm: float = 2.0
    # A line thinner than this should be black alone: register of the four inks shows on it (common practice).
    thin_mm: float = 0.75
