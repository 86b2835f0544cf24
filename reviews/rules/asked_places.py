"""Which changed places a note asked about: those that lie where a note's subject lies."""

from __future__ import annotations

from collections.abc import Iterable

from reviews.geometry import Box, overlap

#: How far beside its mark a note still speaks of what changed, as a share of the picture's longer side: a point has no
#: size, and a box is drawn by hand. Chosen here, not measured.
NEAR = 0.03


def is_asked(change: Box, notes: Iterable[Box], aspect: float) -> bool:
    """Say whether a changed place lies at one of the notes; ``aspect`` is the picture's width by its height."""
    by_x, by_y = (NEAR, NEAR * aspect) if aspect >= 1 else (NEAR / aspect, NEAR)
    return any(overlap(change, note.grown(by_x, by_y)) is not None for note in notes)
