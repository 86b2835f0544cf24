"""The art of a book that goes to press: the last stage of each spread's plan before the proof, and its finish."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from reviews.models import Book, Passage, Picture
from reviews.rules.states import Gate, HandInState, PassageState, StageKind

#: Stages that draw the art itself; a special finish is a plate beside it.
DRAWN = (StageKind.LINE, StageKind.INK, StageKind.FLATS, StageKind.COLOUR)


@dataclass(frozen=True)
class FinalArt:
    """One piece for the press: its passage, and the picture that was approved there, if one stands approved now."""

    passage: Passage
    approved: Picture | None


def art_for_press(book: Book) -> list[FinalArt]:
    """List what goes to press in page order, approved or not (1 query)."""
    rows = Passage.objects.with_places().select_related("approved_picture__hand_in", "hand_in")
    rows = rows.filter(book=book, spread__removed_at=None).order_by("spread__position", "stage__position")
    by_spread: dict[int, list[Passage]] = {}
    for passage in rows:
        by_spread.setdefault(passage.spread_id, []).append(passage)
    return [one for row in by_spread.values() for one in finals_among(row)]


def finals_of_spreads(spreads: Collection[int]) -> dict[int, list[FinalArt]]:
    """List what goes to press of some spreads, by spread (1 query)."""
    rows = Passage.objects.with_places().select_related("approved_picture__hand_in", "hand_in")
    by_spread: dict[int, list[Passage]] = {spread: [] for spread in spreads}
    for passage in rows.filter(spread_id__in=by_spread).order_by("stage__position"):
        by_spread[passage.spread_id].append(passage)
    return {spread: finals_among(row) for spread, row in by_spread.items()}


def finals_among(row: Sequence[Passage]) -> list[FinalArt]:
    """List what goes to press of one spread whose passages are at hand, in order of their stages (no query).

    Needs of each its places, its newest hand-in and its approved picture with the hand-in of that.
    """
    return [FinalArt(passage, _approved(passage)) for passage in _finals(row)]


def _finals(row: Sequence[Passage]) -> Iterator[Passage]:
    art = [passage for passage in row if passage.stage.kind in DRAWN]
    yield from art[-1:]
    yield from (passage for passage in row if passage.stage.kind == StageKind.FINISH)


def _approved(passage: Passage) -> Picture | None:
    """Give the approved picture where the approval stands: not where a letter asked for a change to it since."""
    stands = passage.state == PassageState.APPROVED and passage.stage.gate == Gate.ANSWERS
    picture = passage.approved_picture
    if not stands or picture is None or picture.sha256 != passage.approved_sha256:
        return None
    return picture


def newest_pictures(finals: list[FinalArt]) -> list[tuple[Picture, Passage]]:
    """Pair each piece with the pictures of its newest hand-in (1 query)."""
    by_hand_in = {
        one.passage.hand_in_id: one.passage
        for one in finals
        if one.passage.hand_in is not None
        and one.passage.hand_in.state == HandInState.HANDED_IN
        and one.passage.stage.gate != Gate.HIDDEN
    }
    pictures = Picture.objects.filter(hand_in__in=list(by_hand_in), removed_at=None).order_by("position")
    found: dict[int | None, list[Picture]] = {}
    for picture in pictures:
        found.setdefault(picture.hand_in_id, []).append(picture)
    return [(picture, passage) for pk, passage in by_hand_in.items() for picture in found.get(pk, [])]
