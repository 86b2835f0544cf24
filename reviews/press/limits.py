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
    "coated-fogra39": InkCondition(330.0, "ISO figure for coated sheet-fed; 300 in most practice"),
    "coated-fogra51": InkCondition(300.0, "profile notes of its characterisation data, as quoted in a public note"),
    "uncoated-fogra52": InkCondition(300.0, "profile-build notes of a third party"),
    "uncoated-fogra47": InkCondition(280.0, "printers' figures of 260 to 280; a profile of 300 exists"),
    "swop-web": InkCondition(300.0, "SWOP specification, as printers discuss it"),
    "newsprint": InkCondition(240.0, "public pre-flight settings of 2022"),
    "on-demand": InkCondition(240.0, "help pages of large print-on-demand houses"),
}


@dataclass(frozen=True)
class Resolution:
    """Effective ppi at print size: below ``warn`` it wants a look, below ``least`` it will show."""

    warn: float
    least: float
    source: str


RESOLUTIONS = {
    ArtKind.TONE: Resolution(225.0, 150.0, "twice the screen ruling; pre-flight settings warn below 224"),
    ArtKind.LINE: Resolution(1000.0, 600.0, "design primers ask 900 to 1200 and name 600 as the lowest"),
    ArtKind.MIXED: Resolution(500.0, 300.0, "printers name 500 to 900"),
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
