"""The terms of a book: those agreed and entered, or else those its stage plans imply."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from reviews.models import Book, Spread, Stage, TermsVersion
from reviews.press.pages import PieceKind
from reviews.rules.contract.plan_terms import part_of, terms_of_plans
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.terms_text import history_from_text
from reviews.rules.entries import Entry
from reviews.rules.payload_shapes import ChangeTermsData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed


@dataclass(frozen=True)
class HeldTerms:
    """All versions of a book's terms; ``rows`` is empty where nothing was entered and the plans speak."""

    history: TermsHistory
    rows: tuple[TermsVersion, ...]

    @property
    def is_implied(self) -> bool:
        """Say whether these are only what the stage plans imply: common practice, nobody's signature."""
        return not self.rows


def terms_of(book: Book) -> HeldTerms:
    """Find the terms of a book (1 query where terms were entered, else 2)."""
    rows = tuple(
        TermsVersion.objects.select_related("entry", "confirmation", "book").filter(book=book).order_by("number")
    )
    history = history_in(rows) or TermsHistory((implied_terms(book),))
    return HeldTerms(history.paused(book.paused), rows)


def history_of(book: Book) -> TermsHistory:
    """Give the versions of a book's terms, for the rules (1 query where terms were entered, else 2)."""
    return terms_of(book).history


def history_told(entries: Iterable[Entry]) -> TermsHistory | None:
    """Read the entered terms off a book's ledger, which carries their text under its hash; None where there are none.

    Pages that read the ledger anyway need not read the terms again.
    """
    texts: list[Mapping[str, Any]] = [
        payload_of(entry, ChangeTermsData)["terms"] for entry in entries if entry.deed == Deed.CHANGE_TERMS
    ]
    return history_from_text(texts) if texts else None


def history_in(rows: Iterable[TermsVersion]) -> TermsHistory | None:
    """Read one book's versions, oldest first; None where there is none."""
    versions = tuple(row.as_terms() for row in rows)
    return TermsHistory(versions) if versions else None


def entered_terms(book_ids: Iterable[int]) -> dict[int, TermsHistory]:
    """Find the entered terms of several books, without their pauses; a book without any is left out (1 query)."""
    found: dict[int, list[Terms]] = {}
    for row in TermsVersion.objects.filter(book_id__in=list(book_ids)).order_by("book_id", "number"):
        found.setdefault(row.book_id, []).append(row.as_terms())
    return {book_id: TermsHistory(tuple(versions)) for book_id, versions in found.items()}


def implied_terms(book: Book) -> Terms:
    """Read the terms off the stage plans of a book (1 query)."""
    staged: dict[str, list[PlannedStage]] = {}
    rows = Stage.objects.select_related("plan").filter(plan__book=book)
    for stage in rows.order_by("plan__covers", "plan_id", "position"):
        staged.setdefault(part_of(is_cover=stage.plan.covers), []).append(stage.as_planned())
    return terms_of_plans(staged, from_on=book.start_on, places=book.places, zone=book.zone)


def part_for(spread: Spread) -> str:
    """Name the part of the terms that speaks of a spread."""
    return part_of(is_cover=spread.kind == PieceKind.COVER)


def terms_on(book: Book, at: datetime) -> Terms | None:
    """Find the entered terms that hold at a moment, or None where the stage plan alone speaks (1 query)."""
    history = entered_terms([book.pk]).get(book.pk)
    return history.paused(book.paused).at(at) if history else None
