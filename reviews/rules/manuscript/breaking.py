"""A manuscript broken over pages: by its own headings, by its page breaks, or evenly at its blank lines.

What comes of it is a suggestion that somebody reads and moves before anything is kept. It is written as text again,
with a line such as ``[Page 4]`` before the words of each page, and that text reads as the same breaks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from reviews.rules.states import Refused

#: Our own bound: a picture book has 300 to 1,000 words (common practice), a long chapter book some 100,000 letters.
MOST_LETTERS = 200_000
#: How manuscripts name a page or a spread, at the start of a line: "Page 4", "pp. 4-5:", "[Spread 3]", "(p. 12)".
_HEADING = re.compile(
    r"(?P<open>[\[(*#_]{0,3})\s?(?P<what>pages?|pp?\.|pp|spreads?|)"
    r"\s?(?P<first>\d{1,3})(?:\s?(?:-|–|—|/|,|&|and|to)\s?\d{1,3})?\s?(?P<close>[\])*_]{0,3})\s?(?P<end>$|[:.–—-]\s?)",
    re.IGNORECASE,
)
_LEFT_OUT = "[Unplaced]"
#: A heading is short: no more of a line is looked at.
_LONGEST_HEADING = 40
PAGE_BREAK = "\f"
_UNSEEN = re.compile(r"[\x00-\x09\x0b\x0e-\x1f\x7f\ufeff\u200b]+")


class BrokenBy(StrEnum):
    """What a text was broken by."""

    HEADINGS = "headings"
    PAGE_BREAKS = "page-breaks"
    BLANK_LINES = "blank-lines"


@dataclass(frozen=True)
class PagesOfArt:
    """The pages that one piece of art covers; endpapers are pages too, but no text is suggested for them."""

    first: int
    last: int
    is_inside: bool

    @property
    def pages(self) -> range:
        return range(self.first, self.last + 1)


@dataclass(frozen=True)
class ManuscriptRemark:
    """What a reader should know of how a manuscript was read: a code with its values."""

    code: str
    values: dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class BrokenText:
    """The words of each page that has some, in paragraphs, and those that stand on none."""

    words: Mapping[int, tuple[str, ...]]
    left_out: tuple[str, ...]
    by: BrokenBy
    remarks: tuple[ManuscriptRemark, ...] = ()


def break_over(text: str, art: Sequence[PagesOfArt]) -> BrokenText:
    """Break a text over the pages of a book: no word of it is lost, what stands before its first heading is left out.

    A heading names a page, or a spread counted among the pieces inside. One that names nothing of this book stays a
    line of the text, with a remark. Raise Refused for no words, or for more than a book takes.
    """
    plain = plain_text(text)
    if len(plain) > MOST_LETTERS:
        raise Refused("manuscript-too-long", most=MOST_LETTERS)
    if not plain.replace(PAGE_BREAK, "").strip():
        raise Refused("manuscript-empty")
    headed, remarks = _by_headings(plain, art)
    return headed or replace(_by_size(plain, art), remarks=remarks)


def as_text(broken: BrokenText) -> str:
    """Write a broken text with a line before the words of each page."""
    parts = [(_LEFT_OUT, broken.left_out)] if broken.left_out else []
    parts += [(f"[Page {page}]", broken.words[page]) for page in sorted(broken.words)]
    return "\n\n".join("\n".join((head, "\n\n".join(paragraphs))) for head, paragraphs in parts)


def plain_text(text: str) -> str:
    """Give a text with one kind of line end, without tabs, spaces at line ends and what cannot be seen."""
    lines = re.sub(r"\r\n?|[\u2028\u2029\x85\x0b]", "\n", text.replace("\t", " ")).split("\n")
    return "\n".join(re.sub(r" {2,}", " ", _UNSEEN.sub("", line)).strip(" ") for line in lines).strip("\n")


def paragraphs_of(text: str) -> tuple[str, ...]:
    """Part a text at its blank lines."""
    return tuple(
        part.strip("\n") for part in re.split(r"\n(?: *\n)+", text.replace(PAGE_BREAK, "\n\n")) if part.strip()
    )


def _by_headings(text: str, art: Sequence[PagesOfArt]) -> tuple[BrokenText | None, tuple[ManuscriptRemark, ...]]:
    """Gather the lines under each heading, None where no line is one; and give the remarks on lines like one."""
    gathered: dict[int, list[str]] = {}
    left_out: list[str] = []
    remarks: list[ManuscriptRemark] = []
    into, found, furthest = left_out, False, 0
    for line in text.replace(PAGE_BREAK, "\n\n").split("\n"):
        if line.casefold() == _LEFT_OUT.casefold():
            into, found = left_out, True
            continue
        named = _named(line, art)
        if named is None:
            into.append(line)
            continue
        page, rest = named
        if page == 0:
            remarks.append(ManuscriptRemark("no-such-page", {"line": line}))
            into.append(line)
            continue
        if page < furthest:
            remarks.append(ManuscriptRemark("out-of-order", {"page": page, "after": furthest}))
        into, found, furthest = gathered.setdefault(page, []), True, max(furthest, page)
        into.extend(["", rest] if rest else [""])
    if not found:
        return None, tuple(remarks)
    words = {page: there for page, lines in gathered.items() if (there := paragraphs_of("\n".join(lines)))}
    by, told = BrokenBy.HEADINGS, tuple(remarks)
    return BrokenText(words=words, left_out=paragraphs_of("\n".join(left_out)), by=by, remarks=told), told


def _named(line: str, art: Sequence[PagesOfArt]) -> tuple[int, str] | None:
    """Read a line as a heading: the page it names (0: none of this book) and what follows; None where it is none."""
    found = _HEADING.match(line[:_LONGEST_HEADING])
    if found is None or (found["end"] == "" and found.end() < len(line)):
        return None
    # A figure alone may be anything; in square brackets it is a page.
    if not found["what"] and not ("[" in found["open"] and "]" in found["close"]):
        return None
    number = int(found["first"])
    if found["what"].casefold().startswith("s"):
        inside = [piece for piece in art if piece.is_inside]
        page = inside[number - 1].first if 0 < number <= len(inside) else 0
    else:
        page = number if any(number in piece.pages for piece in art) else 0
    return page, line[found.end() :].strip()


def _by_size(text: str, art: Sequence[PagesOfArt]) -> BrokenText:
    """Give each part between page breaks a piece of its own, else share the paragraphs out evenly by their letters."""
    inside = [piece.first for piece in art if piece.is_inside] or [piece.first for piece in art]
    sheets = [paragraphs for sheet in text.split(PAGE_BREAK) if (paragraphs := paragraphs_of(sheet))]
    if 1 < len(sheets) <= len(inside):
        return BrokenText(words=dict(zip(inside, sheets, strict=False)), left_out=(), by=BrokenBy.PAGE_BREAKS)
    paragraphs = paragraphs_of(text)
    if not inside:
        return BrokenText(words={}, left_out=paragraphs, by=BrokenBy.BLANK_LINES)
    return BrokenText(words=_shared_out(paragraphs, inside), left_out=(), by=BrokenBy.BLANK_LINES)


def _shared_out(paragraphs: Sequence[str], pages: Sequence[int]) -> dict[int, tuple[str, ...]]:
    if len(paragraphs) <= len(pages):
        return {page: (words,) for page, words in zip(pages, paragraphs, strict=False)}
    total, before = sum(map(len, paragraphs)), 0
    shared: dict[int, list[str]] = {}
    for words in paragraphs:
        # By the middle of a paragraph: each piece gets what lies in its share of all letters.
        at = (2 * before + len(words)) * len(pages) // (2 * total)
        shared.setdefault(pages[min(at, len(pages) - 1)], []).append(words)
        before += len(words)
    return {page: tuple(there) for page, there in shared.items()}


def paragraphs_joined(paragraphs: Iterable[str]) -> str:
    """Give paragraphs as one text, with a blank line between."""
    return "\n\n".join(paragraphs)


def n_words(paragraphs: Iterable[str]) -> int:
    """Count words as they are spaced."""
    return sum(len(one.split()) for one in paragraphs)
