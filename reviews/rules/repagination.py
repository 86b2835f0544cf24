"""Moving pieces of art to other pages: the pages stay as they are bound, and what is drawn for them changes places.

A piece takes its art, notes, versions and dates along: they hang on the piece and not on its number. Only pieces of one
shape can change places, since an opening cannot lie on a single page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from reviews.rules.states import Refused


class Moving(StrEnum):
    """``SWAP``: two pieces change places. ``MOVE``: one goes to the other's place, and those between move up."""

    SWAP = "swap"
    MOVE = "move"


@dataclass(frozen=True)
class Slot:
    """A place in the book: its position in reading order, its pages and what whatever lies there is called."""

    position: int
    label: str
    first_page: int | None
    last_page: int | None


@dataclass(frozen=True)
class Placed:
    """A piece by its number, its shape, and the place where it lies."""

    spread: int
    shape: str
    slot: Slot


#: Cover and endpapers lie where the binding puts them.
MOVABLE = frozenset({"opening", "single"})


def rearranged(pieces: Sequence[Placed], spread: int, to: int, moving: Moving) -> dict[int, Slot]:
    """Say where each piece that changes its place lies then; pieces are given in reading order.

    Raises
    ------
    Refused
        ``move-elsewhere`` for a piece that is not in the book, ``move-fixed`` for a cover or endpapers,
        ``move-shape`` where the two are not of one shape, ``move-nowhere`` where nothing would change.
    """
    found = {piece.spread: piece for piece in pieces}
    if spread not in found or to not in found:
        raise Refused("move-elsewhere")
    if found[spread].shape not in MOVABLE or found[to].shape not in MOVABLE:
        raise Refused("move-fixed")
    if found[spread].shape != found[to].shape:
        raise Refused("move-shape")
    if spread == to:
        raise Refused("move-nowhere")
    row = [piece for piece in pieces if piece.shape == found[spread].shape]
    order = [piece.spread for piece in row]
    here, there = order.index(spread), order.index(to)
    if moving == Moving.SWAP:
        order[here], order[there] = order[there], order[here]
    else:
        order.insert(there, order.pop(here))
    slots = [piece.slot for piece in row]
    return {number: slot for number, slot in zip(order, slots, strict=True) if found[number].slot != slot}
