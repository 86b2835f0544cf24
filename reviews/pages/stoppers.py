"""What stands between a proof and "OK to print": stoppers of its art, and who took which on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from reviews.models import Passage, Seat
from reviews.pages.wording import press
from reviews.queries.stoppers import Stopper, stoppers_of
from reviews.rules import permits
from reviews.rules.states import Deed, PassageState, Role


@dataclass(frozen=True, kw_only=True)
class StopperShown:
    """One stopper: in which file, in words; who took it on and why, or the way to do so."""

    picture_id: int
    code: str
    where: str
    url: str
    file_name: str
    words: str
    by: str
    reason: str
    at: datetime | None
    may_take_on: bool


def stoppers_shown(passage: Passage, seat: Seat) -> list[StopperShown]:
    """List the stoppers of a proof's art (at most 3 queries, none at another stage)."""
    may = permits.may(Role(seat.role), Deed.TAKE_ON_FAULT, PassageState(passage.state))
    return [_shown(stopper, may=may) for stopper in stoppers_of(passage)]


def _shown(stopper: Stopper, *, may: bool) -> StopperShown:
    taken = stopper.taken
    return StopperShown(
        picture_id=stopper.picture.pk,
        code=stopper.fault.code,
        where=stopper.passage.where,
        url=reverse("reviews:passage", args=[stopper.passage.pk]),
        file_name=stopper.picture.file_name,
        words=press.fault(stopper.fault),
        by=taken.by.person.name if taken else "",
        reason=taken.reason if taken else "",
        at=taken.at if taken else None,
        may_take_on=may and taken is None,
    )
