"""A manuscript: read from what was pasted or brought, and broken over the pages of a book."""

from reviews.rules.manuscript.breaking import (
    MOST_LETTERS,
    BrokenBy,
    BrokenText,
    ManuscriptRemark,
    PagesOfArt,
    as_text,
    break_over,
    n_words,
    paragraphs_joined,
)
from reviews.rules.manuscript.files import MOST_BYTES, FileText, text_of
from reviews.rules.manuscript.moving import BreakMove, moved

__all__ = [
    "MOST_BYTES",
    "MOST_LETTERS",
    "BreakMove",
    "BrokenBy",
    "BrokenText",
    "FileText",
    "ManuscriptRemark",
    "PagesOfArt",
    "as_text",
    "break_over",
    "moved",
    "n_words",
    "paragraphs_joined",
    "text_of",
]
