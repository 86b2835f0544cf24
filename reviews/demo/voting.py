"""Two votes of the story: the cover meeting's, closed and decided, and one that still takes ballots."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from reviews.actions.votes import cast_ballot, close_vote, decide_vote, open_vote
from reviews.demo.teller import Teller
from reviews.models import OptionVote, Picture
from reviews.rules.states import Role


def opened(piece: str, words: str, *, decider: Role, last_day: int | None = None) -> Callable[[Teller], None]:
    """Let the art director put the options of a piece to a vote; ``last_day`` is told in working days before today."""

    def deed(tell: Teller) -> None:
        until = None if last_day is None else tell.date_of(last_day)
        with tell.moment():
            open_vote(
                tell.passage(piece, "ideas").pk,
                words=words,
                until=until,
                decider_id=tell.seats[decider].pk,
                actor=tell.seats[Role.ART_DIRECTOR],
            )

    return deed


def balloted(piece: str, ballots: Mapping[Role, Sequence[Sequence[int]]]) -> Callable[[Teller], None]:
    """Let people vote, each by the numbers of the options: best first, equals together."""

    def deed(tell: Teller) -> None:
        vote, pictures = _vote(tell, piece)
        for role, order in ballots.items():
            ranks = [[pictures[number].pk for number in group] for group in order]
            with tell.moment():
                cast_ballot(vote.pk, ranks, actor=tell.seats[role])

    return deed


def decided(piece: str, number: int, reasons: str) -> Callable[[Teller], None]:
    """Let the art director close a vote and decide it."""

    def deed(tell: Teller) -> None:
        vote, pictures = _vote(tell, piece)
        with tell.moment():
            close_vote(vote.pk, actor=tell.seats[Role.ART_DIRECTOR])
        with tell.moment():
            decide_vote(
                vote.pk, picture_id=pictures[number].pk, reasons=reasons, actor=tell.seats[Role.ART_DIRECTOR]
            )  # fmt: skip

    return deed


def _vote(tell: Teller, piece: str) -> tuple[OptionVote, dict[int, Picture]]:
    vote = OptionVote.objects.get(passage=tell.passage(piece, "ideas"))
    return vote, {picture.position: picture for picture in Picture.objects.filter(pk__in=vote.options)}
