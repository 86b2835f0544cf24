"""Briefs and their references, read: what stands now, what stood at a hand-in, and every version there was."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db.models import F, Min, Q

from reviews import storage
from reviews.models import Book, Brief, Passage, Person, Reference, Seat, Spread
from reviews.queries.access import NotThere, get_book
from reviews.queries.store_turns import store_turn
from reviews.rules.briefs import WrittenBrief, in_force
from reviews.rules.states import Deed, PassageState, PictureState, StageKind


def get_spread_for_brief(
    person: Person, spread_id: int, *, thing: str = "brief", deed: Deed | None = None
) -> tuple[Spread, Seat]:
    """Fetch a spread that lies in the book now (2 queries)."""
    spread = Spread.objects.select_related("book").filter(pk=spread_id, removed_at=None).first()
    if spread is None:
        raise NotThere
    _, seat = get_book(person, spread.book_id, thing=thing, deed=deed)
    return spread, seat


def get_reference(
    person: Person, reference_id: int, *, thing: str = "brief", deed: Deed | None = None
) -> tuple[Reference, Seat]:
    """Fetch a reference (2 queries). What was taken away can be read on: a note may be about it."""
    reference = Reference.objects.select_related("book", "spread").filter(pk=reference_id).first()
    if reference is None:
        raise NotThere
    _, seat = get_book(person, reference.book_id, thing=thing, deed=deed)
    return reference, seat


def versions_of(book: Book, spread: Spread | None) -> list[Brief]:
    """List every version of one brief, newest first (1 query)."""
    rows = Brief.objects.select_related("written_by__person").filter(book=book, spread=spread)
    return list(rows.order_by("-version"))


def newest_brief(book: Book, spread: Spread | None) -> Brief | None:
    """Find the version that stands now (1 query)."""
    return Brief.objects.filter(book=book, spread=spread).order_by("-version").first()


def newest_of_spreads(book: Book) -> list[Brief]:
    """List the version that stands now of each spread's brief (1 query)."""
    newest = {
        brief.spread_id: brief for brief in Brief.objects.filter(book=book).exclude(spread=None).order_by("version")
    }
    return list(newest.values())


def references_of(book: Book, spread: Spread | None) -> list[Reference]:
    """List the references that stand beside one brief (1 query)."""
    return list(Reference.objects.filter(book=book, spread=spread, removed_at=None).order_by("pk"))


def references_concerning(passage: Passage) -> list[Reference]:
    """List the references of the spread and of its book, the spread's first (1 query)."""
    about = Q(spread_id=passage.spread_id) | Q(spread=None)
    rows = list(Reference.objects.filter(about, book_id=passage.book_id, removed_at=None).order_by("pk"))
    return sorted(rows, key=lambda row: row.spread_id is None)


def briefs_concerning(passage: Passage) -> list[Brief]:
    """List every version of the spread's brief and of the book's, oldest first (1 query)."""
    about = Q(spread_id=passage.spread_id) | Q(spread=None)
    rows = Brief.objects.select_related("written_by__person").filter(about, book_id=passage.book_id)
    return list(rows.order_by("written_at", "pk"))


def briefs_until(book: Book, at: datetime) -> list[Brief]:
    """List every version written in a book until a moment: the book's brief first, then by spread (1 query)."""
    rows = Brief.objects.select_related("written_by__person", "spread").filter(book=book, written_at__lte=at)
    return list(rows.order_by(F("spread__position").asc(nulls_first=True), "spread", "version"))


def references_at(book: Book, at: datetime) -> list[Reference]:
    """List the references that stood beside the briefs of a book at a moment (1 query)."""
    rows = Reference.objects.filter(Q(removed_at=None) | Q(removed_at__gt=at), book=book, added_at__lte=at)
    return list(rows.order_by("pk"))


def stood_at(versions: Sequence[Brief], at: datetime) -> list[Brief]:
    """Keep the versions that stood at a moment: the spread's first, then the book's."""
    by_id = {version.pk: version for version in versions}
    told = (WrittenBrief(version.pk, version.spread_id is None, version.written_at) for version in versions)
    return [by_id[pk] for pk in in_force(told, at)]


def is_sketch_approved(book: Book, spread: Spread | None) -> bool:
    """Say whether a picture that the brief concerns was approved, thumbnails and first ideas aside (1 query).

    One on a dropped spread counts too: else what it was made for could be changed while it is away.
    """
    there = Q(spread__removed_at=None) | Q(spread__dropped_at__isnull=False)
    rows = Passage.objects.filter(there, book=book, state=PassageState.APPROVED).exclude(stage__kind=StageKind.IDEAS)
    return (rows if spread is None else rows.filter(spread=spread)).exists()


def first_sketch_approval(book: Book, spread: Spread) -> datetime | None:
    """Say when the first of those pictures of a spread that stand approved was; None where none does (1 query)."""
    rows = Passage.objects.filter(book=book, spread=spread, state=PassageState.APPROVED)
    found: datetime | None = rows.exclude(stage__kind=StageKind.IDEAS).aggregate(at=Min("approved_at"))["at"]
    return found


def spreads_with_brief(book_id: int) -> frozenset[int | None]:
    """Name the spreads that have a brief; None among them is the book itself (1 query)."""
    return frozenset(Brief.objects.filter(book_id=book_id).values_list("spread_id", flat=True))


def reference_rendition(reference: Reference, file_name: str) -> bytes | None:
    """Read a small rendition whole; None while it is not made, or where nothing is left of it."""
    if reference.state != PictureState.READY:
        return None
    name = storage.rendition_name(reference.sha256, file_name)
    with store_turn():
        return (storage.read_all(name) or None) if storage.exists(name) else None


def is_reference_waiting(reference_id: int) -> bool:
    """Say whether nobody has read this reference yet (1 query)."""
    return Reference.objects.filter(pk=reference_id, state=PictureState.RECEIVED).exists()


def lines_by_brief(pks: Iterable[int]) -> dict[int, Brief]:
    """Find versions by their numbers (1 query)."""
    return Brief.objects.in_bulk(list(pks))
