"""Agreements in one line: one side proposes and the other accepts, as two people would."""

from __future__ import annotations

from datetime import date

from reviews.actions.dates import ask_for_date
from reviews.actions.pauses import propose_pause
from reviews.actions.proposals import accept_proposal
from reviews.actions.terms import accept_terms, propose_terms
from reviews.models import Passage, Proposal, Seat, TermsVersion
from reviews.rules.contract.terms import Terms
from reviews.rules.proposals import side_of
from reviews.rules.states import Role


def across_from(actor: Seat) -> Seat:
    """Find who speaks for the other side of the actor's book."""
    role = Role.ART_DIRECTOR if actor.role in (Role.ILLUSTRATOR, Role.AGENT) else Role.ILLUSTRATOR
    found = Seat.objects.get(book=actor.book_id, role=role, ended_at=None)
    assert side_of(Role(found.role)) != side_of(Role(actor.role))
    return found


def change_terms(book_id: int, terms: Terms, *, n_seen: int, house_remark: str = "", actor: Seat) -> TermsVersion:
    """Enter terms as the actor does, and agree to them as the other side."""
    made = propose_terms(book_id, terms, n_seen=n_seen, house_remark=house_remark, actor=actor)
    return accept_terms(made.pk, actor=across_from(actor))


def pause_book(
    book_id: int,
    *,
    first: date,
    last: date | None,
    reason: str = "A broken wrist.",
    pause: int | None = None,
    forgives: bool = False,
    actor: Seat,
) -> Proposal:
    """Let the work rest as the actor proposes and the other side agrees; ``forgives`` is the other side's word."""
    made = propose_pause(book_id, first=first, last=last, reason=reason, pause=pause, actor=actor)
    return accept_proposal(made.pk, forgives=forgives, actor=across_from(actor))


def move_due_date(
    passage_id: int, *, to: date, reason: str, which: str = "hand-in", forgives: bool = False, actor: Seat
) -> Passage:
    """Move a date as the actor proposes and the other side agrees, or alone where the actor may."""
    proposal = ask_for_date(passage_id, to=to, reason=reason, which=which, actor=actor)
    if proposal is not None:
        accept_proposal(proposal.pk, forgives=forgives, actor=across_from(actor))
    return Passage.objects.get(pk=passage_id)
