"""The terms of a book: those agreed and entered, or else those its stage plans imply."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from reviews.models import Book, StagePlan, TermsVersion
from reviews.rules.plan_terms import part_of, terms_of_plans
from reviews.rules.terms import Terms, TermsHistory


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
    """Find the terms of a book (1 query where terms were entered, else 3)."""
    rows = tuple(TermsVersion.objects.select_related("entry").filter(book=book).order_by("number"))
    return HeldTerms(history_in(rows) or TermsHistory((implied_terms(book),)), rows)


def history_of(book: Book) -> TermsHistory:
    """Give the versions of a book's terms, for the rules (1 query where terms were entered, else 3)."""
    return terms_of(book).history


def history_in(rows: Iterable[TermsVersion]) -> TermsHistory | None:
    """Read one book's versions, oldest first; None where there is none."""
    versions = tuple(row.as_terms() for row in rows)
    return TermsHistory(versions) if versions else None


def entered_terms(book_ids: Iterable[int]) -> dict[int, TermsHistory]:
    """Find the entered terms of several books; a book without any is left out (1 query)."""
    found: dict[int, list[Terms]] = {}
    for row in TermsVersion.objects.filter(book_id__in=list(book_ids)).order_by("book_id", "number"):
        found.setdefault(row.book_id, []).append(row.as_terms())
    return {book_id: TermsHistory(tuple(versions)) for book_id, versions in found.items()}


def implied_terms(book: Book) -> Terms:
    """Read the terms off the stage plans of a book (2 queries)."""
    plans = StagePlan.objects.filter(book=book).prefetch_related("stages").order_by("pk")
    staged = {
        part_of(is_cover=plan.covers): [stage.as_planned() for stage in plan.stages.all()] for plan in plans
    }
    return terms_of_plans(staged, from_on=book.start_on, places=book.places, zone=book.zone)


def terms_on(book: Book, day: date) -> Terms | None:
    """Find the entered terms that hold on a day, or None where the stage plan alone speaks (1 query)."""
    history = entered_terms([book.pk]).get(book.pk)
    return history.on(day) if history else None
