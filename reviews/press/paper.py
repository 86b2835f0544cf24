"""How thick the pages of a book are together, from any of the three ways in which paper is described.

A page is one side of a leaf. Pages per inch, caliper and bulk all come down to the thickness of one page.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviews.geometry import MM_PER_INCH
from reviews.press.refused import CannotPrint


@dataclass(frozen=True)
class Paper:
    """A stock as its thickness per page, in mm, with a name for people."""

    page_mm: float
    name: str = ""


def by_pages_per_inch(pages_per_inch: float, name: str = "") -> Paper:
    """Give the paper of which so many pages make an inch (2 pages a leaf)."""
    return Paper(MM_PER_INCH / _above_nought(pages_per_inch, "pages-per-inch"), name)


def by_caliper(leaf_mm: float, name: str = "") -> Paper:
    """Give the paper whose leaf is so thick, in mm."""
    return Paper(_above_nought(leaf_mm, "caliper") / 2, name)


def by_weight(grams_per_m2: float, bulk_cm3_per_g: float, name: str = "") -> Paper:
    """Give the paper of a weight in g/m² and a bulk in cm³/g; 1.0 for coated stocks is usual, as the mill tells."""
    leaf_mm = _above_nought(grams_per_m2, "weight") * _above_nought(bulk_cm3_per_g, "bulk") / 1000
    return Paper(leaf_mm / 2, name)


def block_mm(n_pages: int, paper: Paper) -> float:
    """Give the thickness of the book block without its boards, in mm to 0.01."""
    if n_pages < 1:
        raise CannotPrint("no-pages", n=n_pages)
    return round(n_pages * paper.page_mm, 2)


def pages_per_inch(paper: Paper) -> float:
    """Say how many pages of this paper make an inch."""
    return MM_PER_INCH / paper.page_mm


def _above_nought(value: float, what: str) -> float:
    # A chained comparison with a NaN is false as well.
    if not 0 < value < float("inf"):
        raise CannotPrint("not-above-nought", what=what, value=value)
    return value
