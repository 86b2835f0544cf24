"""The piece of paper a spread becomes: its size, its template to draw on, and what a file says against it."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse
from django.utils.text import slugify

from reviews.models import Book, Passage, Picture, Spread
from reviews.pages.wording import press as press_words
from reviews.pages.wording.pieces import size_words
from reviews.press import covers
from reviews.press.covers import Trim
from reviews.press.file_check import FileFacts, FileFault, check_file
from reviews.press.flats import Flat
from reviews.press.limits import ArtKind, FileLimits
from reviews.press.pages import PieceKind
from reviews.rules.states import PictureState, StageKind

TEMPLATE_KINDS = ("pdf", "svg", "png")
_LONGEST_NAME = 60
#: What a draft is told before it is handed in, and at which stages: an idea or a sketch is no file for print.
_TOLD = frozenset(
    {FileFault.TOO_FEW_PIXELS, FileFault.FEW_PIXELS, FileFault.WRONG_PROPORTIONS, FileFault.NO_BLEED}
    | {FileFault.NO_PROFILE}
)
_ART_OF_STAGE = {
    StageKind.LINE: ArtKind.LINE,
    StageKind.INK: ArtKind.LINE,
    StageKind.FLATS: ArtKind.TONE,
    StageKind.COLOUR: ArtKind.TONE,
    StageKind.FINISH: ArtKind.TONE,
}


@dataclass(frozen=True)
class PieceAsked:
    """What a draft page says of the piece that its pictures are for; ``templates`` by the name of their kind."""

    size: str
    templates: dict[str, str]
    is_held_against: bool


def flat_for(spread: Spread) -> Flat | None:
    """Lay a spread flat by its book's trim and bleed; needs ``book`` joined.

    None for a cover: its size needs the spine and so the paper, which nobody has told.
    """
    if spread.kind == PieceKind.COVER:
        return None
    book = spread.book
    trim = Trim(float(book.trim_width_mm), float(book.trim_height_mm))
    if spread.as_piece().n_pages_across == 2:
        return covers.spread(trim, bleed_mm=float(book.bleed_mm))
    return covers.single_page(trim, bleed_mm=float(book.bleed_mm))


def template_title(spread: Spread) -> str:
    """Name a template inside its file; needs ``book`` joined."""
    return f"{spread.book.title}, {spread.label}"


def template_file_name(spread: Spread, kind: str) -> str:
    """Name a template's file by book and pages, in letters that every disk takes; needs ``book`` joined."""
    pages = dict.fromkeys(page for page in (spread.first_page, spread.last_page) if page is not None)
    numbers = "-".join(str(page) for page in pages)
    piece = f"pages-{numbers}" if len(pages) > 1 else f"page-{numbers}" if pages else slugify(spread.label)
    title = slugify(spread.book.title)[:_LONGEST_NAME].strip("-")
    return f"{title or f'book-{spread.book_id}'}-{piece or spread.pk}-template.{kind}"


def piece_asked(passage: Passage) -> PieceAsked | None:
    """Say which size is asked for, where it is known; needs book, spread and stage joined (no query)."""
    flat = _flat_of(passage)
    if flat is None:
        return None
    templates = {kind.upper(): reverse("reviews:template", args=[passage.spread_id, kind]) for kind in TEMPLATE_KINDS}
    return PieceAsked(size_words(flat), templates, StageKind(passage.stage.kind) in _ART_OF_STAGE)


def file_cautions(picture: Picture, passage: Passage) -> list[str]:
    """Say what speaks against a picture in print, from what was stored when it was read (no query, no pixels).

    Nothing where nothing can be told: of what is not read yet, of a PDF, whose pixels are not its own, of a cover,
    whose size is not known, and at stages that give no file for print. An empty list vouches for nothing.
    """
    art, flat, facts = _ART_OF_STAGE.get(StageKind(passage.stage.kind)), _flat_of(passage), _facts_of(picture)
    if art is None or flat is None or facts is None:
        return []
    report = check_file(facts, flat, art, FileLimits(), ink=None)
    return [press_words.fault(found) for found in report.faults if found.code in _TOLD]


def _flat_of(passage: Passage) -> Flat | None:
    spread: Spread = passage.spread
    book: Book = passage.book
    spread.book = book
    return flat_for(spread)


def _facts_of(picture: Picture) -> FileFacts | None:
    stored = picture.facts
    if picture.state != PictureState.READY or "mode" not in stored or stored["kind"] == "PDF":
        return None
    return FileFacts(
        picture.width_px or 0, picture.height_px or 0, stored["mode"], stored["bits"], bool(stored["profile_name"])
    )
