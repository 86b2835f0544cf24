"""What the portal does where the terms let silence count as approval: warn, then approve, each once."""

from __future__ import annotations

from reviews.actions._answers import take_outcome
from reviews.actions._deed import Act, deed_on
from reviews.actions._opening import is_closed, move_later, next_passage, opened
from reviews.actions.taken_faults import check_stoppers
from reviews.models import HandIn, Passage, Picture
from reviews.queries.silence import silence_of
from reviews.rules import decisions
from reviews.rules.contract.silence import Silence
from reviews.rules.payload_shapes import AnnounceSilenceData, ApproveBySilenceData
from reviews.rules.states import Answer, Deed, PassageState, Refused


def announce_silence(passage_id: int) -> Passage:
    """Warn the art director that an answer which does not come counts as approval, and from when."""
    with deed_on(Passage, passage_id, Deed.ANNOUNCE_SILENCE, None) as act:
        passage = act.passage(passage_id)
        hand_in, due = _due(passage, act)
        act.record(
            AnnounceSilenceData(
                where=passage.where,
                hand_in=hand_in.pk,
                number=hand_in.given_number,
                silent_on=due.silent_on.isoformat(),
            ),
            passage=passage,
        )
    return passage


def approve_by_silence(passage_id: int) -> Passage:
    """Approve the hand-in that nobody answered in time; what that opens, opens now.

    Everything is judged again under the lock: an answer given meanwhile, a withdrawn hand-in or a date that moved
    leaves nothing to approve.
    """
    with deed_on(Passage, passage_id, Deed.APPROVE_BY_SILENCE, None) as act:
        passage = act.passage(passage_id)
        hand_in, due = _due(passage, act)
        following = next_passage(passage)
        pictures = list(hand_in.pictures.filter(removed_at=None))
        outcome = decisions.approve_by_silence(
            passage.as_standing(next_is_closed=is_closed(following)), n_pictures=len(pictures)
        )
        moved = move_later(passage, act, silent_on=due.silent_on)
        came = take_outcome(passage, pictures[0], outcome, following, act, silent_on=due.silent_on)
        act.record(_approved(passage, hand_in, pictures[0], due, came) | moved, passage=passage)
    return passage


def _due(passage: Passage, act: Act) -> tuple[HandIn, Silence]:
    if passage.state != PassageState.ANSWERING or passage.hand_in is None or passage.pending_id:
        raise Refused("not-silent")
    if passage.spread.dropped_at is not None:
        raise Refused("not-silent")  # nobody owes an answer there
    due = silence_of(act.book, passage.pk, act.now)
    if due is None or due.deed != act.deed:
        raise Refused("silence-not-yet")
    # What no letter may let go to print, silence may not either: neither by approving nor by a warning that it will.
    check_stoppers(passage, Answer.APPROVE)
    return passage.hand_in, due


def _approved(
    passage: Passage, hand_in: HandIn, picture: Picture, due: Silence, came: list[Passage]
) -> ApproveBySilenceData:
    return ApproveBySilenceData(
        where=passage.where,
        hand_in=hand_in.pk,
        number=hand_in.given_number,
        silent_on=due.silent_on.isoformat(),
        picture=picture.pk,
        sha256=picture.sha256,
        to=passage.state,
        **opened(came),
    )
