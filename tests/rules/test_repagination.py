"""Pieces change places: the pages stay as they are bound, and every piece lies somewhere once."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.pages import lay_out
from reviews.rules.repagination import Moving, Placed, Slot, rearranged
from reviews.rules.states import Refused


def book(n_pages=32, ends=EndsKind.SELF):
    return [
        Placed(100 + n, piece.kind, Slot(n, piece.label, piece.first_page, piece.last_page))
        for n, piece in enumerate(lay_out(n_pages, BindingKind.CASE, ends), start=1)
    ]


def named(pieces, label):
    return next(piece.spread for piece in pieces if piece.slot.label == label)


def labels(pieces, slots):
    were = {piece.spread: piece.slot.label for piece in pieces}
    return {were[spread]: slot.label for spread, slot in slots.items()}


def test_two_pieces_swap():
    pieces = book()
    slots = rearranged(pieces, named(pieces, "Pages 4–5"), named(pieces, "Pages 10–11"), Moving.SWAP)
    assert labels(pieces, slots) == {"Pages 4–5": "Pages 10–11", "Pages 10–11": "Pages 4–5"}


def test_one_piece_moves_on_and_those_between_close_up():
    pieces = book()
    slots = rearranged(pieces, named(pieces, "Pages 4–5"), named(pieces, "Pages 8–9"), Moving.MOVE)
    assert labels(pieces, slots) == {
        "Pages 4–5": "Pages 8–9", "Pages 6–7": "Pages 4–5", "Pages 8–9": "Pages 6–7",
    }  # fmt: skip
    back = rearranged(pieces, named(pieces, "Pages 8–9"), named(pieces, "Pages 4–5"), Moving.MOVE)
    assert labels(pieces, back)["Pages 8–9"] == "Pages 4–5"


@pytest.mark.parametrize(
    ("one", "other", "code"),
    [("Cover", "Pages 4–5", "move-fixed"), ("Pages 4–5", "Front ends 2–3", "move-fixed"),
     ("Pages 4–5", "Pages 4–5", "move-nowhere")],
)  # fmt: skip
def test_what_the_binding_holds_cannot_move(one, other, code):
    pieces = book()
    with pytest.raises(Refused, match=code):
        rearranged(pieces, named(pieces, one), named(pieces, other), Moving.SWAP)


def test_a_double_page_cannot_lie_on_a_single_one_and_what_is_gone_cannot_move():
    pieces = book(ends=EndsKind.SEPARATE)
    with pytest.raises(Refused, match="move-shape"):
        rearranged(pieces, named(pieces, "Page 1"), named(pieces, "Pages 2–3"), Moving.SWAP)
    with pytest.raises(Refused, match="move-elsewhere"):
        rearranged(pieces, 7, named(pieces, "Pages 2–3"), Moving.SWAP)


@given(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12), st.sampled_from(Moving)), max_size=12))
def test_whatever_is_moved_every_page_is_covered_once_as_before(steps):
    pieces = book()
    openings = [piece.spread for piece in pieces if piece.shape == "opening"]
    before = {piece.slot for piece in pieces}
    for here, there, moving in steps:
        if here == there:
            continue
        slots = rearranged(pieces, openings[here], openings[there], moving)
        assert slots, "something changed"
        pieces = [Placed(p.spread, p.shape, slots.get(p.spread, p.slot)) for p in pieces]
        pieces.sort(key=lambda piece: piece.slot.position)
        assert {piece.slot for piece in pieces} == before
        assert len({piece.spread for piece in pieces}) == len(pieces) == len(before)
