"""How files of a delivery are named, by a pattern that a house sets."""

from __future__ import annotations

import re
import string
from dataclasses import dataclass

from reviews.press.refused import CannotPrint

USUAL_PATTERN = "{book}_{pages}_{stage}"
PARTS = ("book", "pages", "stage", "version", "name")
MANIFEST, READ_ME = "manifest.txt", "read-me.txt"  # what the folder itself holds beside the files
_LONGEST = 120
_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")


@dataclass(frozen=True, kw_only=True)
class NamedPart:
    """What a pattern may name of one file."""

    book: str
    pages: str
    stage: str
    version: str
    name: str


def check_pattern(pattern: str) -> str:
    """Return a pattern that names only what there is; raise CannotPrint otherwise."""
    try:
        parts = [part for part in string.Formatter().parse(pattern) if part[1] is not None]
    except ValueError as wrong:
        raise CannotPrint("bad-pattern", pattern=pattern) from wrong
    fields = [name for _, name, _, _ in parts]
    if any(spec or turn or name not in PARTS for _, name, spec, turn in parts):
        raise CannotPrint("bad-pattern", pattern=pattern)
    if "pages" not in fields and "name" not in fields:
        raise CannotPrint("pattern-tells-nothing-apart", pattern=pattern)
    return pattern


def named(pattern: str, part: NamedPart, ending: str) -> str:
    """Name one file in letters that every disk takes."""
    told = {field: _UNSAFE.sub("-", getattr(part, field)).strip("-.") for field in PARTS}
    stem = _stem(pattern, told)
    # What tells one piece from the other is kept whole: a long title, then a long name of a file, gives way.
    for field in ("book", "name"):
        over = len(stem) - _LONGEST
        if over > 0:
            told[field] = told[field][: max(0, len(told[field]) - -(-over // max(1, pattern.count(f"{{{field}}}"))))]
            stem = _stem(pattern, told)
    stem = stem[:_LONGEST].strip("-.") or "file"
    ending = re.sub(r"[^a-z0-9]+", "", ending.lower())
    return f"{stem}.{ending or 'bin'}"


def _stem(pattern: str, told: dict[str, str]) -> str:
    return _UNSAFE.sub("-", pattern.format(**told)).strip("-.")
