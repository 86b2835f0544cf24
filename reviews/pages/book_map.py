"""The book map: every spread in page order, with its newest picture and where it stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from django.utils.formats import date_format

from reviews.models import Book, Passage, Seat
from reviews.pages.nearness import due_words
from reviews.pages.review_table import holder_words
from reviews.pages.table_shapes import DueWords
from reviews.press.pages import Piece, PieceKind
from reviews.queries.approvals import told_silent
from reviews.queries.page_changes import free_of
from reviews.queries.reach import reach_of
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.queries.thumbnails import Newest, newest_pictures
from reviews.rules import permits
from reviews.rules.states import PassageState, Role

ACTIVE = frozenset({PassageState.DRAWING, PassageState.ANSWERING})
# A picture whose shape is this close to its pages fills them; any other is laid on them whole.
_SAME_SHAPE = 0.1
# A cover picture this much wider than one page shows front and back together.
_WRAP_ASPECT = 1.6


@dataclass(frozen=True, kw_only=True)
class MapSpread:
    """One spread on the map, standing at its current passage."""

    label: str
    kind: str
    first_page: int | None
    last_page: int | None
    n_across: int
    spread_id: int
    passage: int
    stage_name: str
    state: str
    state_words: str
    holder_words: str
    due_on: date | None
    due_tone: str
    due_words: str
    rounds: dict[str, int]
    picture: Newest | None
    fills: bool
    is_drawing: bool = False
    #: The passage whose table opens from here; None where this seat sees none of this spread.
    opens: int | None = None


@dataclass(frozen=True, kw_only=True)
class Opening:
    """What lies open at once: one piece across both pages, or up to two single pages side by side."""

    across: MapSpread | None = None
    left: MapSpread | None = None
    right: MapSpread | None = None
    pieces: list[MapSpread] = field(default_factory=list)
    #: Pages that carry no art, as when their spread was dropped.
    free: str = ""
    free_page: int | None = None


@dataclass(frozen=True)
class BookMap:
    openings: list[Opening]
    page_width: float
    page_height: float
    counts: list[tuple[str, str, int]]  # state, words, how many spreads
    is_begun: bool  # something is handed in, whoever may see it

    @property
    def spread_width(self) -> float:
        return 2 * self.page_width


def map_page(book: Book, seat: Seat, *, tells_rounds: bool = True) -> BookMap:
    """Lay all spreads of a book out as they sit in it (6 queries whatever their number; 4 without their rounds)."""
    passages = list(
        told_silent(Passage.objects.live())
        # Fetched apart, a spread and a stage are made once each, and not anew for every passage.
        .prefetch_related("spread", "stage")
        .filter(book=book)
        .order_by("spread__position", "stage__position")
    )
    counts = tells_rounds and permits.sees(Role(seat.role), "account")
    counted = rounds_in([book.pk], allowances_for(passages)) if counts else {}
    pictures = newest_pictures([seat])
    rows: dict[int, list[Passage]] = {}
    for passage in passages:
        passage.book = book
        rows.setdefault(passage.spread_id, []).append(passage)
    pieces = []
    for spread_id, row in rows.items():
        current = current_passage(row)
        picture = pictures.get(spread_id)
        opens = _opens(current, picture, seat)
        rounds = _rounds(counted[current.pk]) if counts else {}
        pieces.append(replace(_piece(current, picture, rounds, book), opens=opens))
    return BookMap(
        _with_free(_openings(pieces, first_is_left=book.first_is_left), pieces, book),
        float(book.trim_width_mm),
        float(book.trim_height_mm),
        _counts(pieces),
        is_begun=is_begun(passages),
    )


def is_begun(passages: Iterable[Passage]) -> bool:
    """Say whether anything is handed in on some passages, which a seat may not be let see (no query)."""
    return any(passage.hand_in_id for passage in passages)


def _opens(current: Passage, picture: Newest | None, seat: Seat) -> int | None:
    """Choose the table to open: the stage the spread stands at, or what this seat sees of it."""
    if reach_of([seat]).has(seat, current):
        return current.pk
    return picture.passage if picture else None


def current_passage(row: Sequence[Passage]) -> Passage:
    """Pick the stage a spread stands at: the first being worked on, else the last that was."""
    for passage in row:
        if passage.state in ACTIVE:
            return passage
    done = [passage for passage in row if passage.state != PassageState.CLOSED]
    return done[-1] if done else row[0]


def state_of(passage: Passage, due: DueWords) -> tuple[str, str]:
    """Name the drawing and the words for where a passage stands; needs stage joined."""
    words = holder_words(passage)
    if passage.state in ACTIVE and passage.held_since:
        since = passage.book.day_rule.local_date(passage.held_since)
        words = f"{words} since {date_format(since, 'j M')}"
    if due["due_tone"] == "late":
        return "late", f"{words}, late"
    return ("waiting_second" if passage.pending_id else passage.state), words


def _piece(passage: Passage, picture: Newest | None, rounds: dict[str, int], book: Book) -> MapSpread:
    spread, due = passage.spread, due_words(passage)
    state, words = state_of(passage, due)
    is_answering = passage.state == PassageState.ANSWERING
    is_active = passage.state in ACTIVE
    n_across = _n_across(passage, picture, book)
    return MapSpread(
        label=spread.label,
        kind=spread.kind,
        first_page=spread.first_page,
        last_page=spread.last_page,
        n_across=n_across,
        spread_id=spread.pk,
        passage=passage.pk,
        stage_name=passage.stage.name,
        state=state,
        state_words=words,
        holder_words=holder_words(passage),
        due_on=(passage.answer_due_on if is_answering else passage.due_on) if is_active else None,
        due_tone=due["due_tone"],
        due_words=due["due_words"],
        rounds=rounds,
        picture=picture,
        fills=_fills(picture, n_across, book),
        is_drawing=passage.state == PassageState.DRAWING,
    )


def _n_across(passage: Passage, picture: Newest | None, book: Book) -> int:
    if passage.spread.kind == PieceKind.COVER and picture and picture.width_px and picture.height_px:
        page = float(book.trim_width_mm / book.trim_height_mm)
        return 2 if picture.width_px / picture.height_px > _WRAP_ASPECT * page else 1
    return passage.spread.as_piece().n_pages_across


def _fills(picture: Newest | None, n_across: int, book: Book) -> bool:
    if picture is None or not picture.width_px or not picture.height_px:
        return False
    pages = n_across * float(book.trim_width_mm / book.trim_height_mm)
    return abs(picture.width_px / picture.height_px / pages - 1) < _SAME_SHAPE


def _rounds(count: Any) -> dict[str, int]:
    return {"used": count.pool_used, "included": count.included, "left": count.left, "over": count.over}


def _openings(pieces: Sequence[MapSpread], *, first_is_left: bool = False) -> list[Opening]:
    """Put single pages that face each other into one opening; page 1 lies right, but in a book glued from boards."""
    openings: list[Opening] = []
    at: dict[int, int] = {}  # where the opening of each pair of single pages stands in the list
    for piece in pieces:
        if piece.kind != PieceKind.SINGLE or piece.first_page is None:
            openings.append(Opening(across=piece, pieces=[piece]))
            continue
        counted = piece.first_page + first_is_left  # as if a right-hand page had come before
        place = at.setdefault(counted // 2, len(openings))
        if place == len(openings):
            openings.append(Opening())
        begun = openings[place]
        openings[place] = replace(begun, pieces=[*begun.pieces, piece])
        openings[place] = _beside(openings[place], piece, is_left=not counted % 2)
    return openings


def _beside(begun: Opening, piece: MapSpread, *, is_left: bool) -> Opening:
    return replace(begun, left=piece) if is_left else replace(begun, right=piece)


def _with_free(openings: Sequence[Opening], pieces: Sequence[MapSpread], book: Book) -> list[Opening]:
    """Put the openings that carry no art where they lie; a single page that does is seen beside its neighbour."""
    laid = [Piece(PieceKind(one.kind), one.label, one.first_page, one.last_page) for one in pieces]
    free = [place for place in free_of(book, laid) if place.n_pages_across == 2]
    found = list(openings)
    for place in reversed(free):
        after = [n for n, one in enumerate(found) if any(_begins(piece, place) for piece in one.pieces)]
        behind = max((n for n, one in enumerate(found) if any(piece.first_page for piece in one.pieces)), default=-1)
        found.insert(after[0] if after else behind + 1, Opening(free=place.label, free_page=place.first_page))
    return found


def _begins(piece: MapSpread, place: Piece) -> bool:
    return piece.first_page is not None and piece.first_page > (place.first_page or 0)


_COUNTED = (
    ("late", "late"),
    ("drawing", "with the illustrator"),
    ("answering", "with the publisher"),
    ("waiting_second", "waiting for the second sign-off"),
    ("approved", "approved"),
    ("passed", "done, no answer needed"),
    ("closed", "not open yet"),
)


def _counts(pieces: Sequence[MapSpread]) -> list[tuple[str, str, int]]:
    found = Counter(piece.state for piece in pieces)
    return [(state, words, found[state]) for state, words in _COUNTED if found[state]]
