"""The page on which a manuscript is broken over the pages of a book and shown before it is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.models import Book, Spread, SpreadText
from reviews.pages.pieces import flat_for
from reviews.pages.wording.manuscript import BROKEN_BY, remark_words
from reviews.press.flats import Flat
from reviews.press.page_blocks import on_page, reads_so
from reviews.press.pages import PieceKind
from reviews.press.text_text import blocks_from_text
from reviews.queries.text_blocks import pieces_of_text, texts_of
from reviews.rules.manuscript import BrokenText, ManuscriptRemark, PagesOfArt, as_text, n_words, paragraphs_joined

_MOST_REMARKS = 12


@dataclass(frozen=True, kw_only=True)
class PageCell:
    """One page with the words it would have; ``standing`` says what becomes of text that stands there already."""

    number: int
    paragraphs: tuple[str, ...]
    n_words: int
    standing: str
    is_in_the_way: bool


@dataclass(frozen=True, kw_only=True)
class PieceCard:
    """One piece of art and its pages; ``may_go_on``: all from here can move one piece further."""

    label: str
    spread_id: int
    cells: list[PageCell]
    may_go_on: bool


@dataclass(frozen=True, kw_only=True)
class ManuscriptPage:
    """The page: empty before a text is brought, with a card for each piece afterwards."""

    seen: str
    n_placed: int
    text: str = ""
    broken_by: str = ""
    remarks: list[str] = field(default_factory=list)
    left_out: tuple[str, ...] = ()
    told: str = ""
    cards: list[PieceCard] = field(default_factory=list)


def manuscript_page(
    book: Book,
    broken: BrokenText | None = None,
    *,
    remarks: Sequence[ManuscriptRemark] = (),
    seen: str | None = None,
) -> ManuscriptPage:
    """Gather the page (3 queries). ``seen``: the versions that its reader began from, where they have begun."""
    pieces, texts = pieces_of_text(book), texts_of(book)
    fresh = ",".join(f"{spread.pk}:{texts[spread.pk].version}" for spread in pieces if spread.pk in texts)
    n_placed = sum(1 for spread in pieces if spread.pk in texts and texts[spread.pk].blocks)
    page = ManuscriptPage(seen=fresh if seen is None else seen, n_placed=n_placed)
    if broken is None:
        return page
    cards = _cards(pieces, texts, broken, book)
    return ManuscriptPage(
        seen=page.seen,
        n_placed=page.n_placed,
        text=as_text(broken),
        broken_by=str(BROKEN_BY[broken.by]),
        remarks=_remarked([*remarks, *broken.remarks]),
        left_out=broken.left_out,
        told=_told(broken),
        cards=cards,
    )


def art_of(book: Book) -> list[PagesOfArt]:
    """Give the pages of each piece that text is placed on, as the rules of breaking know them (1 query)."""
    return [_pages(spread) for spread in pieces_of_text(book)]


def _pages(spread: Spread) -> PagesOfArt:
    assert spread.first_page is not None and spread.last_page is not None
    return PagesOfArt(spread.first_page, spread.last_page, is_inside=spread.kind != PieceKind.ENDS)


def _cards(
    pieces: Sequence[Spread], texts: Mapping[int, SpreadText], broken: BrokenText, book: Book
) -> list[PieceCard]:
    flats: dict[int, Flat | None] = {}
    cards = []
    for spread in pieces:
        spread.book = book
        pages, n_across = _pages(spread).pages, spread.as_piece().n_pages_across
        if n_across not in flats:
            flats[n_across] = flat_for(spread)
        text, flat = texts.get(spread.pk), flats[n_across]
        cells = [_cell(broken, number, panel, text, flat) for panel, number in enumerate(pages)]
        has_words = any(cell.paragraphs for cell in cells)
        cards.append(PieceCard(label=spread.label, spread_id=spread.pk, cells=cells, may_go_on=has_words))
    is_last_free = not cards or not cards[-1].may_go_on
    return cards if is_last_free else [_held(card) for card in cards]


def _held(card: PieceCard) -> PieceCard:
    return PieceCard(label=card.label, spread_id=card.spread_id, cells=card.cells, may_go_on=False)


def _cell(broken: BrokenText, number: int, panel: int, text: SpreadText | None, flat: Flat | None) -> PageCell:
    words = broken.words.get(number, ())
    standing, is_in_the_way = _standing(words, panel, text, flat)
    return PageCell(
        number=number, paragraphs=words, n_words=n_words(words), standing=standing, is_in_the_way=is_in_the_way
    )


def _standing(words: tuple[str, ...], panel: int, text: SpreadText | None, flat: Flat | None) -> tuple[str, bool]:
    """Say what stands on a page already, what becomes of it, and whether it is in the way."""
    there = on_page(blocks_from_text(text.blocks), panel, flat) if text and flat else []
    if not there:
        return "", False
    if not words:
        return _("Keeps the text that is placed here: “{words}”").format(words=_begin(there[0].words)), False
    if reads_so(there, paragraphs_joined(words)):
        return _("Is placed so already."), False
    if len(there) == 1:
        return _("Changes the words of the block that is here: “{words}”").format(words=_begin(there[0].words)), False
    return _("{n} blocks stand here already. Change them on the text page, and move these words away.").format(
        n=len(there)
    ), True


def _begin(words: str) -> str:
    plain = " ".join(words.split())
    return plain if len(plain) <= 60 else plain[:59].rsplit(" ", 1)[0] + " …"


def _remarked(remarks: Sequence[ManuscriptRemark]) -> list[str]:
    """Put the first of them in words, and say how many more there are."""
    words = [remark_words(one) for one in remarks[:_MOST_REMARKS]]
    n_more = len(remarks) - len(words)
    if n_more:
        told = ngettext("There is {n} more remark like these.", "There are {n} more remarks like these.", n_more)
        words.append(told.format(n=n_more))
    return words


def _told(broken: BrokenText) -> str:
    n = sum(map(n_words, broken.words.values()))
    words = ngettext("{n} word", "{n} words", n).format(n=n)
    pages = ngettext("{n} page", "{n} pages", len(broken.words)).format(n=len(broken.words))
    return _("{words} on {pages}.").format(words=words, pages=pages)
