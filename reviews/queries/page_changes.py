"""What a book's pages carry, what would come of another wish, and what that would do to its money."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef, Q

from reviews.models import Book, HandIn, Spread, Stage, TermsVersion
from reviews.press.page_plan import BindingKind, EndsKind, page_plan
from reviews.press.pages import Piece, free_places
from reviews.press.refused import CannotPrint
from reviews.queries.statement import entries_of, facts_of
from reviews.queries.terms import history_of
from reviews.rules.contract.page_effects import PageEffects, effects_between
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.timeline import SpreadFacts, Story, tell
from reviews.rules.entries import Entry
from reviews.rules.moving_payloads import AddedSpread, BackSpread, DroppedSpread, RepageData
from reviews.rules.page_changes import BoundBook, LaidPiece, PageChange, WantedPages, change_of
from reviews.rules.payload_shapes import PassageMade
from reviews.rules.states import Deed, Role


@dataclass(frozen=True)
class BookPages:
    """The spreads that lie in a book, in its order, and those that were dropped, the newest first."""

    book: Book
    live: list[Spread]
    dropped: list[Spread]

    def change(self, wanted: WantedPages) -> PageChange:
        """Say what comes of a wish, or refuse it."""
        return change_of(wanted, _laid(self.live), _laid(self.dropped), bound(self.book))


def pages_of(book: Book) -> BookPages:
    """Read a book's spreads and the dropped ones (1 query)."""
    rows = list(Spread.objects.filter(book=book).select_related("plan").order_by("position", "pk"))
    dropped = [row for row in rows if row.dropped_at is not None]
    dropped.sort(key=lambda row: row.dropped_at or row.book.created_at, reverse=True)
    return BookPages(book, [row for row in rows if row.removed_at is None], dropped)


def bound(book: Book) -> BoundBook:
    """Say which pages a book has."""
    return BoundBook(book.n_pages, BindingKind(book.binding), EndsKind(book.ends))


def free_of(book: Book, pieces: Iterable[Piece]) -> list[Piece]:
    """List the pages of a book that carry no art (no query); none where its pages were never such as can be bound."""
    stands = bound(book)
    try:
        plan = page_plan(stands.n_pages, stands.binding, stands.ends)
    except CannotPrint:
        return []
    return free_places(plan, pieces)


def has_begun(book: Book) -> bool:
    """Say whether a book's pages are both sides' affair (1 query).

    They are from the first version of its terms on, for its fee was agreed for these pages, and from the first picture
    in a draft, for somebody drew for them.
    """
    given = HandIn.objects.filter(Q(number__isnull=False) | Q(pictures__isnull=False), passage__book=OuterRef("pk"))
    entered = TermsVersion.objects.filter(book=OuterRef("pk"))
    return Book.objects.filter(Exists(given) | Exists(entered), pk=book.pk).exists()


def effects_of(book: Book, pages: BookPages, change: PageChange, at: datetime) -> PageEffects:
    """Work out what a change would do to instalments and to what stopping would leave, as of today (4 queries)."""
    entries, facts, history = entries_of([book.pk]).get(book.pk, []), facts_of([book.pk]), history_of(book)
    as_of = history.on(book.day_rule.local_date(at)).day_rule.local_date(at)
    story = tell(entries, facts)
    data = _as_if(pages, change, story)
    entry = Entry(
        seq=story.last_seq + 1, at=at, deed=Deed.REPAGE, role=Role.ART_DIRECTOR, by="", passage=None, data=data
    )
    before = draw_up(entries, history, as_of, facts)
    after = draw_up([*entries, entry], history, as_of, facts | _new_facts(change))
    return effects_between(before.money, after.money)


def _laid(rows: list[Spread]) -> list[LaidPiece]:
    return [LaidPiece(row.pk, row.as_piece(), row.position) for row in rows]


def _new_facts(change: PageChange) -> dict[int, SpreadFacts]:
    return {-n: SpreadFacts(-n, position, piece.label) for n, (piece, position) in enumerate(change.adds, start=1)}


def _as_if(pages: BookPages, change: PageChange, story: Story) -> RepageData:
    """Write the entry that the change would leave, as far as money hangs on it; what is new has numbers below zero."""
    of: dict[int, list[int]] = {}
    for told in story.everyone():
        of.setdefault(told.spread.spread, []).append(told.passage)
    stages = list(Stage.objects.filter(plan__book=pages.book, plan__covers=False).order_by("position"))
    dropped = [DroppedSpread(spread=number, label="", pages=[], passages=of.get(number, [])) for number in change.drops]
    back = [
        BackSpread(spread=number, was="", label="", pages=[], position=0, passages=of.get(number, []))
        for number in change.backs
    ]
    made = [
        PassageMade(
            passage=-(n * 100 + stage.position), spread=-n, stage=stage.kind, gate=stage.gate, position=stage.position,
            due_on="",
        )
        for n, _ in enumerate(change.adds, start=1)
        for stage in stages
    ]  # fmt: skip
    return RepageData(
        start_on=None, spreads=[], passages=made, opens=[], printers=[], dues={}, n_pages=[], dropped=dropped,
        back=back, added=[AddedSpread(spread=-n, label="") for n, _ in enumerate(change.adds, start=1)], placed=[],
        answer_dues={}, instalments=[], stopped=[], reason="",
    )  # fmt: skip
