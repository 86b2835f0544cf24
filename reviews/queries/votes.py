"""Look up votes: what is voted on, who may vote, and what stands open."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any

from django.db.models import Count, Exists, OuterRef, QuerySet, Subquery

from reviews.models import HandIn, OptionVote, Passage, Picture, Seat, VoteBallot
from reviews.queries.reach import reach_of
from reviews.rules.permits import PERMITS
from reviews.rules.states import Deed, PassageState, Role
from reviews.rules.votes import DECIDERS, seal_of

#: Of a passage, in its own query: a vote about options that were taken back, or followed by others, takes no ballot.
_ON_NEWEST = OptionVote.objects.filter(passage=OuterRef("pk"), hand_in=OuterRef("hand_in"))


def options_of(hand_in: HandIn) -> QuerySet[Picture]:
    """List the options of a hand-in in their order."""
    return Picture.objects.filter(hand_in=hand_in, removed_at=None).order_by("position", "pk")


def voters_of(passage: Passage) -> list[Seat]:
    """List the seats that may vote on a passage now (1 query; needs spread joined)."""
    roles = PERMITS[Deed.CAST_BALLOT][0]
    rows = Seat.objects.select_related("person").filter(book_id=passage.book_id, ended_at=None, role__in=roles)
    seats = list(rows.order_by("person__name", "pk"))
    reach = reach_of(seats)
    return [seat for seat in seats if reach.has(seat, passage)]


def open_vote_on(passage_id: int) -> OptionVote | None:
    """Find the vote that is open on a passage (1 query)."""
    return OptionVote.objects.filter(passage=passage_id, closed_at=None).first()


def votes_on(passage: Passage) -> list[OptionVote]:
    """List the votes on a passage, the newest first, with how many ballots each has (1 query)."""
    rows = OptionVote.objects.select_related("decider__person", "chosen", "hand_in").filter(passage=passage)
    return list(rows.annotate(n_given=Count("ballots")).order_by("-opened_at", "-pk"))  # type: ignore[no-redef]


def ballots_of(vote: OptionVote) -> tuple[list[VoteBallot], list[VoteBallot]]:
    """Open the ballots of a vote: those that fit their seals, and those that were changed outside the portal (1 query).

    For closing a vote and for what comes after; nothing else may ask before it is closed.
    """
    rows = list(VoteBallot.objects.select_related("person", "seat").filter(vote=vote).order_by("person__name", "pk"))
    broken = [ballot for ballot in rows if seal_of(ballot.ranks, ballot.salt) != ballot.seal]
    return [ballot for ballot in rows if ballot not in broken], broken


def own_ballot(vote: OptionVote, seat: Seat) -> VoteBallot | None:
    """Find a person's own ballot in a vote (1 query)."""
    return VoteBallot.objects.filter(vote=vote, person=seat.person_id).first()


def who_voted(vote: OptionVote) -> list[str]:
    """Name those who gave a ballot: that they did, and nothing of what it says (1 query)."""
    return list(vote.ballots.order_by("person__name").values_list("person__name", flat=True))


def may_decide(vote: OptionVote, seat: Seat) -> bool:
    """Say whether a seat decides a vote: the named one; an art director once the named one's seat has ended.

    Needs ``decider`` joined.
    """
    if vote.decider.person_id == seat.person_id:
        return Role(seat.role) in DECIDERS
    return vote.decider.ended_at is not None and seat.role == Role.ART_DIRECTOR


def has_voted(people: Collection[int]) -> Exists:
    """Ask of a passage, in its own query, whether these people gave a ballot on its newest options.

    By person and not by seat, as a ballot is: who is let in a second time has voted.
    """
    return Exists(VoteBallot.objects.filter(vote__hand_in=OuterRef("hand_in"), person__in=people))


def open_to(people: Collection[int]) -> dict[str, Any]:
    """Ask of a passage, in its own query, for a vote that these people gave no ballot in, and for its last day."""
    given = VoteBallot.objects.filter(vote__passage=OuterRef("pk"), vote__closed_at=None, person__in=people)
    still = _ON_NEWEST.filter(closed_at=None)
    return {"is_voting": Exists(still) & ~Exists(given), "voting_until": Subquery(still.values("until")[:1])}


def is_undecided() -> Exists:
    """Ask of a passage, in its own query, whether a vote on its newest options is open, or closed and not decided."""
    return Exists(_ON_NEWEST.filter(decided_at=None))


def is_to_be_decided_by(people: Collection[int]) -> Exists:
    """Ask of a passage, in its own query, whether a closed vote on its newest options waits for these people's word."""
    return Exists(_ON_NEWEST.filter(closed_at__isnull=False, decided_at=None, decider__person__in=people))


def may_vote_now(passage: Any, at: datetime) -> bool:
    """Say whether a ballot asked for by ``open_to`` would be taken at a moment; needs the book joined (no query)."""
    if not getattr(passage, "is_voting", False) or passage.state != PassageState.ANSWERING:
        return False
    return passage.voting_until is None or passage.book.day_rule.local_date(at) <= passage.voting_until
