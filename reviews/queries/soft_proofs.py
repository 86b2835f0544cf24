"""Pictures as printing conditions would print them, as far as they are made."""

from __future__ import annotations

from collections.abc import Sequence

from reviews import storage
from reviews.models import Picture, SoftProof
from reviews.press.soft_proof import SOFT_METHOD, Rendering, SoftChoice, SoftFound
from reviews.queries.print_profiles import ProfileOffered, profiles_for
from reviews.queries.store_turns import store_turn
from reviews.rules.states import PictureState, StageKind

#: Stages whose pictures are shown so: what is printed, and the printer's own proof beside it.
PRINTED_STAGES = frozenset(
    {StageKind.LINE, StageKind.INK, StageKind.FLATS, StageKind.COLOUR, StageKind.FINISH, StageKind.PROOF}
)
#: So many are kept of one content.
MOST_OF_ONE = 24


def may_be_proofed(picture: Picture, stage: StageKind) -> bool:
    """Say whether a picture can be shown so: it is read, and no PDF, whose pixels are not its own."""
    is_read = picture.state == PictureState.READY and "mode" in picture.facts
    return is_read and stage in PRINTED_STAGES and picture.facts.get("kind") != "PDF"


def soft_proofs_of(picture: Picture, offered: Sequence[ProfileOffered]) -> list[SoftProof]:
    """Find the soft proofs of a picture by what its book is offered, newest first (1 query, none where nothing is).

    They are kept by content: one file in two books has those of both, and which profile another book brought is its own
    affair. So each is named as it is offered here.
    """
    names = {one.sha256: one.name for one in offered}
    if not names:
        return []
    rows = list(
        SoftProof.objects.filter(sha256=picture.sha256, method=SOFT_METHOD, profile_sha256__in=names).order_by("-pk")
    )
    for row in rows:
        row.profile_name = names[row.profile_sha256]
    return rows


def soft_proof_of(picture: Picture, proof_id: int) -> SoftProof | None:
    """Find one of them (at most 2 queries)."""
    offered = profiles_for(picture.hand_in.passage.book)
    return next((row for row in soft_proofs_of(picture, offered) if row.pk == proof_id), None)


def choice_of(row: SoftProof) -> SoftChoice:
    return SoftChoice(
        profile_sha256=row.profile_sha256,
        rendering=Rendering(row.rendering),
        has_black_point=row.has_black_point,
        shows_paper=row.shows_paper,
    )


def found_of(row: SoftProof) -> SoftFound | None:
    """Give what was made, None where nothing is or could be."""
    return SoftFound(**row.result) if row.result and "width_px" in row.result else None


def soft_file(row: SoftProof, ending: str) -> bytes | None:
    """Read the picture (jpg) or the sheet of what lies outside (png); None where it is not there."""
    name = storage.rendition_name(row.sha256, choice_of(row).file_name(ending))
    with store_turn():
        return storage.read_all(name) if storage.exists(name) else None
