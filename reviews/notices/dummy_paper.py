"""The dummy on paper, to be read aloud from: its pages in order, the pictures above, the text large below."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.units import mm

from reviews.notices.pdf_stream import (
    HairBox,
    JpegOnPage,
    LineOfType,
    PdfStream,
    PrintedPage,
    broken,
    is_jpeg,
    width_of,
)
from reviews.notices.type import SANS, SERIF
from reviews.pages.dummy import Dummy, DummyArt, DummyOpening, DummyPages

#: Gives a picture's screen preview as JPEG, or None where there is none.
Preview = Callable[[int], bytes | None]

_WIDTH, _HEIGHT = landscape(A4)
_MARGIN = 10 * mm
_HEAD = 7 * mm
_GAP = 5 * mm
#: Text to be read aloud from arm's length; smaller only where it would take more than half of the page.
_TEXT_SIZES = (15.0, 13.0, 11.0)
_LEADING = 1.4
_SMALL = 8.0


@dataclass(frozen=True)
class _Set:
    """The text of an opening, broken into lines: for each of its sides where the column begins, and its lines."""

    size: float
    columns: list[tuple[float, list[str]]]

    @property
    def n_lines(self) -> int:
        return max((len(lines) for _x, lines in self.columns), default=0)


def dummy_pdf(dummy: Dummy, title: str, when: str, preview: Preview, foot: str) -> Iterator[bytes]:
    """Give a PDF of the dummy bit by bit, one page an opening, with its ``when`` ("newest" or "approved") pictures.

    One page is made at a time, so memory holds the pictures of one opening, however long the book is. A text that does
    not fit under its pictures goes on on a page of its own.
    """
    pdf = PdfStream(title, _WIDTH, _HEIGHT, (SERIF, SANS))
    yield from pdf.begin()
    for opening in dummy.openings:
        for page in _pages_of(opening, dummy, when, preview, (title, foot)):
            yield from pdf.page(page)
    yield from pdf.end()


def _pages_of(
    opening: DummyOpening, dummy: Dummy, when: str, preview: Preview, around: tuple[str, str]
) -> Iterator[PrintedPage]:
    text = _set(opening)
    room = _HEIGHT - 2 * _MARGIN - 2 * _HEAD
    most = int(room * 0.5 / (text.size * _LEADING))
    n_first = min(text.n_lines, most)
    words_high = n_first * text.size * _LEADING + (_GAP if n_first else 0)
    scale = min((_WIDTH - 2 * _MARGIN) / opening.width, (room - words_high) / dummy.page_height)
    left = (_WIDTH - opening.width * scale) / 2 - opening.x * scale
    top = _HEIGHT - _MARGIN - _HEAD
    bottom = top - dummy.page_height * scale
    head = _head(opening, when, around)
    pictures, lines, frames = [], [*head], []
    for pages in opening.pages:
        box = (left + pages.x * scale, bottom, pages.width * scale, dummy.page_height * scale)
        frames.append(HairBox(*box))
        laid = _laid(pages.art(when), box, preview)
        pictures += [laid] if laid else []
        lines += [] if laid else [_missing(pages, when, box)]
    yield PrintedPage(frames, pictures, [*lines, *_words(text, 0, n_first, bottom - _GAP)])
    for start in range(n_first, text.n_lines, int(room / (text.size * _LEADING))):
        end = start + int(room / (text.size * _LEADING))
        yield PrintedPage([], [], [*head, *_words(text, start, end, top)])


def _set(opening: DummyOpening) -> _Set:
    """Break the text of an opening in the largest size at which it takes no more than half of the page."""
    texts = [(pages, read) for pages in opening.pages if (read := _read(pages))]
    across = _WIDTH - 2 * _MARGIN
    wide = across if len(texts) < 2 else (across - _GAP) / 2
    room = (_HEIGHT - 2 * _MARGIN - 2 * _HEAD) * 0.5
    found = _Set(_TEXT_SIZES[-1], [])
    for size in _TEXT_SIZES:
        columns = [
            (_MARGIN + at * (wide + _GAP), [part for line in lines for part in broken(line, SERIF, size, wide)])
            for at, (_pages, lines) in enumerate(texts)
        ]
        found = _Set(size, columns)
        if found.n_lines * size * _LEADING <= room:
            break
    return found


def _read(pages: DummyPages) -> list[str]:
    """Give what is read aloud there: the text of the brief, or the blocks placed on the pages in its stead."""
    return pages.lines or [" ".join(line["words"] for line in block["lines"]) for block in pages.blocks]


def _words(text: _Set, start: int, end: int, top: float) -> list[LineOfType]:
    return [
        LineOfType(words=line, face=SERIF, size=text.size, x=x, y=top - (at + 0.8) * text.size * _LEADING)
        for x, lines in text.columns
        for at, line in enumerate(lines[start:end])
    ]


def _head(opening: DummyOpening, when: str, around: tuple[str, str]) -> list[LineOfType]:
    title, foot = around
    stages = [art.stage_name for pages in opening.pages if (art := pages.art(when))]
    said = f"{opening.name}. {', '.join(dict.fromkeys(stages))}" if stages else opening.name
    right = _WIDTH - _MARGIN - width_of(said, SANS, _SMALL)
    top = _HEIGHT - _MARGIN - _SMALL
    return [
        _small(title, _MARGIN, top),
        _small(said, right, top),
        _small(foot, _MARGIN, _MARGIN),
    ]


def _small(words: str, x: float, y: float) -> LineOfType:
    return LineOfType(words=words, face=SANS, size=_SMALL, x=x, y=y, grey=0.3)


def _missing(pages: DummyPages, when: str, box: tuple[float, float, float, float]) -> LineOfType:
    """Say on the paper what stands there in place of a picture."""
    words = (pages.no_newest if when == "newest" else pages.no_approved) or _("The picture could not be read.")
    x, y, width, height = box
    left = x + (width - width_of(words, SANS, 10)) / 2
    return LineOfType(words=words, face=SANS, size=10, x=left, y=y + height / 2, grey=0.3)


def _laid(art: DummyArt | None, box: tuple[float, float, float, float], preview: Preview) -> JpegOnPage | None:
    """Lay a picture on its pages as the screen does: what of it lies inside the trim fills them, or all of it fits."""
    data = preview(art.picture) if art else None
    if art is None or data is None or not is_jpeg(data):
        return None
    x, y, width, height = box
    crop_x, crop_y, crop_width, crop_height = art.crop
    shares: Sequence[float] = (width / crop_width, height / crop_height)
    share = max(shares) if art.fills else min(shares)
    left = x + width / 2 - (crop_x + crop_width / 2) * share
    # A page counts upwards, a picture downwards.
    lower = y + height / 2 - (art.height_px - crop_y - crop_height / 2) * share
    seen_wide, seen_high = min(width, crop_width * share), min(height, crop_height * share)
    cut = (x + (width - seen_wide) / 2, y + (height - seen_high) / 2, seen_wide, seen_high)
    return JpegOnPage(
        data=data, x=left, y=lower, width=art.width_px * share, height=art.height_px * share, cut=cut
    )  # fmt: skip
