"""Where the words of a picture over time can stand without touching each other or the lines for a day.

Words keep their size while the picture grows and shrinks with the page. Places are worked out for the narrowest
picture that shows them; in a wider one everything only moves apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

#: The width of a letter in CSS pixels, on average and with room to spare.
LETTER_PX = 6.6
#: How far words stay away from a line, and from each other.
_CLEAR_PX = 4.0

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Words that would like to stand at a place (a share of the width), and how far right they may reach.

    ``is_loose`` words may stand on either side of a line, as what they name lies on both.
    """

    key: str
    words: str
    at: float
    anchor: Anchor
    until: float = 1.0
    is_loose: bool = False


@dataclass(frozen=True)
class Label:
    """Words that have found a place: ``shift_px`` off a share of the width."""

    key: str
    words: str
    at: float
    shift_px: int
    anchor: Anchor


@dataclass
class LabelLine:
    """One line of words, in a picture of some width; ``lines_at`` are shares at which an upright line stands."""

    width_px: float
    lines_at: Sequence[float]
    taken: list[tuple[float, float]] = field(default_factory=list)

    def place(self, wanted: Iterable[Wanted]) -> list[Label]:
        """Place what fits, in this order; what does not is left out."""
        return [label for one in wanted if (label := self._placed(one)) is not None]

    def take(self, label: Label) -> None:
        """Keep the room of a label that was placed before."""
        self.taken.append(self._span(label))

    def _placed(self, one: Wanted) -> Label | None:
        for label in self._candidates(one):
            left, right = self._span(label)
            within = left >= 0 and right <= min(1.0, one.until) * self.width_px
            apart = all(right <= a - _CLEAR_PX or left >= b + _CLEAR_PX for a, b in self.taken)
            if within and apart and not self._crosses(label, left, right):
                self.take(label)
                return label
        return None

    def _crosses(self, label: Label, left: float, right: float) -> bool:
        """Say whether a line runs through a label, or between it and its place: there it would in a wider picture."""
        place = label.at * self.width_px
        return any(min(left, place) < at * self.width_px < max(right, place) for at in self.lines_at)

    def _candidates(self, one: Wanted) -> Iterable[Label]:
        yield Label(one.key, one.words, one.at, 1 if one.anchor == "start" else 0, one.anchor)
        wide = len(one.words) * LETTER_PX
        for at in self.lines_at:
            # Words that would cross a line stand beside it, on the side on which their own place is.
            if abs(at - one.at) * self.width_px <= wide:
                beside = (
                    Label(one.key, one.words, at, -round(_CLEAR_PX), "end"),
                    Label(one.key, one.words, at, round(_CLEAR_PX), "start"),
                )
                own, other = beside if one.at <= at else beside[::-1]
                yield own
                if one.is_loose:
                    yield other

    def _span(self, label: Label) -> tuple[float, float]:
        x, wide = label.at * self.width_px + label.shift_px, len(label.words) * LETTER_PX
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[label.anchor]
        return left, left + wide
