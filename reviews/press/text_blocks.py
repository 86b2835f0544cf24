"""The text of a spread as it will stand on the page: blocks in mm of the trim, broken into lines by their own width.

Pure arithmetic: how wide a face writes is handed in (``Metrics``). Lines are broken where a space, a hyphen or a dash
lets them, the longest that fits first; nothing is hyphenated and no letters are drawn together. The designer's own
setting of the type wins over any of it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from reviews.geometry import MM_PER_INCH

MM_PER_PT = MM_PER_INCH / 72


class Face(StrEnum):
    """The faces at hand: those that the papers of this portal are set in, with their italics and bolds."""

    SERIF = "serif"
    SERIF_ITALIC = "serif-italic"
    SERIF_BOLD = "serif-bold"
    SERIF_BOLD_ITALIC = "serif-bold-italic"
    SANS = "sans"
    SANS_ITALIC = "sans-italic"
    SANS_BOLD = "sans-bold"
    SANS_BOLD_ITALIC = "sans-bold-italic"

    @property
    def is_bold(self) -> bool:
        return "bold" in self.value


class TextAlign(StrEnum):
    """Where the lines of a block stand in it."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


@dataclass(frozen=True, kw_only=True)
class Metrics:
    """What is asked of a face, in ems: how wide it writes some words, how far it reaches up and down, what it lacks."""

    advance: Callable[[str], float]
    ascent: float
    descent: float  # below the baseline, as a length: 0.3, not -0.3
    lacks: Callable[[str], str]


@dataclass(frozen=True, kw_only=True)
class TextBlock:
    """One block as it was placed; lengths in mm from the top left corner of the trim of its piece."""

    number: int
    words: str
    language: str
    face: Face
    size_pt: float
    leading_pt: float
    align: TextAlign
    colour: str
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float

    @property
    def size_mm(self) -> float:
        return self.size_pt * MM_PER_PT


@dataclass(frozen=True, kw_only=True)
class SetLine:
    """One line as it stands: its words, where it begins, its baseline, how wide it is, in mm of the trim."""

    words: str
    left_mm: float
    baseline_mm: float
    width_mm: float


@dataclass(frozen=True, kw_only=True)
class SetBlock:
    """A block with its lines. ``ascent_mm`` and ``descent_mm`` are how far the face reaches from a baseline."""

    block: TextBlock
    lines: tuple[SetLine, ...]
    ascent_mm: float
    descent_mm: float
    lacks: str = ""

    @property
    def printed(self) -> tuple[tuple[float, float, float, float], ...]:
        """List where ink may stand, line by line: left, top, right, bottom in mm."""
        return tuple(
            (line.left_mm, line.baseline_mm - self.ascent_mm, line.left_mm + line.width_mm,
             line.baseline_mm + self.descent_mm)
            for line in self.lines if line.words
        )  # fmt: skip

    @property
    def below_mm(self) -> float:
        """Say by how much the last line stands below the block's own box; 0 where it fits."""
        bottom = max((box[3] for box in self.printed), default=self.block.top_mm)
        return max(0.0, bottom - self.block.top_mm - self.block.height_mm)

    @property
    def beyond_mm(self) -> float:
        """Say by how much the widest line, a word too long to be broken, is wider than the box."""
        widest = max((line.width_mm for line in self.lines), default=0.0)
        return max(0.0, widest - self.block.width_mm)


#: A line may end after a space, after a hyphen between letters, and after a dash; a space that does not break is none.
_PIECES = re.compile(r"[ \t]+|[^ \t–—]*?[^\W\d_]-(?=[^\W\d_])|[^ \t–—]*[–—]+|[^ \t–—]+")
_SOFT_HYPHEN = "\N{SOFT HYPHEN}"
#: Our own: widths are sums of rounded figures, and words that fill their box to the last micrometre fit.
_AS_GOOD_AS = 1e-6


def break_lines(words: str, width: float, advance: Callable[[str], float]) -> list[str]:
    """Break words into lines no wider than ``width``, in the unit in which ``advance`` measures.

    Each line takes as much as fits; a word that is wider than the width stands alone, whole. A line break in the words
    begins a new line, and an empty line stays one.
    """
    found: list[str] = []
    for paragraph in words.replace(_SOFT_HYPHEN, "").split("\n"):
        found += _broken(paragraph, width, advance)
    return found


def _broken(paragraph: str, width: float, advance: Callable[[str], float]) -> Iterator[str]:
    # Widths are added up: measuring the whole line again for each word takes the square of a long line's time.
    line, wide, space = "", 0.0, advance(" ")
    for piece in _PIECES.findall(paragraph):
        if not piece.strip(" \t"):
            if line:
                line, wide = f"{line} ", wide + space
            continue
        if line.strip() and wide + advance(piece) > width + _AS_GOOD_AS:
            yield line.rstrip(" ")
            line, wide = piece, advance(piece)
        else:
            line, wide = line + piece, wide + advance(piece)
    yield line.rstrip(" ")


def set_block(block: TextBlock, metrics: Metrics) -> SetBlock:
    """Break a block into its lines and place them, the first as far below the top as the face reaches up."""
    size = block.size_mm
    ascent, descent = metrics.ascent * size, metrics.descent * size
    lines = []
    for n, words in enumerate(break_lines(block.words, block.width_mm / size, metrics.advance)):
        wide = metrics.advance(words) * size
        spare = block.width_mm - wide
        left = {TextAlign.LEFT: 0.0, TextAlign.CENTRE: spare / 2, TextAlign.RIGHT: spare}[block.align]
        baseline = block.top_mm + ascent + n * block.leading_pt * MM_PER_PT
        lines.append(
            SetLine(words=words, left_mm=block.left_mm + left, baseline_mm=baseline, width_mm=wide)
        )  # fmt: skip
    return SetBlock(
        block=block, lines=tuple(lines), ascent_mm=ascent, descent_mm=descent, lacks=metrics.lacks(block.words)
    )
