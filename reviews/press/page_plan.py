"""Which pages face, which stand alone, which are pasted down, by binding; and what cannot be folded.

Paper books are folded in sections of 16 or 8 pages: page 1 is a right-hand page, an opening is an even page and the odd
page after it, the last page stands alone on the left. The centre opening of a section is one flat sheet; every other
opening is two halves that meet. A board book is glued from folded boards: page 1 is a left-hand page on the back of the
cover, the last page a right-hand one, and every opening is one flat board.

Sources: the self-ended layout is Wendy Watson's; board books as several printers of board books describe them
(10, 14, 18, 22 pages are ordinary); the arithmetic of folding is arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from reviews.press.refused import CannotPrint


class BindingKind(StrEnum):
    """How the book is held together. The words are the trade's."""

    CASE = "case"
    PAPERBACK = "paperback"
    STITCHED = "stitched"
    BOARD = "board"


class EndsKind(StrEnum):
    """Where the endpapers come from."""

    SELF = "self"
    SEPARATE = "separate"
    NONE = "none"


class Caution(StrEnum):
    """What is possible but wants the printer's word."""

    SHORT_SECTION = "short-section"  # a multiple of 4 that is no multiple of 8: one section of 4
    THICK_STITCH = "thick-stitch"  # more pages than a stitched book usually holds
    MANY_BOARDS = "many-boards"  # a board book thicker than is usual
    THIN_SPINE = "thin-spine"  # a square spine on very few pages


# Which ends a binding has: a case is lined by them; paperback and stitched books have none unless they are asked for;
# a board book has none, its cover's back is page 1.
ENDS_OF = {
    BindingKind.CASE: (EndsKind.SEPARATE, EndsKind.SELF),
    BindingKind.PAPERBACK: (EndsKind.NONE, EndsKind.SEPARATE),
    BindingKind.STITCHED: (EndsKind.NONE,),
    BindingKind.BOARD: (EndsKind.NONE,),
}
#: What a binding usually has: a case is self-ended in picture books, the others go without (common practice).
_USUAL_ENDS = {BindingKind.CASE: EndsKind.SELF}
SMALLEST, LARGEST = 8, 128  # pages of a paper picture book; our own bounds, wide of the usual 24 to 48
BOARD_SMALLEST, BOARD_LARGEST, BOARD_USUAL = 6, 40, 30
STITCHED_USUAL = 64  # common practice; the printer says where a stitched book begins to gape
THIN = 24


@dataclass(frozen=True)
class FoldedSection:
    """One folded sheet: its first page and how many pages it has."""

    first: int
    n_pages: int

    @property
    def centre(self) -> tuple[int, int]:
        """Name the opening that is one flat sheet, where both halves align exactly."""
        left = self.first + self.n_pages // 2 - 1
        return left, left + 1


@dataclass(frozen=True, kw_only=True)
class PagePlan:
    """The pages of one book as they will lie.

    ``openings`` are facing pages that carry art, in order, ``singles`` the pages that stand alone, ``pasted`` the pages
    glued to the boards, ``ends`` the facing pages of self-ends; separate ends are leaves outside the count.
    """

    binding: BindingKind
    ends_kind: EndsKind
    n_pages: int
    sections: tuple[FoldedSection, ...]
    openings: tuple[tuple[int, int], ...]
    singles: tuple[int, ...]
    pasted: tuple[int, ...]
    ends: tuple[tuple[int, int], ...]
    first_is_left: bool
    cautions: tuple[Caution, ...]

    @property
    def flat_openings(self) -> tuple[tuple[int, int], ...]:
        """List the openings printed on one sheet or board: only there do two halves surely align."""
        if self.binding == BindingKind.BOARD:
            return self.openings
        centres = {section.centre for section in self.sections}
        return tuple(pair for pair in (*self.ends[:1], *self.openings, *self.ends[1:]) if pair in centres)


def usual_ends(binding: BindingKind) -> EndsKind:
    """Name the ends that a binding usually has."""
    return _USUAL_ENDS.get(binding, EndsKind.NONE)


def page_plan(n_pages: int, binding: BindingKind, ends_kind: EndsKind) -> PagePlan:
    """Plan the pages of a book, or raise CannotPrint with the reason why it cannot be folded or bound."""
    if ends_kind not in ENDS_OF[binding]:
        raise CannotPrint("ends-not-for-binding", binding=binding, ends=ends_kind)
    return _boards(n_pages) if binding == BindingKind.BOARD else _paper(n_pages, binding, ends_kind)


def _boards(n_pages: int) -> PagePlan:
    if n_pages % 2:
        raise CannotPrint("odd-boards", n=n_pages)
    if not BOARD_SMALLEST <= n_pages <= BOARD_LARGEST:
        raise CannotPrint("boards-out-of-range", n=n_pages, smallest=BOARD_SMALLEST, largest=BOARD_LARGEST)
    return PagePlan(
        binding=BindingKind.BOARD,
        ends_kind=EndsKind.NONE,
        n_pages=n_pages,
        sections=(),
        openings=tuple((page, page + 1) for page in range(1, n_pages, 2)),
        singles=(),
        pasted=(),
        ends=(),
        first_is_left=True,
        cautions=(Caution.MANY_BOARDS,) if n_pages > BOARD_USUAL else (),
    )


def _paper(n_pages: int, binding: BindingKind, ends_kind: EndsKind) -> PagePlan:
    if not SMALLEST <= n_pages <= LARGEST:
        raise CannotPrint("pages-out-of-range", n=n_pages, smallest=SMALLEST, largest=LARGEST)
    if n_pages % 4:
        raise CannotPrint("cannot-be-folded", n=n_pages, below=n_pages // 4 * 4, above=-(-n_pages // 4) * 4)
    is_self = ends_kind == EndsKind.SELF
    if is_self and n_pages < 16:
        raise CannotPrint("too-few-for-self-ends", n=n_pages)
    first, last = (4, n_pages - 3) if is_self else (2, n_pages - 1)
    return PagePlan(
        binding=binding,
        ends_kind=ends_kind,
        n_pages=n_pages,
        sections=tuple(_sections(n_pages, binding)),
        openings=tuple((page, page + 1) for page in range(first, last, 2)),
        singles=() if is_self else (1, n_pages),
        pasted=(1, n_pages) if is_self else (),
        ends=((2, 3), (n_pages - 2, n_pages - 1)) if is_self else (),
        first_is_left=False,
        cautions=tuple(_cautions(n_pages, binding)),
    )


def _sections(n_pages: int, binding: BindingKind) -> Iterator[FoldedSection]:
    """Fold a stitched book as one section, others in sixteens, then an eight and a four where they are left over."""
    if binding == BindingKind.STITCHED:
        yield FoldedSection(1, n_pages)
        return
    page = 1
    for size in (16, 8, 4):
        while n_pages - page + 1 >= size:
            yield FoldedSection(page, size)
            page += size


def _cautions(n_pages: int, binding: BindingKind) -> Iterator[Caution]:
    if n_pages % 8 and binding != BindingKind.STITCHED:
        yield Caution.SHORT_SECTION
    if binding == BindingKind.STITCHED and n_pages > STITCHED_USUAL:
        yield Caution.THICK_STITCH
    if binding == BindingKind.PAPERBACK and n_pages < THIN:
        yield Caution.THIN_SPINE
