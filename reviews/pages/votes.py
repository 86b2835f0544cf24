"""What the pages of a vote show: the options to place, how many have voted, and after closing what it came to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from reviews.models import OptionVote, Passage, Picture, Seat, VoteBallot
from reviews.pages.wording.votes import count_words, lead_words, options_words, order_words
from reviews.queries.votes import ballots_of, may_decide, own_ballot, voters_of, who_voted
from reviews.rules import permits
from reviews.rules.ballot import Option, Result
from reviews.rules.states import Deed, HandInState, PassageState, Role
from reviews.rules.votes import DECIDERS, count_votes, places_of, seen_by


@dataclass(frozen=True, kw_only=True)
class VoteOption:
    """One option as it is shown: by number, never by the name of its file. ``place`` is one's own, 0 if not placed.

    ``url`` and ``thumb`` are "" once its hand-in was taken back: then it is not the house's to look at.
    """

    picture: int
    number: int
    url: str
    thumb: str
    width_px: int
    height_px: int
    place: int = 0


@dataclass(frozen=True, kw_only=True)
class PairRow:
    """How many ballots rank one option above each of the others."""

    number: int
    #: Per other option: votes, and whether they are more than those the other way; None against itself.
    cells: list[tuple[int, bool] | None]
    points: str
    approvals: int
    is_first: bool


@dataclass(frozen=True, kw_only=True)
class GivenBallot:
    """One ballot, opened. ``has_left``: the seat it was given from has ended since."""

    name: str
    words: str
    has_left: bool


@dataclass(frozen=True, kw_only=True)
class VoteResult:
    """What a closed vote came to. ``lead`` says who is first, ``beside`` what the other two counts say."""

    n_ballots: int
    counted: str
    is_tied: bool = False
    lead: list[str]
    places: list[list[VoteOption]]
    pairs: list[PairRow]
    ballots: list[GivenBallot]
    broken: list[str]


@dataclass(frozen=True, kw_only=True)
class VotePage:
    """A vote as one seat sees it. ``closed_because`` says why no ballot is taken though it is not closed."""

    vote: OptionVote
    options: list[VoteOption]
    has_voted: bool
    takes_ballots: bool
    closed_because: str
    voted: list[str]
    missing: list[str]
    result: VoteResult | None
    may_close: bool
    may_decide: bool
    sees_all: bool

    @property
    def chosen(self) -> VoteOption | None:
        return next((one for one in self.options if one.picture == self.vote.chosen_id), None)

    @property
    def in_order(self) -> list[VoteOption]:
        """The options by their numbers, as everybody sees them once there is nothing to place any more."""
        return sorted(self.options, key=lambda one: one.number)


def vote_page(vote: OptionVote, seat: Seat) -> VotePage:
    """Gather a vote for one seat (at most 4 queries): before it is closed, of ballots only one's own."""
    role, passage = Role(seat.role), vote.passage
    own = own_ballot(vote, seat)
    pictures = {picture.pk: picture for picture in Picture.objects.filter(pk__in=vote.options)}
    shown = seen_by(vote.options, vote.seed, seat.person_id)
    places = places_of(own.ranks) if own else {}
    is_there = vote.hand_in.state == HandInState.HANDED_IN
    options = [_option(pictures[option], places.get(option, 0), is_there=is_there) for option in shown]
    sees_all = permits.sees(role, "vote-results")
    voted = who_voted(vote) if sees_all else []
    because = _closed_because(vote)
    missing = []
    if sees_all and vote.closed_at is None:
        given = set(vote.ballots.values_list("person", flat=True))
        missing = [str(one.person) for one in voters_of(passage) if one.person_id not in given]
    return VotePage(
        vote=vote,
        options=options,
        has_voted=own is not None,
        takes_ballots=not because and permits.may(role, Deed.CAST_BALLOT, PassageState(passage.state)),
        closed_because=because,
        voted=voted,
        missing=missing,
        result=result_of(vote, options, with_names=sees_all) if vote.closed_at else None,
        may_close=vote.closed_at is None and permits.may(role, Deed.CLOSE_VOTE),
        may_decide=vote.closed_at is not None and may_decide(vote, seat),
        sees_all=sees_all,
    )


def result_of(vote: OptionVote, options: Sequence[VoteOption], *, with_names: bool) -> VoteResult:
    """Count a closed vote (1 query). Other ballots are for the publisher's side only."""
    if vote.closed_at is None:
        raise ValueError("a vote is counted once it is closed")
    ballots, broken = ballots_of(vote)
    changed = [ballot.person.name if with_names else _("one who voted") for ballot in broken]
    by_picture: dict[Option, VoteOption] = {one.picture: one for one in options}
    if not ballots:
        return VoteResult(
            n_ballots=0, counted=count_words(0), lead=[], places=[], pairs=[], ballots=[],
            broken=changed,
        )  # fmt: skip
    result = count_votes(vote.options, [ballot.ranks for ballot in ballots])
    numbers = {picture: one.number for picture, one in by_picture.items()}
    return VoteResult(
        n_ballots=len(ballots),
        counted=count_words(len(ballots)),
        is_tied=result.is_tied,
        lead=lead_words(result, numbers),
        places=[sorted((by_picture[one] for one in group), key=lambda each: each.number) for group in result.order],
        pairs=_pairs(result, numbers),
        ballots=[_given(ballot, numbers) for ballot in ballots] if with_names else [],
        broken=changed,
    )


def _pairs(result: Result, numbers: Mapping[Option, int]) -> list[PairRow]:
    by_number = sorted(result.options, key=lambda option: numbers[option])
    return [
        PairRow(
            number=numbers[one],
            cells=[
                None
                if one == other
                else (result.prefer[one, other], result.prefer[one, other] > result.prefer[other, one])
                for other in by_number
            ],
            points=f"{result.borda[one]:g}",
            approvals=result.approvals[one],
            is_first=one in result.winners,
        )
        for one in by_number
    ]


def _given(ballot: VoteBallot, numbers: Mapping[Option, int]) -> GivenBallot:
    words = order_words([[numbers[option] for option in group] for group in ballot.ranks])
    return GivenBallot(name=ballot.person.name, words=words, has_left=ballot.seat.ended_at is not None)


def _closed_because(vote: OptionVote) -> str:
    passage = vote.passage
    if vote.closed_at is not None:
        return "closed"
    if vote.hand_in_id != passage.hand_in_id:
        return "gone"
    if passage.state != PassageState.ANSWERING:
        return "answered"
    if vote.until is not None and passage.book.day_rule.local_date(timezone.now()) > vote.until:
        return "over"
    return ""


def _option(picture: Picture, place: int, *, is_there: bool) -> VoteOption:
    return VoteOption(
        picture=picture.pk,
        number=picture.position,
        url=reverse("reviews:picture-preview", args=[picture.pk]) if is_there else "",
        thumb=reverse("reviews:picture-thumb", args=[picture.pk]) if is_there else "",
        width_px=picture.width_px or 1,
        height_px=picture.height_px or 1,
        place=place,
    )


def deciders_on(passage: Passage) -> list[Seat]:
    """List who may be named as the one who decides (1 query)."""
    rows = Seat.objects.select_related("person").filter(book=passage.book_id, ended_at=None, role__in=list(DECIDERS))
    return list(rows.order_by("role", "person__name", "pk"))


def vote_line(vote: OptionVote) -> str:
    """Say of a vote in a list what it was about."""
    return options_words(len(vote.options), vote.hand_in.given_number)
