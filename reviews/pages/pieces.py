"""The piece of paper a spread becomes: its size, its template to draw on, and what a file says against it."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse
from django.utils.text import slugify

from reviews.models import Book, Passage, Picture, Spread
from reviews.pages.wording import pieces as piece_words
from reviews.pages.wording import press as press_words
from reviews.pages.wording.pieces import size_words
from reviews.press import covers
from reviews.press.covers import Trim
from reviews.press.file_check import FileFacts, FileFault, FoundFault, check_file
from reviews.press.flats import Flat
from reviews.press.limits import ArtKind, FileLimits, Resolution
from reviews.press.pages import PieceKind
from reviews.press.refused import CannotPrint
from reviews.press.set_up import PieceName
from reviews.queries.print_set_ups import print_of
from reviews.rules.states import PictureState, StageKind

TEMPLATE_KINDS = ("pdf", "svg", "png")
_LONGEST_NAME = 60
#: What a draft of a file for print is told before it is handed in.
_TOLD = frozenset(
    {FileFault.TOO_FEW_PIXELS, FileFault.FEW_PIXELS, FileFault.WRONG_PROPORTIONS, FileFault.NO_BLEED}
    | {FileFault.NO_PROFILE}
)
#: Before final art: whether it can be judged at all, its shape and its colours.
_TOLD_OF_SKETCH = frozenset({FileFault.TOO_FEW_PIXELS, FileFault.WRONG_PROPORTIONS, FileFault.NO_PROFILE})
_UNTOLD_OF_PDF = frozenset({FileFault.TOO_FEW_PIXELS, FileFault.FEW_PIXELS, FileFault.NO_BLEED, FileFault.NO_PROFILE})
#: A sketch under this many pixels to the inch is blurred when it is looked at in the size it will be printed: fewer
#: than a plain screen shows. Common practice, no published figure.
_SKETCH_LIMITS = FileLimits(resolutions={ArtKind.TONE: Resolution(72.0, 72.0, "screen-at-print-size")})
#: For a piece whose size is not known: what is asked of it then does not depend on one.
_ANY_FLAT = covers.single_page(Trim(250.0, 250.0), bleed_mm=3.0)
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


def flat_for(spread: Spread) -> Flat | None:
    """Lay a spread flat by its book's print set-up; needs ``book`` joined with it.

    None for a cover while nobody has told the paper: its size needs the spine.
    """
    try:
        return print_of(spread.book).flats().get(_piece_name(spread))
    except CannotPrint:
        return None


def _piece_name(spread: Spread) -> PieceName:
    if spread.kind == PieceKind.COVER:
        return PieceName.COVER
    return PieceName.SPREAD if spread.as_piece().n_pages_across == 2 else PieceName.PAGE


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


def piece_file_name(book: Book, name: PieceName, kind: str) -> str:
    """Name the file of a piece's template by the book, in letters that every disk takes."""
    title = slugify(book.title)[:_LONGEST_NAME].strip("-")
    return f"{title or f'book-{book.pk}'}-{name}-template.{kind}"


def piece_asked(passage: Passage) -> PieceAsked | None:
    """Say which size is asked for, where it is known; needs book, spread and stage joined (no query)."""
    flat = _flat_of(passage)
    if flat is None:
        return None
    templates = {kind.upper(): reverse("reviews:template", args=[passage.spread_id, kind]) for kind in TEMPLATE_KINDS}
    return PieceAsked(size_words(flat), templates)


def file_cautions(picture: Picture, passage: Passage) -> list[str]:
    """Say what speaks against a picture, from what was stored when it was read (no query, no pixels).

    Nothing where nothing can be told: of what is not read yet, and of the size of a cover, which is not known. Of a
    PDF, whose pixels are not its own, only pages and shape. An empty list vouches for nothing.
    """
    stored = picture.facts
    if picture.state != PictureState.READY or "mode" not in stored:
        return []
    cautions = [piece_words.of_several(stored["n_pages"])] if stored.get("n_pages", 1) > 1 else []
    if stored["mode"].startswith("CMYK"):
        cautions.append(str(piece_words.CMYK))
    return cautions + [press_words.fault(found) for found in _faults(picture, passage)]


def _faults(picture: Picture, passage: Passage) -> list[FoundFault]:
    """Hold a picture against its piece; a sketch is no file for print, but one of a few pixels cannot be judged."""
    kind, flat, facts = StageKind(passage.stage.kind), _flat_of(passage), _facts_of(picture)
    if kind == StageKind.PROOF:
        return []
    told = (_TOLD if kind in _ART_OF_STAGE else _TOLD_OF_SKETCH) - (_UNTOLD_OF_PDF if _is_pdf(picture) else frozenset())
    if kind == StageKind.IDEAS:
        told -= {FileFault.WRONG_PROPORTIONS}  # several small ones may stand on one sheet
    if flat is None:
        told &= {FileFault.NO_PROFILE}
        flat = _ANY_FLAT
    limits = FileLimits() if kind in _ART_OF_STAGE else _SKETCH_LIMITS
    report = check_file(facts, flat, _ART_OF_STAGE.get(kind, ArtKind.TONE), limits, ink=None)
    is_plain_grey = kind not in _ART_OF_STAGE and facts.mode.startswith("GREY")
    return [f for f in report.faults if f.code in told and not (f.code == FileFault.NO_PROFILE and is_plain_grey)]


def _flat_of(passage: Passage) -> Flat | None:
    spread: Spread = passage.spread
    book: Book = passage.book
    spread.book = book
    return flat_for(spread)


def _is_pdf(picture: Picture) -> bool:
    return picture.facts["kind"] == "PDF"


def _facts_of(picture: Picture) -> FileFacts:
    stored = picture.facts
    has_profile = bool(stored.get("profile_name"))
    return FileFacts(picture.width_px or 1, picture.height_px or 1, stored["mode"], stored.get("bits", 8), has_profile)
