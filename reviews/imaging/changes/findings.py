"""What comparing two versions returns: frozen values, each naming the method and version that made it.

Boxes and points are fractions (x, y from the top left corner) of the picture their name says; a pixel map counts
from the middle of the top left pixel; millimetres are at print size.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from reviews.geometry import Affine, Box, Region, fraction_map

AlignmentState = Literal["aligned", "check", "two-readings", "not-aligned"]
ChangeLabel = Literal["moved", "changed", "removed", "added", "colour", "detail"]
NoteState = Literal["here", "followed", "cannot-tell"]
Verdict = Literal["touched", "untouched", "cannot-tell"]
RemarkCode = Literal[
    "not-aligned",
    "two-readings",
    "check",
    "redrawn-freely",
    "turned",
    "mirrored",
    "squeezed-across",
    "squeezed-down",
    "negative",
    "at-an-angle",
    "pattern-repeats",
    "no-longer-shown",
    "newly-shown",
    "colours-not-compared",
    "n-places",
    "n-unsure",
    "nothing-found",
    "nothing-marked",
    "touch-bounds",
]
# Between what kinds of pictures: neither painted, one of the two, both.
Media = Literal["drawn", "one-painted", "both-painted"]
Size = tuple[int, int]
PixelMap = tuple[float, float, float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One way to lay A on B: x' = m0 x + m1 y + m2, y' = m3 x + m4 y + m5 in pixels of the two pictures."""

    a_to_b_px: PixelMap
    score: float  # share x sqrt(overlap) + ncc, 0..2
    share: float  # of A's page, evenly weighted, that agrees within 0.4 % of the width
    ncc: float  # correlation of the two fields where they overlap
    overlap: float  # share of A's lines that lie inside B
    spread_frac: float  # predicted corner error, share of the width
    quadrants: int  # of the page that hold agreeing blocks
    n_agreeing: int  # blocks that agree

    def a_to_b(self, a_size: Size, b_size: Size) -> Affine:
        """Return the map from fractions of A to fractions of B."""
        a, b, c, d, e, f = self.a_to_b_px
        edges = Affine(a, b, c + 0.5 - 0.5 * (a + b), d, e, f + 0.5 - 0.5 * (d + e))
        return fraction_map(edges, a_size, b_size)


@dataclass(frozen=True, kw_only=True)
class Alignment:
    """How A lies on B, or that it cannot be said."""

    method: str
    state: AlignmentState
    readings: tuple[Reading, ...]  # best first
    runner_up: float  # score of the second distinct candidate over the first's
    a_size_px: Size
    b_size_px: Size

    @property
    def is_usable(self) -> bool:
        return self.state != "not-aligned"

    def a_to_b(self, reading: int = 0) -> Affine:
        """Return the map from fractions of A to fractions of B of one of the readings."""
        return self.readings[reading].a_to_b(self.a_size_px, self.b_size_px)


@dataclass(frozen=True, kw_only=True)
class FoundChange:
    """One place a person should look at: where it was on A, and where it is now, both on A and on B."""

    label: ChangeLabel
    old_on_a: Box | None
    new_on_a: Box | None
    on_b: Box  # what to show of B beside A
    vector_mm: tuple[float, float] | None  # only of what moved: right and down, on A's page
    mass_mm: float  # millimetres of line without a counterpart; for colour the square root of the area
    score: float  # 0..1: how likely it is worth a look
    scale: float = 1.0  # only of what was found larger or smaller
    turn_deg: float = 0.0  # only of what was found turned: to the right

    @property
    def on_a(self) -> Box:
        boxes = [b for b in (self.old_on_a, self.new_on_a) if b]
        return Box(
            min(b.x0 for b in boxes), min(b.y0 for b in boxes), max(b.x1 for b in boxes), max(b.y1 for b in boxes)
        )


@dataclass(frozen=True)
class Evidence:
    """What was seen where a note points. Evidence, never an accusation: the drawing may answer a note elsewhere."""

    verdict: Verdict
    score: float  # 0..1, larger is more touched
    unmatched_share: float  # of the lines in the place, both versions together
    line_mm: float  # how much line there is to judge by


@dataclass(frozen=True, kw_only=True)
class TransferredNote:
    """A note of A shown on B: by the page alone, and where its subject was followed to."""

    state: NoteState
    by_page: Region  # on B, fractions
    on_b: Region  # on B, fractions; equals by_page unless followed
    vector_mm: tuple[float, float]  # how far it was followed, on A's page
    scale: float
    turn_deg: float
    match: float  # correlation where it was found, 0..1
    evidence: Evidence


@dataclass(frozen=True)
class Remark:
    """Something a person should know: a code, and the figures that belong into its sentence."""

    code: RemarkCode
    values: Mapping[str, float] = field(default_factory=dict)

    def coded(self) -> dict[str, str | float]:
        """Return it as it is stored: its code and its values in one object."""
        return {"code": self.code, **self.values}


@dataclass(frozen=True, kw_only=True)
class Outside:
    """What of one picture lies outside the other: shares of its area and of its lines, and how wide at each side."""

    area: float
    lines: float
    left: float  # shares of the width or height; 0 where nothing is missing there
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Coverage:
    """What each version shows that the other does not: it was compared with nothing."""

    of_a: Outside
    of_b: Outside


@dataclass(frozen=True, kw_only=True)
class ComparisonResult:
    """All that is said about two versions; one value per pair of pictures and print width."""

    method: str
    alignment: Alignment
    width_mm: float
    changes: tuple[FoundChange, ...] = ()
    notes: tuple[TransferredNote, ...]
    redraw_mm: float | None = None  # noise of the hand; None when the pictures could not be aligned
    least_move_mm: float | None = None  # smaller moves are not shown
    largest_move_mm: float | None = None  # of what is shown as moved, or else how far the still lines drifted
    media: Media | None = None
    coverage: Coverage | None = None
    is_colour_compared: bool = False
    oddities: tuple[Remark, ...] = ()  # how the new picture was handed in, and what makes the laying doubtful
    unsure: tuple[FoundChange, ...] = ()  # too weak to be shown as changed, too strong for "nothing was found"
    remarks: tuple[Remark, ...] = ()
    # What changed by the second reading, where there are two, and where each note is by it.
    other_changes: tuple[FoundChange, ...] = ()
    other_notes: tuple[TransferredNote, ...] = ()
