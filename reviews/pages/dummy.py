"""The dummy: the book read page by page, with its newest pictures or the approved ones, and the text as it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from reviews.models import Book, Picture, Seat
from reviews.pages.book_map import BookMap, MapSpread, Opening, map_page
from reviews.pages.table_shapes import BlockShown
from reviews.pages.text_blocks import shown
from reviews.press.flats import PanelKind
from reviews.press.pages import PieceKind
from reviews.press.placing import PlacedPicture
from reviews.press.text_blocks import SetBlock
from reviews.queries.briefs import newest_of_spreads
from reviews.queries.frames import placed_on
from reviews.queries.pictures import with_places
from reviews.queries.text_blocks import set_blocks, texts_of
from reviews.queries.thumbnails import approved_pictures
from reviews.rules import permits
from reviews.rules.briefs import BriefPart
from reviews.rules.reading_aloud import n_words, seconds_aloud
from reviews.rules.states import Role
from reviews.rules.text_blocks import against_brief

# A picture whose shape is this close to its pages is cut to them; any other is laid on them whole.
_SAME_SHAPE = 0.1
_MOST_ASKEW_DEG = 0.5


@dataclass(frozen=True, kw_only=True)
class DummyArt:
    """One picture on its pages. ``crop`` is what of it lies inside the trim: x, y, width, height in its pixels.

    ``when``: "newest", "approved", or both words where one picture is both.
    """

    picture: int
    when: str
    stage_name: str
    crop: tuple[float, float, float, float]
    width_px: int
    height_px: int
    fills: bool


@dataclass(frozen=True, kw_only=True)
class DummyPages:
    """What one piece of art covers of an opening: ``place`` is "left", "right" or "across" both pages, sizes in mm."""

    place: str
    label: str
    x: float
    width: float
    arts: list[DummyArt]
    #: What stands on the paper where there is no newest, and where there is no approved picture; empty where there is.
    no_newest: str = ""
    no_approved: str = ""
    stage_name: str = ""
    state: str = ""
    state_words: str = ""
    opens: int | None = None
    #: The words of the brief that no block has, and those of the blocks where a picture hides them.
    lines: list[str] = field(default_factory=list)
    blocks: list[BlockShown] = field(default_factory=list)
    #: Over which pictures the blocks are shown: not over a printer's sheet, where it is not known how the pages lie.
    blocks_when: str = ""
    n_words: int = 0
    seconds: int = 0

    @property
    def middle(self) -> float:
        return self.x + self.width / 2

    def art(self, when: str) -> DummyArt | None:
        return next((art for art in self.arts if when in art.when.split()), None)

    @property
    def newest(self) -> DummyArt | None:
        return self.art("newest")

    @property
    def approved(self) -> DummyArt | None:
        return self.art("approved")


@dataclass(frozen=True, kw_only=True)
class DummyOpening:
    """What lies open at once."""

    number: int
    name: str
    pages: list[DummyPages]

    @property
    def x(self) -> float:
        """Where the drawing begins, in mm: a closed book is one page wide."""
        return self.pages[0].x

    @property
    def width(self) -> float:
        return sum(pages.width for pages in self.pages)


@dataclass(frozen=True, kw_only=True)
class Dummy:
    openings: list[DummyOpening]
    page_width: float
    page_height: float
    n_words: int
    seconds: int

    def at(self, asked: str | None) -> DummyOpening:
        """Find the opening that an address names; the first where it names none."""
        return next((one for one in self.openings if str(one.number) == asked), self.openings[0])


def dummy_page(book: Book, seat: Seat) -> Dummy:
    """Lay a book out to be read, as this seat may see it (9 queries whatever the number of spreads)."""
    laid = map_page(book, seat, tells_rounds=False)
    approved = approved_pictures(seat)
    pieces = [piece for opening in laid.openings for piece in opening.pieces]
    newest = {piece.picture.picture for piece in pieces if piece.picture and piece.picture.is_read}
    rows = with_places(book, [*newest, *approved.values()])
    reads = permits.sees(Role(seat.role), "brief")
    texts = {brief.spread_id: brief.parts.get(BriefPart.TEXT, "") for brief in newest_of_spreads(book)} if reads else {}
    placed = {spread: set_blocks(text) for spread, text in texts_of(book).items()} if reads else {}
    layer = _Layer(
        n_pages=book.n_pages, laid=laid, rows=rows, approved=approved, texts=texts, placed=placed
    )  # fmt: skip
    openings = [*_front(laid, layer), *(layer.opening(one) for one in _inside(laid)), *_back(laid, layer)]
    numbered = [DummyOpening(number=number, name=name, pages=pages) for number, (name, pages) in enumerate(openings, 1)]
    words = sum(pages.n_words for opening in numbered for pages in opening.pages)
    return Dummy(
        openings=numbered,
        page_width=laid.page_width,
        page_height=laid.page_height,
        n_words=words,
        seconds=seconds_aloud(words),
    )


def _inside(laid: BookMap) -> list[Opening]:
    return [one for one in laid.openings if not _is_cover(one)]


def _is_cover(opening: Opening) -> bool:
    return opening.across is not None and opening.across.kind == PieceKind.COVER


_Named = tuple[str, list[DummyPages]]


def _front(laid: BookMap, layer: _Layer) -> list[_Named]:
    """The book lies closed: its front is on the right, from where it is opened."""
    return [
        (_("Front cover"), [layer.pages(one.across, "right", panel=PanelKind.FRONT)])
        for one in laid.openings
        if _is_cover(one) and one.across
    ]


def _back(laid: BookMap, layer: _Layer) -> list[_Named]:
    return [
        (_("Back cover"), [layer.pages(one.across, "left", panel=PanelKind.BACK)])
        for one in laid.openings
        if _is_cover(one) and one.across
    ]


def _unplaced(text: str, blocks: Sequence[SetBlock]) -> list[str]:
    """List the lines of a brief that no block has; where a block has other words, it cannot be told which it has."""
    lines = [line for line in text.splitlines() if line.strip()]
    held = against_brief(text, {one.block.number: one.block.words for one in blocks})
    return [] if None in held.lines_of.values() else [lines[n - 1] for n in held.unplaced]


#: Text is shown over the newest picture and over the approved one.
_EITHER = "newest approved"


@dataclass(frozen=True, kw_only=True)
class _Layer:
    """What is at hand: the map, picture rows by number; by spread what is approved, written and placed."""

    n_pages: int
    laid: BookMap
    rows: Mapping[int, Picture]
    approved: Mapping[int, int]
    texts: Mapping[int | None, str]
    placed: Mapping[int, Sequence[SetBlock]]

    def opening(self, opening: Opening) -> _Named:
        if opening.across:
            return opening.across.label, [self.pages(opening.across, "across")]
        if opening.free:
            return opening.free, [self._bare("across", opening.free, _("No art on these pages"))]
        sides = [
            self.pages(piece, place) if piece else self._beside(place, opening)
            for place, piece in (("left", opening.left), ("right", opening.right))
        ]
        return _(" and ").join(piece.label for piece in (opening.left, opening.right) if piece), sides

    def pages(self, piece: MapSpread, place: str, *, panel: PanelKind | None = None) -> DummyPages:
        """Lay one piece on its pages; of a cover only a panel."""
        arts = self._arts(piece, panel, place)
        has = {word for art in arts for word in art.when.split()}
        blocks = self.placed.get(piece.spread_id, ()) if panel is None else ()
        text = "" if panel == PanelKind.BACK else self.texts.get(piece.spread_id, "")
        over = self._text_over(piece)
        unplaced = _unplaced(text, blocks)
        placed = [" ".join(one.block.words.split()) for one in blocks]
        words = n_words("\n".join([*placed, *unplaced]))
        return DummyPages(
            place=place,
            label=piece.label,
            x=self._x(place),
            width=self._width(place),
            arts=arts,
            no_newest="" if "newest" in has else self._none_newest(piece, panel),
            no_approved="" if "approved" in has else self._none_approved(piece, panel),
            stage_name=piece.stage_name,
            state=piece.state,
            state_words=piece.state_words,
            opens=piece.opens,
            # Words that no page shows are read below it.
            lines=unplaced if over == _EITHER else [*placed, *unplaced],
            blocks=[shown(one) for one in blocks],
            blocks_when=over,
            n_words=words,
            seconds=seconds_aloud(words),
        )

    def _beside(self, place: str, opening: Opening) -> DummyPages:
        """Say what lies beside a page that stands alone: a page without art, or the inside of the cover."""
        alone = opening.right or opening.left
        page = (alone.first_page or 0) + (-1 if place == "left" else 1) if alone else 0
        if 1 <= page <= self.n_pages:
            return self._bare(place, _("Page {page}").format(page=page), _("No art on this page"))
        return self._bare(place, _("Inside of the cover"), _("Inside of the cover"))

    def _bare(self, place: str, label: str, bare: str) -> DummyPages:
        return DummyPages(
            place=place,
            label=label,
            x=self._x(place),
            width=self._width(place),
            arts=[],
            no_newest=bare,
            no_approved=bare,
        )

    def _x(self, place: str) -> float:
        return self.laid.page_width if place == "right" else 0.0

    def _width(self, place: str) -> float:
        return self.laid.page_width * (2 if place == "across" else 1)

    def _arts(self, piece: MapSpread, panel: PanelKind | None, place: str) -> list[DummyArt]:
        newest = piece.picture.picture if piece.picture else None
        approved = self.approved.get(piece.spread_id)
        asked = [(newest, "newest approved")] if newest == approved else [(newest, "newest"), (approved, "approved")]
        found = []
        for number, when in asked:
            row = self.rows.get(number) if number else None
            crop = row and _crop(row, panel)
            if row and crop:
                found.append(self._art(row, when, crop, self._width(place) / self.laid.page_height))
        return found

    def _none_newest(self, piece: MapSpread, panel: PanelKind | None) -> str:
        if piece.picture and not piece.picture.is_read:
            return _("The picture is processing")
        if piece.picture and panel:
            if self._is_laid(piece.picture.picture):
                return _("The newest picture shows the front alone")
            return _("What of the newest picture is the back cannot be told")
        return _("No picture yet")

    def _none_approved(self, piece: MapSpread, panel: PanelKind | None) -> str:
        if panel and piece.spread_id in self.approved:
            if self._is_laid(self.approved[piece.spread_id]):
                return _("The approved picture shows the front alone")
            return _("What of the approved picture is the back cannot be told")
        return _("Nothing approved yet")

    def _text_over(self, piece: MapSpread) -> str:
        asked = (
            ("newest", piece.picture.picture if piece.picture else None),
            ("approved", self.approved.get(piece.spread_id)),
        )
        return " ".join(when for when, number in asked if number not in self.rows or self._is_laid(number))

    def _is_laid(self, picture: int | None) -> bool:
        """Say whether it is known how a picture lies on its page: not of a printer's whole sheet."""
        row = self.rows.get(picture) if picture else None
        return row is not None and _laid(row) is not None

    def _art(self, row: Picture, when: str, crop: tuple[float, float, float, float], pages: float) -> DummyArt:
        return DummyArt(
            picture=row.pk,
            when=when,
            stage_name=row.hand_in.passage.stage.name,
            crop=crop,
            width_px=row.width_px or 1,
            height_px=row.height_px or 1,
            fills=abs(crop[2] / crop[3] / pages - 1) < _SAME_SHAPE,
        )


def _laid(row: Picture) -> PlacedPicture | None:
    """Say how a picture lies; a sheet that lies visibly askew is shown whole, as pages are cut out of it upright."""
    placed = placed_on(row, row.hand_in.passage)
    return placed if placed is not None and abs(placed.turn_deg) <= _MOST_ASKEW_DEG else None


def _crop(row: Picture, panel: PanelKind | None) -> tuple[float, float, float, float] | None:
    """Say what of a picture lies inside the trim, of a cover what lies on one panel; None where it shows none of it."""
    placed = _laid(row)
    if placed is None:
        # A printer's sheet, or a page that cannot be told: it is laid down whole.
        return None if panel == PanelKind.BACK else (0, 0, row.width_px or 1, row.height_px or 1)
    left, right = _across(placed, panel)
    if left is None or right is None:
        return None
    turned_in = placed.flat.turn_in_mm
    top, bottom = placed.share_y(turned_in), placed.share_y(placed.flat.height_mm - turned_in)
    x0, x1 = placed.share_x(left), placed.share_x(right)
    wide, high = row.width_px or 1, row.height_px or 1
    return round(x0 * wide, 1), round(top * high, 1), round((x1 - x0) * wide, 1), round((bottom - top) * high, 1)


def _across(placed: PlacedPicture, panel: PanelKind | None) -> tuple[float | None, float | None]:
    """Say from where to where across the flat, in mm, a piece or one panel of a cover reaches."""
    if panel is None:
        return 0.0, placed.flat.width_mm
    panels = placed.flat.panels
    pages: Sequence = [one for one in panels if one.kind == PanelKind.PAGE]
    if pages:
        # Before the spine is known, back and front are two pages side by side, or the front lies there alone.
        if panel == PanelKind.BACK and len(pages) == 1:
            return None, None
        one = pages[0] if panel == PanelKind.BACK else pages[-1]
        return one.left_mm, one.right_mm
    found = next((one for one in panels if one.kind == panel), None)
    return (found.left_mm, found.right_mm) if found else (None, None)
