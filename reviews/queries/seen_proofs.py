"""Photographed and scanned proofs beside the art they are proofs of, as far as they are looked at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reviews import storage
from reviews.models import Passage, Picture, SeenProof
from reviews.press.seen_proof import SEEN_METHOD, ColourCast, SeenFound, sheet_name
from reviews.queries.final_art import finals_of_spreads
from reviews.queries.frames import placed_on
from reviews.queries.store_turns import store_turn
from reviews.rules.states import PictureState, StageKind


@dataclass(frozen=True)
class SeenAsked:
    """A photograph and the art that stands approved behind it, with the width at which that is printed."""

    picture: Picture
    art: Picture
    width_um: int

    @property
    def file_name(self) -> str:
        """Name the sheet that is laid over the photograph."""
        return sheet_name(self.art.sha256, self.width_um)


def seen_asked(picture: Picture) -> SeenAsked | None:
    """Name what a picture of a proof is held against (1 query); None where it is none, or no art stands approved."""
    passage = picture.hand_in.passage
    if passage.stage.kind != StageKind.PROOF or picture.state != PictureState.READY or not picture.has_preview:
        return None
    art = next((one for one in finals_of_spreads([passage.spread_id])[passage.spread_id] if _is_art(one.passage)), None)
    if art is None or art.approved is None or not art.approved.has_preview:
        return None
    art.passage.book = passage.book
    placed = placed_on(art.approved, art.passage)
    return SeenAsked(picture, art.approved, round(placed.width_mm * 1000)) if placed else None


def _is_art(passage: Passage) -> bool:
    return passage.stage.kind != StageKind.FINISH


def seen_proof_of(asked: SeenAsked) -> SeenProof | None:
    """Find what was seen of it, or that it waits (1 query)."""
    return SeenProof.objects.filter(**named(asked)).first()


def named(asked: SeenAsked) -> dict[str, Any]:
    """Give what tells one row from another."""
    return {
        "sha256": asked.picture.sha256,
        "art_sha256": asked.art.sha256,
        "width_um": asked.width_um,
        "method": SEEN_METHOD,
    }


def found_of(row: SeenProof) -> SeenFound | None:
    """Give what was seen, None where nothing is or could be."""
    if not row.result or "cast" not in row.result:
        return None
    result = row.result
    places = tuple(tuple(place) for place in result["places"])
    return SeenFound(**{**result, "cast": ColourCast(**result["cast"]), "places": places})


def seen_sheet(asked: SeenAsked) -> bytes | None:
    """Read the sheet that is laid over the photograph; None where it is not there."""
    name = storage.rendition_name(asked.picture.sha256, asked.file_name)
    with store_turn():
        return storage.read_all(name) if storage.exists(name) else None
