"""The text placed on spreads: what stands now, every version there was, and whose art it was changed under."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from reviews.models import Book, Brief, HandIn, LedgerEntry, LetterAnswer, Spread, SpreadText
from reviews.press.pages import PieceKind
from reviews.press.text_blocks import SetBlock
from reviews.press.text_text import blocks_from_text
from reviews.queries.faces import lines_of
from reviews.rules.briefs import BriefPart
from reviews.rules.entries import Entry
from reviews.rules.states import Cause, Deed, HandInState
from reviews.rules.text_blocks import TextVersion, stands_changed


def newest_text(spread: Spread) -> SpreadText | None:
    """Find the version that stands now (1 query)."""
    return SpreadText.objects.filter(spread=spread).order_by("-version").first()


def text_versions(spread: Spread) -> list[SpreadText]:
    """List every version of a spread's text, newest first (1 query)."""
    rows = SpreadText.objects.select_related("set_by__person").filter(spread=spread)
    return list(rows.order_by("-version"))


def texts_until(book: Book, at: datetime) -> list[SpreadText]:
    """List every version placed in a book until a moment, by spread, each spread's newest first (1 query)."""
    rows = SpreadText.objects.select_related("set_by__person", "spread").filter(book=book, set_at__lte=at)
    return list(rows.order_by("spread__position", "spread", "-version"))


def texts_of(book: Book) -> dict[int, SpreadText]:
    """Give the version that stands now of each spread's text, by spread (1 query)."""
    rows = _newest(SpreadText.objects.filter(book=book, spread__removed_at=None))
    return {row.spread_id: row for row in rows}


def pieces_of_text(book: Book) -> list[Spread]:
    """List the pieces of a book that have pages of their own, in page order: text is placed on these (1 query)."""
    rows = Spread.objects.filter(book=book, removed_at=None, first_page__isnull=False).exclude(kind=PieceKind.COVER)
    return list(rows.order_by("position"))


def newest_texts(spreads: Collection[int]) -> dict[int, SpreadText]:
    """Give the version that stands now of some spreads' text, by spread (1 query, none where nothing is asked)."""
    rows = _newest(SpreadText.objects.filter(spread__in=spreads)) if spreads else ()
    return {row.spread_id: row for row in rows}


def _newest(rows: QuerySet[SpreadText]) -> QuerySet[SpreadText]:
    """Keep each spread's newest version: the words of all before it are not read from the database."""
    newest = SpreadText.objects.filter(spread=OuterRef("spread")).order_by("-version").values("pk")[:1]
    return rows.filter(pk=Subquery(newest))


def set_blocks(text: SpreadText | None) -> tuple[SetBlock, ...]:
    """Break every block of a version into its lines (no query)."""
    return tuple(lines_of(block) for block in blocks_from_text(text.blocks)) if text else ()


#: The deeds that tell of a spread's words: placed on its pages, or written in its brief.
TEXT_DEEDS = (Deed.SET_TEXT, Deed.CHANGE_BRIEF)


def text_changed_among(entries: Iterable[Entry], answers: Iterable[LetterAnswer]) -> frozenset[int]:
    """Name the passages of these answers whose text was changed, after an approved sketch, under what they answer.

    ``entries`` are those of ``TEXT_DEEDS`` in their book, and of ``LAY_OUT``, which takes text along to new pages.
    Words of a brief and blocks on the pages count alike.
    """
    told = _told(entries)
    return frozenset(
        answer.passage_id
        for answer in answers
        if (at := answer.hand_in.handed_in_at)
        and any(stands_changed(told.get((deed, answer.passage.spread_id), ()), at) for deed in TEXT_DEEDS)
    )


def is_text_changed_under(answer: LetterAnswer) -> bool:
    """Say it of one answer (1 query)."""
    rows = LedgerEntry.objects.filter(book=answer.passage.book_id, deed__in=(*TEXT_DEEDS, Deed.LAY_OUT))
    return bool(text_changed_among([row.as_entry() for row in rows.defer("rows").order_by("seq")], [answer]))


def _told(entries: Iterable[Entry]) -> dict[tuple[str, int], list[TextVersion]]:
    """Read by deed and spread what was placed and what was written, in order; a brief of the book has no words."""
    found: dict[tuple[str, int], list[TextVersion]] = {}
    for entry in entries:
        data = entry.data
        if entry.deed == Deed.LAY_OUT:
            for text in data.get("texts", ()):
                found[Deed.SET_TEXT, text["spread_id"]] = [TextVersion(entry.at, False, text["blocks"])]
        if entry.deed not in TEXT_DEEDS or "spread_id" not in data:
            continue
        is_placed = entry.deed == Deed.SET_TEXT
        content = data["blocks"] if is_placed else data["parts"].get(BriefPart.TEXT, "").split()
        version = TextVersion(entry.at, Cause.TEXT in data["told_as"], content)
        found.setdefault((entry.deed, data["spread_id"]), []).append(version)
    return found


# A version of a brief may be told as two changes; neither database finds a member of a list in one way with the other.
_TELLS_OF_TEXT = Q(told_as__0=Cause.TEXT.value) | Q(told_as__1=Cause.TEXT.value)


def is_text_newer() -> Any:
    """Ask of a passage, in its own query, whether its text was changed after an approved sketch and not drawn to since.

    By the newest hand-in of its spread at any stage: what is drawn next has the change to take up.
    """
    handed = HandIn.objects.filter(passage__spread=OuterRef("spread"), state=HandInState.HANDED_IN)
    last = handed.order_by("-handed_in_at").values("handed_in_at")[:1]
    placed = SpreadText.objects.filter(spread=OuterRef("spread"), is_change=True).annotate(last=Subquery(last))
    written = Brief.objects.filter(_TELLS_OF_TEXT, spread=OuterRef("spread")).annotate(last=Subquery(last))
    return Exists(placed.filter(set_at__gt=F("last"))) | Exists(written.filter(written_at__gt=F("last")))
