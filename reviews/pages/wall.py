"""The wall: every spread in page order on one screen: its newest picture, where it stands, its main colours."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reviews.models import Book, Seat
from reviews.pages.book_map import MapSpread, Opening, map_page
from reviews.pages.wall_sections import section_names
from reviews.queries.thumbnails import main_colours_of

#: The window the wall is made for, in CSS pixels, less what stands above and around it; measured on the page itself
#: (tests/browser/test_wall.py looks whether it fits).
_ROOM_PX = (1392, 668)
#: What a card needs below its picture: the strip of colours and two short lines.
_BELOW_PX = 60
#: The line over each card that holds a section together, with its name.
_OVER_PX = 18
_GAP_PX = 12
_FEWEST, _MOST = 4, 12


@dataclass(frozen=True, kw_only=True)
class StripColour:
    """One main colour: from where to where along the strip, in thousandths."""

    code: str
    at: int
    width: int


@dataclass(frozen=True, kw_only=True)
class WallPiece:
    """One piece on the wall; ``is_dim``: a filter is on, and this is not among what it asks for."""

    piece: MapSpread
    colours: list[StripColour]
    is_dim: bool


@dataclass(frozen=True, kw_only=True)
class WallOpening:
    """What lies open at once: one piece across, or single pages side by side."""

    kind: str
    pieces: list[WallPiece]
    begins_right: bool
    #: Pages that carry no art; empty where there is some.
    free: str
    #: The section it lies in, and whether it is the first there.
    section: str
    begins_section: bool


@dataclass(frozen=True, kw_only=True)
class Filter:
    """One way to look at a part of the wall."""

    value: str
    words: str
    n: int
    is_on: bool


@dataclass(frozen=True, kw_only=True)
class Wall:
    openings: list[WallOpening]
    page_width: float
    page_height: float
    columns: int
    states: list[Filter]
    stages: list[Filter]
    shows: str
    #: Nothing is handed in yet, seen or not.
    is_bare: bool

    @property
    def pieces(self) -> list[WallPiece]:
        return [piece for opening in self.openings for piece in opening.pieces]

    @property
    def n_shown(self) -> int:
        return sum(not piece.is_dim for piece in self.pieces)

    @property
    def spread_width(self) -> float:
        return 2 * self.page_width


def wall_page(book: Book, seat: Seat, *, shows: str = "") -> Wall:
    """Lay a book out on one screen, as this seat may see it (5 queries whatever the number of spreads).

    ``shows``: the state or stage that is asked for, as the address has it; another word shows everything.
    """
    laid = map_page(book, seat, tells_rounds=False)
    pieces = [piece for opening in laid.openings for piece in opening.pieces]
    colours = main_colours_of(piece.picture.picture for piece in pieces if piece.picture)
    states = [Filter(value=state, words=words, n=n, is_on=shows == state) for state, words, n in laid.counts]
    stages = _stages(pieces, shows)
    known = {one.value for one in (*states, *stages)}
    shows = shows if shows in known else ""
    return Wall(
        openings=_laid(book, laid.openings, colours, shows),
        page_width=laid.page_width,
        page_height=laid.page_height,
        columns=columns_for(len(laid.openings), laid.spread_width / laid.page_height),
        states=states,
        stages=stages,
        shows=shows,
        is_bare=not laid.is_begun,
    )


def columns_for(n_openings: int, shape: float) -> int:
    """Choose how many columns let all openings stand in the room; ``shape``: an opening's width by its height."""
    for columns in range(_FEWEST, _MOST):
        width = (_ROOM_PX[0] - _GAP_PX * (columns - 1)) / columns
        rows = math.ceil(n_openings / columns)
        if rows * (width / shape + _OVER_PX + _BELOW_PX + _GAP_PX) - _GAP_PX <= _ROOM_PX[1]:
            return columns
    return _MOST


def _stages(pieces: Sequence[MapSpread], shows: str) -> list[Filter]:
    counted: dict[str, int] = {}
    for piece in pieces:
        counted[piece.stage_name] = counted.get(piece.stage_name, 0) + 1
    return [Filter(value=f"at:{name}", words=name, n=n, is_on=shows == f"at:{name}") for name, n in counted.items()]


def _laid(
    book: Book, openings: Sequence[Opening], colours: Mapping[int, list[tuple[str, float]]], shows: str
) -> list[WallOpening]:
    names = section_names(book, openings)
    return [
        _opening(one, colours, shows, section=name, begins=name != before)
        for one, name, before in zip(openings, names, ["", *names], strict=False)
    ]


def _opening(
    opening: Opening, colours: Mapping[int, list[tuple[str, float]]], shows: str, *, section: str, begins: bool
) -> WallOpening:
    return WallOpening(
        section=section,
        begins_section=begins,
        kind=opening.across.kind if opening.across else "free" if opening.free else "singles",
        pieces=[_piece(piece, colours, shows) for piece in opening.pieces],
        begins_right=opening.across is None and opening.left is None,
        free=opening.free,
    )


def _piece(piece: MapSpread, colours: Mapping[int, list[tuple[str, float]]], shows: str) -> WallPiece:
    found = colours.get(piece.picture.picture, []) if piece.picture else []
    return WallPiece(
        piece=piece,
        colours=_strip(found),
        is_dim=bool(shows) and shows not in (piece.state, f"at:{piece.stage_name}"),
    )


def _strip(found: Sequence[tuple[str, float]]) -> list[StripColour]:
    strip, at = [], 0
    for code, share in found:
        width = round(1000 * share)
        strip.append(StripColour(code=code, at=at, width=width))
        at += width
    return strip
