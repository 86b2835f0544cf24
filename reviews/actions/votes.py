"""A vote among options: opened, given, closed, decided. What a ballot says is read by nobody before it is closed."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from reviews.actions._deed import Act, deed_on
from reviews.actions._outbox import owe_entry
from reviews.models import OptionVote, Passage, Picture, Seat, VoteBallot
from reviews.queries.votes import ballots_of, may_decide, options_of, voters_of
from reviews.rules.states import Deed, PictureState, Refused, Role, Sight, StageKind
from reviews.rules.vote_payloads import (
    BallotData,
    CastBallotData,
    CloseVoteData,
    DecideVoteData,
    OpenVoteData,
    VoteOptionData,
)
from reviews.rules.votes import (
    DECIDERS,
    FEWEST_OPTIONS,
    MOST_REASONS,
    MOST_WORDS,
    Ranks,
    as_ballot,
    count_votes,
    seal_of,
)

_SECRET_BYTES = 32


def open_vote(
    passage_id: int, *, words: str = "", until: date | None = None, decider_id: int, actor: Seat
) -> OptionVote:
    """Put the options of the newest hand-in to a vote; whoever may vote is written to.

    The options are those of this moment: a hand-in never changes, and a vote about one that was taken back or
    followed by another takes no more ballots.
    """
    with deed_on(Passage, passage_id, Deed.OPEN_VOTE, actor) as act:
        passage = act.passage(passage_id)
        if passage.stage.kind != StageKind.IDEAS or passage.hand_in is None:
            raise Refused("not-an-idea")
        if OptionVote.objects.filter(passage=passage, closed_at=None).exists():
            raise Refused("vote-open-already")
        if until is not None and until < act.today:
            raise Refused("vote-day-is-past")
        options = list(options_of(passage.hand_in))
        if any(picture.state != PictureState.READY for picture in options):
            raise Refused("vote-options-not-read")
        if len(options) < FEWEST_OPTIONS:
            raise Refused("vote-needs-two")
        vote = OptionVote.objects.create(
            passage=passage, hand_in=passage.hand_in, options=[picture.pk for picture in options],
            words=_checked(words, MOST_WORDS), seed=secrets.token_urlsafe(_SECRET_BYTES), until=until,
            decider=_decider(decider_id, act), opened_by=act.by, opened_at=act.now,
        )  # fmt: skip
        act.holds(vote)
        voters = voters_of(passage)
        payload = OpenVoteData(
            where=passage.where, vote=vote.pk, hand_in=passage.hand_in.given_number,
            options=[_told(picture) for picture in options], words=vote.words,
            until=until.isoformat() if until else None, decider=vote.decider.person.name,
            asked=[seat.pk for seat in voters],
        )  # fmt: skip
        entry = act.record(payload, passage=passage, sight=Sight.PUBLISHER)
        for seat in voters:
            if seat.person_id != act.by.person_id:
                owe_entry(entry, seat.person)
    return vote


def cast_ballot(vote_id: int, ranks: Ranks, *, actor: Seat) -> VoteBallot:
    """Give one's ballot, or give it anew in place of the one before: nobody has two."""
    with deed_on(OptionVote, vote_id, Deed.CAST_BALLOT, actor) as act:
        vote = OptionVote.objects.get(pk=vote_id)
        passage = act.passage(vote.passage_id)
        if vote.closed_at is not None:
            raise Refused("vote-closed")
        if vote.hand_in_id != passage.hand_in_id:
            raise Refused("vote-options-gone")
        if vote.until is not None and act.today > vote.until:
            raise Refused("vote-is-over")
        as_ballot(ranks, vote.options)
        salt = secrets.token_urlsafe(_SECRET_BYTES)
        ballot, is_first = VoteBallot.objects.update_or_create(
            vote=vote,
            person=act.by.person,
            defaults={
                "seat": act.by,
                "ranks": [list(group) for group in ranks],
                "salt": salt,
                "seal": seal_of(ranks, salt),
                "at": act.now,
            },
        )
        act.holds(ballot)
        payload = CastBallotData(where=passage.where, vote=vote.pk, again=not is_first)
        act.record(payload, passage=passage, sight=Sight.PUBLISHER)
    return ballot


def close_vote(vote_id: int, *, actor: Seat) -> OptionVote:
    """Close a vote for good: its ballots are opened, and what they come to is told by its entry.

    A ballot that no longer fits its seal was changed behind the portal's back: it is not counted, and that is told.
    """
    with deed_on(OptionVote, vote_id, Deed.CLOSE_VOTE, actor) as act:
        vote = OptionVote.objects.get(pk=vote_id)
        if vote.closed_at is not None:
            raise Refused("vote-closed")
        passage = act.passage(vote.passage_id, is_gone=True)
        ballots, broken = ballots_of(vote)
        vote.closed_by, vote.closed_at = act.by, act.now
        vote.save(update_fields=["closed_by", "closed_at"])
        act.holds(vote)
        number = dict(Picture.objects.filter(pk__in=vote.options).values_list("pk", "position"))
        order = count_votes(vote.options, [ballot.ranks for ballot in ballots]).order if ballots else ()
        payload = CloseVoteData(
            where=passage.where, vote=vote.pk,
            ballots=[BallotData(name=b.person.name, ranks=_numbered(b.ranks, number)) for b in ballots],
            order=_numbered(order, number), broken=[ballot.person.name for ballot in broken],
        )  # fmt: skip
        act.record(payload, passage=passage, sight=Sight.PUBLISHER)
    return vote


def decide_vote(vote_id: int, *, picture_id: int, reasons: str, actor: Seat) -> OptionVote:
    """Say what is chosen, and why: the vote informs, and the one who was named decides, also against it.

    It can be decided anew: the entry of before stays. Nothing is approved by it; the letter does that.
    """
    with deed_on(OptionVote, vote_id, Deed.DECIDE_VOTE, actor) as act:
        vote = OptionVote.objects.select_related("decider__person").get(pk=vote_id)
        passage = act.passage(vote.passage_id)
        if vote.closed_at is None:
            raise Refused("vote-still-open")
        if not may_decide(vote, act.by):
            raise Refused("vote-others-to-decide", name=vote.decider.person.name)
        if picture_id not in vote.options:
            raise Refused("ballot-names-unknown")
        said = _checked(reasons, MOST_REASONS)
        if not said:
            raise Refused("decision-needs-reasons")
        options = {picture.pk: picture for picture in Picture.objects.filter(pk__in=vote.options)}
        chosen = options[picture_id]
        vote.chosen, vote.reasons, vote.decided_by, vote.decided_at = chosen, said, act.by, act.now
        vote.save(update_fields=["chosen", "reasons", "decided_by", "decided_at"])
        act.holds(vote)
        ballots, _ = ballots_of(vote)
        winners = count_votes(vote.options, [ballot.ranks for ballot in ballots]).winners if ballots else ()
        payload = DecideVoteData(
            where=passage.where, vote=vote.pk, **_told(chosen), reasons=said,
            winners=sorted(picture.position for picture in options.values() if picture.pk in winners),
        )  # fmt: skip
        act.record(payload, passage=passage, sight=Sight.PUBLISHER)
    return vote


def _decider(seat_id: int, act: Act) -> Seat:
    seat = Seat.objects.select_related("person").filter(pk=seat_id, book=act.book, ended_at=None).first()
    if seat is None or Role(seat.role) not in DECIDERS:
        raise Refused("vote-needs-decider")
    return seat


def _checked(words: str, most: int) -> str:
    said = words.strip()
    if len(said) > most:
        raise Refused("vote-words-too-long", n=most)
    return said


def _told(picture: Picture) -> VoteOptionData:
    return VoteOptionData(picture=picture.pk, option=picture.position, sha256=picture.sha256)


def _numbered(groups: Iterable[Iterable[Any]], number: Mapping[int, int]) -> list[list[int]]:
    return [sorted(number[option] for option in group) for group in groups]
