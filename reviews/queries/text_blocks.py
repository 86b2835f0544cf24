"""The text placed on spreads: what stands now, every version there was, and whose art it was changed under."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db.models import BooleanField, Case, Exists, F, OuterRef, Q, Subquery, Value, When

from reviews.models import Book, Brief, HandIn, LetterAnswer, Spread, SpreadText
from reviews.press.text_blocks import SetBlock
from reviews.press.text_text import blocks_from_text
from reviews.queries.faces import lines_of
from reviews.rules.briefs import BriefPart
from reviews.rules.states import Cause, HandInState
from reviews.rules.text_blocks import TextVersion, stands_changed


def newest_text(spread: Spread) -> SpreadText | None:
    """Find the version that stands now (1 query)."""
    return SpreadText.objects.filter(spread=spread).order_by("-version").first()


def text_versions(spread: Spread) -> list[SpreadText]:
    """List every version of a spread's text, newest first (1 query)."""
    rows = SpreadText.objects.select_related("set_by__person").filter(spread=spread)
    return list(rows.order_by("-version"))


def texts_of(book: Book) -> dict[int, SpreadText]:
    """Give the version that stands now of each spread's text, by spread (1 query)."""
    rows = SpreadText.objects.filter(book=book, spread__removed_at=None)
    return {row.spread_id: row for row in rows.order_by("version")}


def newest_texts(spreads: Collection[int]) -> dict[int, SpreadText]:
    """Give the version that stands now of some spreads' text, by spread (1 query, none where nothing is asked)."""
    rows = SpreadText.objects.filter(spread__in=spreads).order_by("version") if spreads else ()
    return {row.spread_id: row for row in rows}


def set_blocks(text: SpreadText | None) -> tuple[SetBlock, ...]:
    """Break every block of a version into its lines (no query)."""
    return tuple(lines_of(block) for block in blocks_from_text(text.blocks)) if text else ()


def changed_under(handed_in: Mapping[int, tuple[int, datetime]]) -> frozenset[int]:
    """Name the passages whose text was changed, after an approved sketch, since what lies there was handed in.

    ``handed_in`` gives by passage its spread and the moment of that hand-in. The words of a brief and the blocks on
    the spread count alike (1 query, none where nothing is asked).
    """
    if not handed_in:
        return frozenset()
    told = _told({spread for spread, _ in handed_in.values()})
    return frozenset(
        passage
        for passage, (spread, at) in handed_in.items()
        if any(stands_changed(told.get((kind, spread), ()), at) for kind in (_PLACED, _WRITTEN))
    )


def text_changed_under(answers: Iterable[LetterAnswer]) -> frozenset[int]:
    """Name the passages of these answers whose text was changed under what they answer (1 query)."""
    moments = ((answer, answer.hand_in.handed_in_at) for answer in answers)
    return changed_under({answer.passage_id: (answer.passage.spread_id, at) for answer, at in moments if at})


def is_text_newer() -> Any:
    """Ask of a passage, in its own query, whether its text was changed after an approved sketch and not drawn to since.

    By the newest hand-in of its spread at any stage: what is drawn next has the change to take up.
    """
    handed = HandIn.objects.filter(passage__spread=OuterRef("spread"), state=HandInState.HANDED_IN)
    last = handed.order_by("-handed_in_at").values("handed_in_at")[:1]
    placed = SpreadText.objects.filter(spread=OuterRef("spread"), is_change=True).annotate(last=Subquery(last))
    written = Brief.objects.filter(_TELLS_OF_TEXT, spread=OuterRef("spread")).annotate(last=Subquery(last))
    return Exists(placed.filter(set_at__gt=F("last"))) | Exists(written.filter(written_at__gt=F("last")))


_PLACED, _WRITTEN = "placed", "written"
# A version of a brief may be told as two changes; neither database finds a member of a list in one way with the other.
_TELLS_OF_TEXT = Q(told_as__0=Cause.TEXT.value) | Q(told_as__1=Cause.TEXT.value)


def _told(spreads: Collection[int]) -> dict[tuple[str, int], list[TextVersion]]:
    """Read what was placed and what was written for some spreads, all versions (1 query)."""
    placed = SpreadText.objects.filter(spread__in=spreads).order_by()
    written = Brief.objects.filter(spread__in=spreads).order_by()
    rows = placed.annotate(kind=Value(_PLACED), changes=F("is_change")).values_list(
        "kind", "spread_id", "set_at", "changes", "blocks"
    ).union(
        written.annotate(
            kind=Value(_WRITTEN),
            changes=Case(When(_TELLS_OF_TEXT, then=Value(True)), default=Value(False), output_field=BooleanField()),
        ).values_list("kind", "spread_id", "written_at", "changes", "parts"),
        all=True,
    )  # fmt: skip
    found: dict[tuple[str, int], list[TextVersion]] = {}
    for kind, spread, at, changes, said in rows:
        content = said if kind == _PLACED else said.get(BriefPart.TEXT, "").split()
        found.setdefault((kind, spread), []).append(TextVersion(at, bool(changes), content))
    return found
