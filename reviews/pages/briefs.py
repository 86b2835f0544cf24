"""Briefs as they are read: the page of one, the sheet on the table, the lines that a note may name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.urls import reverse
from django.utils.translation import gettext as _

from reviews.models import Book, Brief, HandIn, Passage, Reference, Seat, Spread
from reviews.pages.wording.briefs import (
    PART_HELP,
    line_words,
    part_words,
    reference_standing,
    told_as_words,
)
from reviews.queries.briefs import references_concerning, references_of, spreads_with_brief, stood_at, versions_of
from reviews.rules import permits
from reviews.rules.briefs import BriefLine, BriefPart, parts_for
from reviews.rules.states import Deed, PictureState, Role


@dataclass(frozen=True)
class PartRead:
    """One part of a version with its numbered lines."""

    code: str
    name: str
    lines: list[BriefLine]


@dataclass(frozen=True, kw_only=True)
class VersionRead:
    """One version of a brief, ready to be read."""

    version: int
    by: str
    at: datetime
    parts: list[PartRead]
    told_as: str
    #: Whose it is, in a heading: "Pages 4–5" or "The whole book".
    whose: str
    is_of_book: bool


@dataclass(frozen=True, kw_only=True)
class ReferenceRead:
    """One reference: a thumbnail where there is one, and the file to take away."""

    id: int
    name: str
    thumb_url: str
    preview_url: str
    original_url: str
    standing: str


@dataclass(frozen=True, kw_only=True)
class PartField:
    """One part in the form."""

    code: str
    name: str
    help: str
    words: str


@dataclass(frozen=True, kw_only=True)
class SpreadLink:
    """The way to the brief of one spread, and whether there is one."""

    label: str
    url: str
    is_there: bool
    is_here: bool


@dataclass(kw_only=True)
class BriefPage:
    """The page of one brief, of a spread or of the book."""

    book: Book
    spread: Spread | None
    whose: str
    newest: VersionRead | None
    older: list[VersionRead]
    references: list[ReferenceRead]
    spreads: list[SpreadLink]
    may_write: bool
    seen: int
    fields: list[PartField] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class BriefOnTable:
    """The briefs beside the picture: the spread's, then the book's; ``since`` names what came after this hand-in."""

    briefs: list[VersionRead]
    references: list[ReferenceRead]
    since: list[VersionRead]
    url: str
    may_write: bool


def brief_page(
    book: Book, spread: Spread | None, seat: Seat, *, typed: dict[str, str] | None = None, seen: int | None = None
) -> BriefPage:
    """Gather the page of one brief (4 queries). ``typed``: what stands in a form that was refused."""
    versions = versions_of(book, spread)
    newest = versions[0] if versions else None
    may_write = permits.may(Role(seat.role), Deed.CHANGE_BRIEF)
    said = typed if typed is not None else (newest.parts if newest else {})
    return BriefPage(
        book=book,
        spread=spread,
        whose=spread.label if spread else _("The whole book"),
        newest=read_version(newest, spread) if newest else None,
        older=[read_version(version, spread) for version in versions[1:]],
        references=read_references(references_of(book, spread)),
        spreads=_links(book, spread),
        may_write=may_write,
        seen=(newest.version if newest else 0) if seen is None else seen,
        fields=_fields(said, is_of_book=spread is None) if may_write else [],
    )


def on_table(passage: Passage, hand_in: HandIn | None, seat: Seat, *, versions: Sequence[Brief]) -> BriefOnTable | None:
    """Gather the briefs beside a picture (1 query where there are references); None for a guest.

    ``versions`` are those of ``briefs_concerning``.

    Beside a hand-in lie the versions that stood when it was handed in, for it is held against those; what was written
    since is named apart. Before a hand-in, the newest lie there.
    """
    if not permits.sees(Role(seat.role), "brief-on-table"):
        return None
    reads_all = permits.sees(Role(seat.role), "brief")
    stood = stood_at(versions, hand_in.handed_in_at) if hand_in and hand_in.handed_in_at else []
    now = stood_at(versions, max((version.written_at for version in versions), default=datetime.max))
    shown = stood if hand_in and hand_in.handed_in_at else now
    return BriefOnTable(
        briefs=[read_version(version, _spread_of(version, passage)) for version in shown],
        references=read_references(references_concerning(passage) if reads_all and passage.has_references else []),
        since=[read_version(version, _spread_of(version, passage)) for version in now if version not in shown],
        url=reverse("reviews:spread-brief", args=[passage.spread_id]) if reads_all else "",
        may_write=permits.may(Role(seat.role), Deed.CHANGE_BRIEF),
    )


def lines_to_miss(versions: Sequence[Brief], hand_in: HandIn | None) -> list[tuple[str, str]]:
    """List the lines that a note on this hand-in may say were not met, as the form has them (no query)."""
    if hand_in is None or hand_in.handed_in_at is None:
        return []
    return [
        (f"{version.pk}:{line.number}", line_words(line, is_of_book=version.spread_id is None))
        for version in stood_at(versions, hand_in.handed_in_at)
        for line in version.lines
        if line.may_be_missed
    ]


def read_version(brief: Brief, spread: Spread | None) -> VersionRead:
    """Put one version in words; needs its writer joined."""
    parts: dict[BriefPart, list[BriefLine]] = {}
    for line in brief.lines:
        parts.setdefault(line.part, []).append(line)
    return VersionRead(
        version=brief.version,
        by=brief.written_by.person.name,
        at=brief.written_at,
        parts=[PartRead(part.value, part_words(part), lines) for part, lines in parts.items()],
        told_as=told_as_words(brief.told_as),
        whose=spread.label if spread else _("The whole book"),
        is_of_book=spread is None,
    )


def read_references(rows: Sequence[Reference]) -> list[ReferenceRead]:
    """Describe references for a page (no query)."""
    return [
        ReferenceRead(
            id=row.pk,
            name=row.file_name,
            thumb_url=_preview(row, "thumb"),
            preview_url=_preview(row, "preview"),
            original_url=reverse("reviews:reference-original", args=[row.pk]),
            standing=reference_standing(row.state),
        )
        for row in rows
    ]


def _preview(row: Reference, size: str) -> str:
    if row.state != PictureState.READY:
        return ""
    return reverse("reviews:reference-preview", args=[row.pk, size])


def _spread_of(version: Brief, passage: Passage) -> Spread | None:
    return passage.spread if version.spread_id else None


def _fields(said: dict[str, str], *, is_of_book: bool) -> list[PartField]:
    return [
        PartField(code=part.value, name=part_words(part), help=str(PART_HELP[part]), words=said.get(part.value, ""))
        for part in parts_for(is_of_book=is_of_book)
    ]


def _links(book: Book, here: Spread | None) -> list[SpreadLink]:
    there = spreads_with_brief(book.pk)
    links = [
        SpreadLink(
            label=_("The whole book"),
            url=reverse("reviews:book-brief", args=[book.pk]),
            is_there=None in there,
            is_here=here is None,
        )
    ]
    for spread in Spread.objects.filter(book=book, removed_at=None).order_by("position"):
        links.append(
            SpreadLink(
                label=spread.label,
                url=reverse("reviews:spread-brief", args=[spread.pk]),
                is_there=spread.pk in there,
                is_here=here is not None and spread.pk == here.pk,
            )
        )
    return links
