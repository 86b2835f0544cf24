"""Dates of passages: proposed to the other side, accepted by it, or brought forward by the side that keeps them."""

from __future__ import annotations

from datetime import date

from reviews.actions._deed import Act, deed_on, deeds_on
from reviews.actions._proposals import (
    begin,
    check_speaker,
    end,
    proposed_by,
    read_to_answer,
    side_acting,
    words_given,
)
from reviews.models import LedgerEntry, Passage, Proposal, Seat
from reviews.queries.proposals import date_stands, has_lost_its_object
from reviews.queries.terms import terms_on
from reviews.rules.contract.date_moves import check_moves
from reviews.rules.contract.plans import check_reach
from reviews.rules.contract.receipts import late_days
from reviews.rules.payload_shapes import MoveDueDateData
from reviews.rules.proposals import DateStands, Matter, ProposalState, WhichDate, may_alone, side_of
from reviews.rules.states import Deed, Gate, PassageState, Refused, Role, Sight


def ask_for_date(
    passage_id: int,
    *,
    to: date,
    reason: str,
    which: str = WhichDate.HAND_IN,
    forgives: bool = False,
    seen: int | None = None,
    actor: Seat,
) -> Proposal | None:
    """Give the own side less time at once (None), or propose a date to the other side: then the proposal.

    ``seen`` is the number of the open proposal about the same date that the person looked at; the new one answers it.
    ``forgives``: the days late until the agreement are forgiven, if they are not the own side's.
    """
    with deeds_on(Passage, passage_id, actor) as acts:
        passage = _passage(passage_id, actor)
        stands = date_stands(passage, which)
        alone = may_alone(stands, side_of(Role(actor.role)), to)
        with acts.deed(Deed.MOVE_DUE_DATE if alone else Deed.PROPOSE) as act:
            check_speaker(act, Matter.DATE)
            said = words_given(reason, "reason-missing")
            _check_date(to, stands, act)
            if alone:
                _bring_forward(passage_id, stands, to, said, act)
                return None
            if forgives and stands.keeper == side_acting(act):
                raise Refused("forgives-itself")
            _check_moves(passage, stands, to, act)
            made, named = begin(
                act, Matter.DATE, seen=seen, passage=passage, which=which, hand_in=passage.hand_in, from_on=stands.on,
                to_on=to, reason=said, forgives=forgives,
            )  # fmt: skip
            act.record(named, passage=passage)
            return made


def accept_date(proposal_id: int, *, forgives: bool = False, stands_on: date | None = None, actor: Seat) -> Passage:
    """Accept a proposed date: it holds from now on. Both names stand in the ledger.

    ``forgives`` does away with the days late until today, where they are the other side's; ``stands_on`` is the date
    that the person saw standing.
    """
    with deed_on(Proposal, proposal_id, Deed.MOVE_DUE_DATE, actor) as act:
        proposal = read_to_answer(proposal_id, act)
        if proposal.passage is None or proposal.to_on is None:
            raise Refused("proposal-overtaken")
        stands = date_stands(proposal.passage, proposal.which)
        if stands.is_open and stands.on != (stands_on or proposal.from_on):
            raise Refused("date-stands-elsewhere")
        if has_lost_its_object(proposal):
            raise Refused("proposal-overtaken")
        passage = act.passage(proposal.passage.pk)
        if proposal.to_on < act.today:
            raise Refused("proposal-past")
        if proposal.to_on == stands.on:
            raise Refused("same-date")
        if forgives and stands.keeper == side_acting(act):
            raise Refused("forgives-itself")
        _check_moves(passage, stands, proposal.to_on, act)
        end(proposal, act, ProposalState.ACCEPTED)
        late = _late_now(passage, stands, act)
        data = _moved(passage, stands, proposal.to_on, proposal.reason, late=late)
        data["proposed"] = proposed_by(proposal, act)
        data["forgives"] = bool(late and (forgives or proposal.forgives))
        act.record(data, passage=passage)
    return passage


def _passage(passage_id: int, actor: Seat) -> Passage:
    passage = Passage.objects.with_places().select_related("hand_in").get(pk=passage_id)
    if passage.stage.gate == Gate.HIDDEN and actor.role != Role.ILLUSTRATOR:
        raise Refused("not-yours")
    return passage


def _check_date(to: date, stands: DateStands, act: Act) -> None:
    """Refuse a date that cannot hold: none to move, the same, past, closed for the side that keeps it, far off."""
    if not stands.is_open:
        raise Refused("not-now")
    check_reach(to, today=act.today)
    if to < act.today or not act.book.calendar_of(stands.keeper, act.today).is_working(to):
        raise Refused("date-past")
    if stands.on == to:
        raise Refused("same-date")


def _check_moves(passage: Passage, stands: DateStands, to: date, act: Act) -> None:
    """Refuse a later date where the terms let this one be moved no more (1 query, 2 where they say how often)."""
    terms = terms_on(act.book, act.now)
    if terms is None or terms.moves_at_most is None or (stands.on is not None and to < stands.on):
        return
    moves = LedgerEntry.objects.filter(book=act.book, deed=Deed.MOVE_DUE_DATE, passage=passage)
    check_moves(list(moves.values_list("data", flat=True)), stands.which.value, terms)


def _bring_forward(passage_id: int, stands: DateStands, to: date, reason: str, act: Act) -> None:
    passage = act.passage(passage_id)
    is_hidden = stands.gate == Gate.HIDDEN
    data = _moved(passage, stands, to, reason, late=_late_now(passage, stands, act))
    act.record(data, passage=passage, sight=Sight.ILLUSTRATOR if is_hidden else Sight.ALL)


def _moved(passage: Passage, stands: DateStands, to: date, reason: str, *, late: int) -> MoveDueDateData:
    """Write the new date into the passage, and say it as the ledger does."""
    name = "answer_due_on" if stands.which == WhichDate.ANSWER else "due_on"
    setattr(passage, name, to)
    passage.save(update_fields=[name])
    return {
        "where": passage.where,
        "which": stands.which.value,
        "from": stands.on.isoformat() if stands.on else "",
        "to": to.isoformat(),
        "reason": reason,
        "proposed": None,
        "late": late,
        "forgives": False,
    }


def _late_now(passage: Passage, stands: DateStands, act: Act) -> int:
    """Count the working days since the date that stands, by the terms under which the turn began."""
    if passage.state == PassageState.CLOSED:
        return 0
    began = act.book.day_rule.local_date(passage.held_since) if passage.held_since else None
    keeper, book = stands.keeper, act.book
    return late_days(stands.on, act.today, book.calendar_of(keeper, began), grace=book.grace_of(keeper, began))
