"""How far a seat sees into a book: all of its art, the cover and what is approved, the spreads asked about, or one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from reviews.models import HandIn, Passage, Picture, ReadingAsk, Seat
from reviews.press.pages import PieceKind
from reviews.rules.permits import Scope, scope_of
from reviews.rules.states import PassageState, Role


def reaches(seat: Seat, passage: Passage) -> bool:
    """Say whether a passage exists for a seat (1 query for who is asked by the spread; needs spread joined)."""
    return reach_of([seat]).has(seat, passage)


@dataclass(frozen=True)
class Sighting:
    """What was looked up once for some seats; ``asked`` holds the spreads that each is asked about."""

    asked: dict[int, set[int]] = field(default_factory=dict)

    def has(self, seat: Seat, passage: Passage) -> bool:
        """Say whether a passage exists for a seat; needs its spread joined for whoever sees a part."""
        scope = scope_of(Role(seat.role))
        if scope == Scope.ONE:
            return seat.passage_id == passage.pk
        if scope == Scope.ASKED:
            return passage.spread_id in self.asked.get(seat.pk, ())
        if scope == Scope.COVER_AND_APPROVED:
            return passage.spread.kind == PieceKind.COVER or passage.state == PassageState.APPROVED
        return True


def reach_of(seats: Iterable[Seat]) -> Sighting:
    """Look up what these seats are asked about (1 query where one of them sees by the spread, else none)."""
    readers = [seat.pk for seat in seats if scope_of(Role(seat.role)) == Scope.ASKED]
    if not readers:
        return Sighting()
    asked: dict[int, set[int]] = {}
    rows = ReadingAsk.objects.filter(seat__in=readers, ended_at=None, spread__removed_at=None)
    for seat_id, spread_id in rows.values_list("seat_id", "spread_id"):
        asked.setdefault(seat_id, set()).add(spread_id)
    return Sighting(asked)


def shows_hand_in(seat: Seat, hand_in: HandIn) -> bool:
    """Say whether a seat that reaches the passage is shown this hand-in: sales are shown no versions of art under way.

    Needs ``passage.spread`` joined for whoever sees a part.
    """
    if scope_of(Role(seat.role)) != Scope.COVER_AND_APPROVED or hand_in.passage.spread.kind == PieceKind.COVER:
        return True
    passage = hand_in.passage
    return passage.state == PassageState.APPROVED and passage.hand_in_id == hand_in.pk


def shows_picture(seat: Seat, picture: Picture) -> bool:
    """Say whether a seat that is shown the hand-in is shown this picture: of several, the approved one is the art."""
    if scope_of(Role(seat.role)) != Scope.COVER_AND_APPROVED:
        return True
    passage = picture.hand_in.passage
    return passage.spread.kind == PieceKind.COVER or passage.approved_picture_id == picture.pk
