"""The art under placed text: what is to be measured of it, and what was found."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reviews.models import Passage, Picture, TextGround
from reviews.press.placing import PlacedPicture
from reviews.press.text_blocks import SetBlock
from reviews.press.text_check import GroundFound, least_contrast
from reviews.queries.frames import bears_text, placed_on
from reviews.queries.print_checks import ART_OF_STAGE
from reviews.queries.print_set_ups import print_of
from reviews.rules.states import PictureState, StageKind

#: Raise the number when the measurement says something else of the same picture.
GROUND_METHOD = "ground-1"
#: Where art is near enough to what is printed that reading on it can be judged; a plate is no art.
JUDGED_STAGES = frozenset(ART_OF_STAGE) - {StageKind.FINISH}
_DECIMALS = 5  # of the picture: a thousandth of a millimetre on a spread


@dataclass(frozen=True)
class GroundKey:
    """What tells one measurement from another; ``laid`` says as JSON how the blocks lie on the picture."""

    sha256: str
    laid: str

    @property
    def laid_sha256(self) -> str:
        return hashlib.sha256(self.laid.encode()).hexdigest()


@dataclass(frozen=True)
class GroundKnown:
    """What was found under each block of a picture."""

    found: tuple[GroundFound, ...]


def ground_asked(picture: Picture, passage: Passage, blocks: Sequence[SetBlock]) -> GroundKey | None:
    """Name the measurement that a picture with these blocks over it needs; None where there is nothing to judge."""
    if not blocks or picture.state != PictureState.READY or StageKind(passage.stage.kind) not in JUDGED_STAGES:
        return None
    placed = placed_on(picture, passage)
    if placed is None or not bears_text(placed, passage):
        return None
    own = print_of(passage.book).figures.text_contrast
    return GroundKey(picture.sha256, json.dumps([_laid(placed, one, own) for one in blocks], separators=(",", ":")))


def _laid(placed: PlacedPicture, found: SetBlock, own: float | None) -> dict[str, object]:
    boxes = [
        [placed.share_x(box[0]), placed.share_y(box[1]), placed.share_x(box[2]), placed.share_y(box[3])]
        for box in found.printed
    ]
    return {
        "block": found.block.number,
        "colour": found.block.colour,
        "least": least_contrast(found.block, own),
        "size": round(found.block.size_mm / placed.width_mm, _DECIMALS),
        "boxes": [[round(share, _DECIMALS) for share in box] for box in boxes],
    }


def grounds_known(asked: Iterable[GroundKey | None]) -> dict[GroundKey, GroundKnown]:
    """Find what was measured (1 query, none where nothing is asked)."""
    wanted = {one for one in asked if one is not None}
    if not wanted:
        return {}
    rows = TextGround.objects.filter(
        sha256__in={one.sha256 for one in wanted},
        laid_sha256__in={one.laid_sha256 for one in wanted},
        method=GROUND_METHOD,
        result__isnull=False,
    )
    known = {GroundKey(row.sha256, row.laid): _known(row) for row in rows}
    return {one: known[one] for one in wanted if one in known}


def _known(row: TextGround) -> GroundKnown:
    found = (row.result or {}).get("found", [])
    return GroundKnown(tuple(GroundFound(**{**one, "worst_at": tuple(one["worst_at"])}) for one in found))
