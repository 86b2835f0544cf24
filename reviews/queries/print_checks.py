"""The inks measured on pictures, as far as they are measured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from reviews.models import InkCheck, Passage, Picture
from reviews.press.file_check import InkFound
from reviews.press.limits import ArtKind
from reviews.queries.frames import placed_on
from reviews.queries.print_set_ups import print_of
from reviews.rules.states import PictureState, StageKind

#: Raise the number when the measurement says something else of the same picture.
INK_METHOD = "inks-1"
#: What a picture of a stage mainly is; stages that are not named hand in no file for print.
ART_OF_STAGE = {
    StageKind.LINE: ArtKind.LINE,
    StageKind.INK: ArtKind.LINE,
    StageKind.FLATS: ArtKind.TONE,
    StageKind.COLOUR: ArtKind.TONE,
    StageKind.FINISH: ArtKind.TONE,
}


@dataclass(frozen=True)
class InkAsked:
    """What tells one measurement from another."""

    sha256: str
    width_um: int
    limit: float


@dataclass(frozen=True)
class InkKnown:
    """What is known of a picture's inks: found, or that they could not be read."""

    found: InkFound | None
    could_not_read: bool = False


def has_inks(picture: Picture) -> bool:
    """Say whether a file carries printing inks of its own."""
    return str(picture.facts.get("mode", "")).startswith("CMYK") and picture.facts.get("kind") != "PDF"


def ink_asked(picture: Picture, passage: Passage) -> InkAsked | None:
    """Name the measurement that a picture of a passage needs; None where it carries no inks or is no file for print."""
    if (
        picture.state != PictureState.READY
        or StageKind(passage.stage.kind) not in ART_OF_STAGE
        or not has_inks(picture)
    ):
        return None
    placed = placed_on(picture, passage)
    if placed is None:
        return None
    return InkAsked(picture.sha256, round(placed.width_mm * 1000), print_of(passage.book).limits.ink.limit)


def inks_known(asked: Iterable[InkAsked | None]) -> dict[InkAsked, InkKnown]:
    """Find what was measured (1 query, none where nothing is asked)."""
    wanted = {one for one in asked if one is not None}
    if not wanted:
        return {}
    rows = InkCheck.objects.filter(sha256__in={one.sha256 for one in wanted}, method=INK_METHOD, result__isnull=False)
    known = {InkAsked(row.sha256, row.width_um, row.limit): _known(row) for row in rows}
    return {one: known[one] for one in wanted if one in known}


def _known(row: InkCheck) -> InkKnown:
    result = row.result or {}
    if "highest" not in result:
        return InkKnown(None, could_not_read=True)
    boxes = {name: tuple(tuple(box) for box in result[name]) for name in ("places", "thin_places")}
    return InkKnown(InkFound(**{**result, **boxes}))
