"""What stands between a proof and "OK to print": stoppers of its art, and who took which on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from reviews.models import Passage, Seat
from reviews.pages.wording import press
from reviews.pages.wording import stoppers as words
from reviews.queries.stoppers import PlateCaution, ProofArt, Stopper, Unlooked
from reviews.rules import permits
from reviews.rules.states import Deed, PassageState, Role


@dataclass(frozen=True, kw_only=True)
class StopperShown:
    """One stopper: in which file, in words; who took it on and why, or the way to do so.

    ``was`` is what somebody took on before it became worse, "" where nobody did.
    """

    picture_id: int
    code: str
    where: str
    url: str
    file_name: str
    words: str
    seen: str
    was: str
    by: str
    reason: str
    at: datetime | None
    may_take_on: bool


@dataclass(frozen=True)
class UnlookedShown:
    """A file of which something was not looked at, and what; or a plate, and what its finisher is asked about."""

    where: str
    url: str
    file_name: str
    words: str


@dataclass(frozen=True)
class BeforePrint:
    """What stands between a proof and "OK to print", and what nobody can tell yet."""

    stoppers: list[StopperShown]
    cautions: list[UnlookedShown]
    unlooked: list[UnlookedShown]

    def __bool__(self) -> bool:
        return bool(self.stoppers or self.cautions or self.unlooked)


def before_print(passage: Passage, seat: Seat, art: ProofArt) -> BeforePrint:
    """Show what was found in a proof's art and what was not looked at."""
    may = permits.may(Role(seat.role), Deed.TAKE_ON_FAULT, PassageState(passage.state))
    return BeforePrint(
        [_shown(stopper, may=may) for stopper in art.stoppers],
        [_caution(one) for one in art.cautions],
        [_unlooked(one) for one in art.unlooked],
    )


def _caution(one: PlateCaution) -> UnlookedShown:
    url = reverse("reviews:passage", args=[one.passage.pk])
    return UnlookedShown(one.passage.where, url, one.picture.file_name, words.fault_words(one.fault))


def _unlooked(one: Unlooked) -> UnlookedShown:
    return UnlookedShown(
        where=one.passage.where,
        url=reverse("reviews:passage", args=[one.passage.pk]),
        file_name=one.picture.file_name if one.picture else "",
        words=press.unlooked(one.missed, is_approved=one.picture is not None),
    )


def _shown(stopper: Stopper, *, may: bool) -> StopperShown:
    taken, outgrown = stopper.taken, stopper.outgrown
    return StopperShown(
        picture_id=stopper.picture.pk,
        code=stopper.code,
        where=stopper.passage.where,
        url=reverse("reviews:passage", args=[stopper.passage.pk]),
        file_name=stopper.picture.file_name,
        words=words.fault_words(stopper.fault),
        seen=stopper.seen,
        was=words.taken_before(outgrown.code, outgrown.values, outgrown.by.person.name) if outgrown else "",
        by=taken.by.person.name if taken else "",
        reason=taken.reason if taken else "",
        at=taken.at if taken else None,
        may_take_on=may and taken is None,
    )
