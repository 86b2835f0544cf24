"""What a measured proof can be held against, and what it can be the proof of."""

from __future__ import annotations

from reviews.models import Book, Passage, ReferenceSet
from reviews.rules.states import PassageState, StageKind


def reference_sets(book: Book) -> list[ReferenceSet]:
    """List the aims loaded on a book, without their text (1 query)."""
    return list(ReferenceSet.objects.filter(book=book).defer("text"))


def proof_passages(book: Book) -> list[Passage]:
    """List the proofs of a book that were opened (1 query)."""
    rows = Passage.objects.with_places().filter(book=book, stage__kind=StageKind.PROOF, spread__removed_at=None)
    return list(rows.exclude(state=PassageState.CLOSED).order_by("spread__position"))
