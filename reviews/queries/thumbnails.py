"""The newest picture of each spread that a seat may see: desk and book map show it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import F, Q

from reviews.models import HandIn, Passage, Picture, Seat, Spread
from reviews.queries.access import sat_together
from reviews.queries.reach import Sighting, reach_of, shows_picture
from reviews.rules import permits
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Gate, HandInState, PassageState, Role, StageKind


@dataclass(frozen=True)
class Newest:
    """One picture to show for a spread; ``is_read`` is False while the background still works on it."""

    picture: int
    passage: int
    width_px: int | None
    height_px: int | None
    is_read: bool


def newest_pictures(seats: Iterable[Seat], *, is_art_only: bool = False) -> dict[int, Newest]:
    """Find the newest visible picture of every spread of the seats' books, by spread (1 query; 2 for a reader).

    Of a passage's newest hand-in the approved picture is shown, else its first; a plate for foil or varnish
    stands for a spread only while there is no art of it. Drafts are nobody's here,
    and what is handed in at a hidden stage is the illustrator's alone. ``is_art_only`` passes over what the printer
    made of it, which may be a whole sheet.
    """
    by_book = {seat.book_id: seat for seat in seats}
    reach = reach_of(by_book.values())
    found: dict[int, Newest] = {}
    for row in _handed_in(by_book, is_art_only=is_art_only):
        if _is_seen(by_book[row["book"]], row, reach):
            # Later rows are newer, and the first picture of a hand-in comes last.
            found[row["spread"]] = Newest(
                row["pk"], row["passage"], row["width_px"], row["height_px"], row["has_preview"]
            )
    return found


def _handed_in(books: Iterable[int], *, is_art_only: bool) -> Iterable[Mapping[str, Any]]:
    """Give the pictures of each passage's newest hand-in, so that what stands for its spread comes last."""
    return (
        Picture.objects.filter(
            hand_in=F("hand_in__passage__hand_in"),
            hand_in__state=HandInState.HANDED_IN,
            hand_in__passage__book_id__in=list(books),
            hand_in__passage__spread__removed_at=None,
            removed_at=None,
        )
        .exclude(hand_in__passage__stage__kind__in=PRINTERS_STAGES if is_art_only else [])
        .annotate(
            is_approved=Q(pk=F("hand_in__passage__approved_picture")),
            is_art=~Q(hand_in__passage__stage__kind=StageKind.FINISH),
        )
        .order_by("is_art", "hand_in__handed_in_at", "hand_in_id", F("is_approved").asc(nulls_first=True), "-position")
        .values(
            "pk",
            "width_px",
            "height_px",
            "has_preview",
            book=F("hand_in__passage__book_id"),
            spread=F("hand_in__passage__spread_id"),
            spread_kind=F("hand_in__passage__spread__kind"),
            stands=F("hand_in__passage__state"),
            approved=F("hand_in__passage__approved_picture"),
            passage=F("hand_in__passage_id"),
            gate=F("hand_in__passage__stage__gate"),
            by=F("hand_in__by__person_id"),
            by_ended_at=F("hand_in__by__ended_at"),
        )
    )


def main_colours_of(numbers: Iterable[int]) -> dict[int, list[tuple[str, float]]]:
    """Give the main colours of pictures by their numbers, as far as they are known (1 query)."""
    rows = Picture.objects.filter(pk__in=list(numbers), facts__has_key="colours")
    return {number: facts["colours"] for number, facts in rows.values_list("pk", "facts")}


def approved_pictures(seat: Seat) -> dict[int, int]:
    """Name the picture of each spread that was approved last and stands so, as far as a seat may see it, by spread.

    1 query; 2 for a reader. A plate for foil or varnish is no picture of a page, and is left out.
    """
    rows = Passage.objects.live().filter(
        book=seat.book_id, state=PassageState.APPROVED, approved_picture__has_preview=True
    )
    art = rows.exclude(stage__kind=StageKind.FINISH).exclude(stage__gate=Gate.HIDDEN).select_related("spread")
    reach = reach_of([seat])
    return {
        row.spread_id: row.approved_picture_id
        for row in art.order_by("stage__position")
        if row.approved_picture_id and reach.has(seat, row)
    }


def _is_seen(seat: Seat, row: Mapping[str, Any], reach: Sighting) -> bool:
    spread = Spread(pk=row["spread"], kind=row["spread_kind"])
    passage = Passage(pk=row["passage"], spread=spread, state=row["stands"], approved_picture_id=row["approved"])
    if not reach.has(seat, passage):
        return False
    # Only a passage's newest hand-in comes here; of it, sales are shown the approved picture.
    if not shows_picture(seat, Picture(pk=row["pk"], hand_in=HandIn(passage=passage))):
        return False
    if row["gate"] == Gate.HIDDEN:
        by = Seat(person_id=row["by"], ended_at=row["by_ended_at"])
        return Role(seat.role) == Role.ILLUSTRATOR and sat_together(seat, by)
    return permits.sees(Role(seat.role), "pictures")
