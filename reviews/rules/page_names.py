"""Pages as people write them: "4-9, 20", "cover"."""

from __future__ import annotations

import re
from dataclasses import dataclass

#: No book has more pages; a longer number is a slip.
MOST_PAGES = 1000
_ONE = re.compile(r"(\d{1,4})(?:\s*[-–—]\s*(\d{1,4}))?$")


@dataclass(frozen=True)
class PagesNamed:
    """Which pages are meant, and whether the cover is."""

    pages: frozenset[int]
    cover: bool


def pages_named(words: str) -> PagesNamed | None:
    """Read pages and ranges between commas; None where something cannot be read."""
    pages: set[int] = set()
    cover = False
    for part in filter(None, (part.strip().lower() for part in re.split(r"[,;]", words))):
        if part == "cover":
            cover = True
            continue
        found = _ONE.match(part)
        if found is None:
            return None
        first, last = int(found[1]), int(found[2] or found[1])
        if not 1 <= first <= last <= MOST_PAGES:
            return None
        pages.update(range(first, last + 1))
    return PagesNamed(frozenset(pages), cover) if pages or cover else None
