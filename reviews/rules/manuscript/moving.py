"""A break of a manuscript moved by one paragraph, or all that follows moved by one piece of art."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum

from reviews.rules.manuscript.breaking import BrokenText, PagesOfArt
from reviews.rules.states import Refused


class BreakMove(StrEnum):
    """What is moved, seen from one page; page 0 is what is left out."""

    BACK = "back"  # its first paragraph to the page before
    ON = "on"  # its last paragraph to the page after
    ALL_ON = "all-on"  # all from here one piece of art further


def moved(broken: BrokenText, move: BreakMove, page: int, art: Sequence[PagesOfArt]) -> BrokenText:
    """BreakMove what is asked for; raise Refused where there is nothing to move, or no page to move it to."""
    if move == BreakMove.ALL_ON:
        return _all_on(broken, page, art)
    order = [0, *(number for piece in art for number in piece.pages)]
    at = {number: list(broken.words.get(number, ())) for number in order}
    at[0] = list(broken.left_out)
    step = 1 if move == BreakMove.ON else -1
    if page not in at or not at[page]:
        raise Refused("manuscript-nothing-to-move")
    to = order.index(page) + step
    if not 0 <= to < len(order):
        raise Refused("manuscript-no-page-beyond")
    if move == BreakMove.ON:
        at[order[to]].insert(0, at[page].pop())
    else:
        at[order[to]].append(at[page].pop(0))
    return _with(broken, at)


def _all_on(broken: BrokenText, page: int, art: Sequence[PagesOfArt]) -> BrokenText:
    """Give the words of each piece from this one on to the next, on its first page; the last must be empty."""
    here = next((n for n, piece in enumerate(art) if page in piece.pages), None)
    if here is None:
        raise Refused("manuscript-nothing-to-move")
    at = {number: list(broken.words.get(number, ())) for piece in art for number in piece.pages}
    at[0] = list(broken.left_out)
    of_piece = [[at[number] for number in piece.pages] for piece in art]
    if any(map(bool, of_piece[-1])):
        raise Refused("manuscript-no-page-beyond")
    for piece, before in reversed(list(zip(art[here + 1 :], of_piece[here:-1], strict=True))):
        # A single page takes both pages of an opening; an opening takes each where it stood.
        taken = before if len(before) <= len(piece.pages) else [[one for there in before for one in there]]
        for number in piece.pages:
            at[number] = []
        for number, words in zip(piece.pages, taken, strict=False):
            at[number] = list(words)
    for number in art[here].pages:
        at[number] = []
    return _with(broken, at)


def _with(broken: BrokenText, at: dict[int, list[str]]) -> BrokenText:
    return replace(
        broken,
        words={number: tuple(there) for number, there in at.items() if number and there},
        left_out=tuple(at[0]),
        remarks=(),
    )
