"""Answer a proposal: accept it, decline it, or take the own one back. Answering with another is to propose again."""

from __future__ import annotations

from datetime import date

from reviews.actions._deed import deed_on
from reviews.actions._proposals import end, matters, read_to_answer, read_to_withdraw, words_given
from reviews.actions.dates import accept_date
from reviews.actions.page_changes import accept_pages
from reviews.actions.pauses import accept_pause
from reviews.actions.terms import accept_terms
from reviews.models import Proposal, Seat
from reviews.rules.agreement_payloads import EndProposalData
from reviews.rules.proposals import Matter, ProposalState
from reviews.rules.states import Deed


def accept_proposal(
    proposal_id: int,
    *,
    forgives: bool = False,
    stands_on: date | None = None,
    reaches_back: bool = False,
    actor: Seat,
) -> Proposal:
    """Accept what the other side proposed; what it is about holds from now on."""
    matter = Matter(Proposal.objects.values_list("matter", flat=True).get(pk=proposal_id))
    if matter == Matter.DATE:
        accept_date(proposal_id, forgives=forgives, stands_on=stands_on, actor=actor)
    elif matter == Matter.PAUSE:
        accept_pause(proposal_id, forgives=forgives, actor=actor)
    elif matter == Matter.PAGES:
        accept_pages(proposal_id, actor=actor)
    else:
        accept_terms(proposal_id, reaches_back=reaches_back, actor=actor)
    return Proposal.objects.with_names().get(pk=proposal_id)


def decline_proposal(proposal_id: int, words: str, *, actor: Seat) -> Proposal:
    """Decline what the other side proposed, with words; what stood before stands."""
    with deed_on(Proposal, proposal_id, Deed.DECLINE_PROPOSAL, actor) as act:
        proposal = read_to_answer(proposal_id, act)
        said = words_given(words, "proposal-words")
        end(proposal, act, ProposalState.DECLINED, said)
        act.record(EndProposalData(**matters(proposal), words=said), passage=proposal.passage)
    return proposal


def withdraw_proposal(proposal_id: int, words: str, *, actor: Seat) -> Proposal:
    """Take back what the own side proposed while nobody has answered it, with words."""
    with deed_on(Proposal, proposal_id, Deed.WITHDRAW_PROPOSAL, actor) as act:
        proposal = read_to_withdraw(proposal_id, act)
        said = words_given(words, "proposal-words")
        end(proposal, act, ProposalState.WITHDRAWN, said)
        act.record(EndProposalData(**matters(proposal), words=said), passage=proposal.passage)
    return proposal
