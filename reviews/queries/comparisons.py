"""Comparisons and carried notes, looked up: what is compared with what, whose pictures those were, which notes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from reviews.models import CarriedNote, Comparison, HandIn, Note, Passage, Picture, Seat
from reviews.queries.access import may_see_picture
from reviews.queries.frames import frame_of
from reviews.rules import permits
from reviews.rules.states import HandInState, NoteState, Reach, Response, Role, StageKind

# Raised when the computation says something else of the same pictures; the worker's own method string stands
# in its result. Kept here because a request must not load the engine to learn its name.
COMPARE_METHOD = "changes-9"
#: Of more options than these only the first are held against what came last: each takes the worker some seconds, and
#: one that holds a whole sheaf of ideas is read side by side. Chosen here, not measured.
MOST_OPTIONS = 8


def forerunners(passage: Passage, handed: HandIn) -> list[Picture]:
    """Find what a hand-in is compared with: the version before it, and the approved picture before this stage.

    A plate is compared with the plate before it only: against the art, everything it leaves out would read as gone.
    """
    found = []
    earlier = passage.hand_ins.filter(state=HandInState.HANDED_IN).order_by("-number")
    # A draft has no number yet: everything handed in was before it.
    before = (earlier if handed.number is None else earlier.filter(number__lt=handed.number)).first()
    if before is not None:
        pictures = list(before.pictures.filter(removed_at=None))
        marked = [picture for picture in pictures if picture.notes.filter(state=NoteState.SENT).exists()]
        found += pictures if len(pictures) == 1 else marked[:1]
    approved = None if is_plate(passage) else approved_before(passage)
    if approved is not None:
        found.append(approved)
    return found


def is_plate(passage: Passage) -> bool:
    """Say whether what is handed in here is the plate of a special finish; needs stage joined."""
    return passage.stage.kind == StageKind.FINISH


def approved_before(passage: Passage) -> Picture | None:
    """Find the newest approved picture of an earlier stage of the same spread (1 query)."""
    rows = Passage.objects.select_related(
        "approved_picture__hand_in__passage__stage", "approved_picture__hand_in__by", "stage"
    ).filter(spread_id=passage.spread_id, approved_picture__isnull=False, stage__kind__in=_DRAWN)
    return approved_among(rows.order_by("stage__position"), passage)


#: Stages whose approved picture a later one is held against.
_DRAWN = (
    StageKind.SKETCH, StageKind.FULL_SKETCH, StageKind.LINE, StageKind.INK, StageKind.FLATS, StageKind.COLOUR,
)  # fmt: skip


def approved_among(row: Iterable[Passage], passage: Passage) -> Picture | None:
    """Do so among the passages of its spread, in order of their stages, with their approved pictures (no query)."""
    earlier = [one for one in row if one.stage.position < passage.stage.position and one.stage.kind in _DRAWN]
    return next((one.approved_picture for one in reversed(earlier) if one.approved_picture is not None), None)


def print_width_um(picture: Picture, passage: Passage) -> int | None:
    """Give the width at which a picture is printed; None while its size is unknown. Needs book and spread joined."""
    frame = frame_of(picture, passage)
    return round(frame.width_mm * 1000) if frame else None


def others_named(rows: Mapping[str, Comparison], passage: Passage, seat: Seat) -> dict[str, Picture]:
    """Find whose pictures these were, by their fingerprints (1 query)."""
    others = (
        Picture.objects.select_related("hand_in__passage__stage", "hand_in__by")
        .filter(sha256__in=list(rows), hand_in__passage__spread_id=passage.spread_id, removed_at=None)
        .filter(hand_in__state=HandInState.HANDED_IN)
        .order_by("-hand_in__passage__stage__position", "-hand_in__number")
    )
    if is_plate(passage):
        others = others.filter(hand_in__passage=passage)
    # One file handed in twice, as an idea and as a sketch say, would show the same places twice: the newest names it.
    named: dict[str, Picture] = {}
    for other in others:
        if may_see_picture(other, seat):
            named.setdefault(other.sha256, other)
    return named


def carried_onto(pictures: list[Picture], seat: Seat) -> list[CarriedNote]:
    """List the notes of earlier versions as they lie on these pictures (1 query)."""
    if not permits.sees(Role(seat.role), "comparisons") or len(pictures) != 1:
        return []
    return list(
        CarriedNote.objects.select_related("note__letter", "note__author__person")
        .filter(picture__in=[picture.pk for picture in pictures], note__state=NoteState.SENT)
        .order_by("note__letter__number", "note__number")
    )


def is_done_but_untouched(carried: CarriedNote) -> bool:
    """Say whether a note was answered "done" while nothing is seen to have changed: the art director looks."""
    is_seen_untouched = carried.verdict == "untouched" and carried.state != "cannot-tell"
    return carried.note.response == Response.DONE and is_seen_untouched and not carried.corrected


def notes_to_carry(sha256_before: str, after: Picture) -> list[Note]:
    """List the sent notes on the version before that are to be found again on the new one (1 query)."""
    return list(
        Note.objects.filter(
            picture__sha256=sha256_before,
            passage_id=after.hand_in.passage_id,
            state=NoteState.SENT,
            reach=Reach.PLACE,
        ).order_by("number")
    )
