"""The text of a spread as it is read and placed: over its newest picture, beside its brief, version by version."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.urls import reverse

from reviews.models import Picture, Seat, Spread, SpreadText
from reviews.pages.guides import guides_on
from reviews.pages.pieces import flat_for
from reviews.pages.table_shapes import BlockShown, TextOnArt
from reviews.pages.wording.briefs import told_as_words
from reviews.pages.wording.text_blocks import block_words, changed_words, text_fault
from reviews.press.flats import Flat
from reviews.press.pages import PieceKind
from reviews.press.placing import PlacedPicture
from reviews.press.text_blocks import SetBlock
from reviews.press.text_check import placing_faults
from reviews.press.text_text import blocks_from_text
from reviews.queries.briefs import newest_brief
from reviews.queries.frames import placed_on
from reviews.queries.pictures import with_places
from reviews.queries.text_blocks import set_blocks, text_versions, texts_of
from reviews.queries.thumbnails import newest_pictures
from reviews.rules import permits
from reviews.rules.briefs import BriefPart
from reviews.rules.states import Cause, Deed, Role
from reviews.rules.text_blocks import MOVED_MM, AgainstBrief, against_brief, changes_between, moved_mm


@dataclass(frozen=True, kw_only=True)
class ArtBehind:
    """The picture behind the blocks, in mm of the trim."""

    url: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class BlockRead:
    """One block of a version: its words on one line, and how and where it is set."""

    words: str
    how: str


@dataclass(frozen=True, kw_only=True)
class TextVersionRead:
    """One version, told; ``read`` are its blocks."""

    version: int
    by: str
    at: datetime
    words: str
    told_as: str
    read: list[BlockRead]


@dataclass(frozen=True, kw_only=True)
class TextLink:
    """The way to the text of one spread, and whether any is placed."""

    label: str
    url: str
    is_there: bool
    is_here: bool


@dataclass(frozen=True, kw_only=True)
class BriefLineShown:
    """A line of the brief's text, and whether it stands in a block."""

    number: int
    words: str
    is_placed: bool


@dataclass(frozen=True, kw_only=True)
class TextPage:
    """The page of one spread's text. ``view`` is the paper with its bleed in mm of the trim."""

    spread: Spread
    flat: Flat
    view: list[float]
    art: ArtBehind | None
    guides: list[Any]
    text: SpreadText | None
    blocks: list[BlockShown]
    read: list[str]
    faults: list[str]
    versions: list[TextVersionRead]
    brief_lines: list[BriefLineShown]
    against: AgainstBrief
    spreads: list[TextLink]
    may_place: bool

    @property
    def seen(self) -> int:
        return self.text.version if self.text else 0

    @property
    def near_mm(self) -> str:
        """Name how far a block may move after an approved sketch without being a change of text."""
        return f"{MOVED_MM:g}"

    @property
    def n_apart(self) -> int:
        """Count the blocks whose words are not the brief's."""
        return sum(1 for lines in self.against.lines_of.values() if lines is None)


def text_page(spread: Spread, flat: Flat, seat: Seat, *, placed: Sequence[SetBlock] | None = None) -> TextPage:
    """Gather the page of a spread's text (at most 8 queries); ``placed``: what stands in a form that was refused."""
    versions = text_versions(spread)
    text = versions[0] if versions else None
    blocks = set_blocks(text) if placed is None else tuple(placed)
    brief = newest_brief(spread.book, spread)
    said = brief.parts.get(BriefPart.TEXT, "") if brief else ""
    # By their places: several new blocks have no number yet.
    against = against_brief(said, {place: one.block.words for place, one in enumerate(blocks)})
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    picture = _newest(spread, seat)
    laid = placed_on(picture, picture.hand_in.passage) if picture else None
    bleed = flat.bleed_mm
    return TextPage(
        spread=spread,
        flat=flat,
        view=[-bleed, -bleed, flat.width_mm + 2 * bleed, flat.height_mm + 2 * bleed],
        art=_behind(picture, laid),
        guides=guides_on(_whole(flat)),
        text=text,
        blocks=[shown(block) for block in blocks],
        read=[" ".join(one.block.words.split()) for one in blocks],
        faults=faults_of(flat, blocks),
        versions=versions_read(versions),
        brief_lines=[
            BriefLineShown(number=n, words=words, is_placed=n not in against.unplaced)
            for n, words in enumerate(lines, 1)
        ],
        against=against,
        spreads=_links(spread),
        may_place=permits.may(Role(seat.role), Deed.SET_TEXT),
    )


def faults_of(flat: Flat, blocks: Sequence[SetBlock]) -> list[str]:
    """Say what is wrong with where blocks stand."""
    return [text_fault(found) for found in placing_faults(flat, blocks)]


def shown(found: SetBlock) -> BlockShown:
    """Give a block as it is drawn, to the hundredth of a millimetre."""
    block = found.block
    return {
        "number": block.number,
        "face": block.face.value,
        "size": round(block.size_mm, 3),
        "colour": block.colour,
        "language": block.language,
        "box": [round(mm, 2) for mm in (block.left_mm, block.top_mm, block.width_mm, block.height_mm)],
        "lines": [
            {"words": line.words, "x": round(line.left_mm, 2), "y": round(line.baseline_mm, 2),
             "width": round(line.width_mm, 2)}
            for line in found.lines if line.words
        ],
    }  # fmt: skip


def text_on(placed: PlacedPicture | None, blocks: Sequence[SetBlock]) -> TextOnArt | None:
    """Lay blocks over a picture; None where there are none, and where it is not known how the picture lies."""
    if placed is None or not blocks:
        return None
    view = [round(mm, 3) for mm in (placed.left_mm, placed.top_mm, placed.width_mm, placed.height_mm)]
    return {"view": view, "blocks": [shown(block) for block in blocks]}


def _whole(flat: Flat) -> PlacedPicture:
    wide, high = flat.with_bleed_mm
    return PlacedPicture(
        flat=flat, left_mm=-flat.bleed_mm, top_mm=-flat.bleed_mm, width_mm=wide, height_mm=high
    )  # fmt: skip


def _newest(spread: Spread, seat: Seat) -> Picture | None:
    found = newest_pictures([seat], is_art_only=True).get(spread.pk)
    if found is None or not found.is_read:
        return None
    picture = with_places(spread.book, [found.picture]).get(found.picture)
    if picture is not None:
        picture.hand_in.passage.book = spread.book
    return picture


def _behind(picture: Picture | None, placed: PlacedPicture | None) -> ArtBehind | None:
    if picture is None or placed is None:
        return None
    return ArtBehind(
        url=reverse("reviews:picture-preview", args=[picture.pk]),
        x=placed.left_mm,
        y=placed.top_mm,
        width=placed.width_mm,
        height=placed.height_mm,
    )


def versions_read(versions: Sequence[SpreadText]) -> list[TextVersionRead]:
    """Tell each version of one spread by what it changed, newest first, as they come (no query)."""
    before = [*(row.blocks for row in versions[1:]), []][: len(versions)]
    return [
        TextVersionRead(
            version=row.version,
            by=row.set_by.person.name,
            at=row.set_at,
            words=changed_words(changes_between(were, row.blocks), moved_mm(were, row.blocks)),  # type: ignore[arg-type]
            told_as=told_as_words([Cause.TEXT] if row.is_change else []),
            read=[BlockRead(" ".join(one.words.split()), block_words(one)) for one in blocks_from_text(row.blocks)],
        )
        for row, were in zip(versions, before, strict=True)
    ]


def _links(here: Spread) -> list[TextLink]:
    there = texts_of(here.book)
    rows = Spread.objects.filter(book=here.book, removed_at=None).select_related("book__print_set_up")
    # A cover has no size before its paper is told, and so no place for text.
    pieces = [row for row in rows.order_by("position") if row.kind != PieceKind.COVER or flat_for(row) is not None]
    return [
        TextLink(
            label=row.label,
            url=reverse("reviews:spread-text", args=[row.pk]),
            is_there=row.pk in there and bool(there[row.pk].blocks),
            is_here=row.pk == here.pk,
        )
        for row in pieces
    ]
