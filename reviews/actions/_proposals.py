"""What all deeds about proposals share: opening one, ending one, and naming it in the ledger."""

from __future__ import annotations

from typing import Any

from django.db.models import Max

from reviews.actions._deed import Act
from reviews.models import Passage, Proposal
from reviews.queries.proposals import has_lost_its_object, speaks
from reviews.rules.agreement_payloads import Matters, ProposeData
from reviews.rules.payload_shapes import ProposedBy
from reviews.rules.proposals import Matter, ProposalState, check_answer, check_open, check_speaks, side_of
from reviews.rules.states import Refused, Role, Side

MOST_WORDS = 300


def side_acting(act: Act) -> Side:
    """Name the side of whoever acts."""
    return side_of(Role(act.by.role))


def check_speaker(act: Act, matter: Matter) -> None:
    """Refuse a seat that does not speak for its side on a matter."""
    check_speaks(matter, Role(act.by.role), agent_answers_dates=act.by.answers_dates)


def words_given(words: str, code: str) -> str:
    """Read what somebody wrote, or refuse an empty line."""
    said = words.strip()[:MOST_WORDS]
    if not said:
        raise Refused(code)
    return said


def begin(
    act: Act, matter: Matter, *, seen: int | None, passage: Passage | None = None, which: str = "", **fields: Any
) -> tuple[Proposal, ProposeData]:
    """Open a proposal in place of the one that is open on the same object; give it, and how the ledger names both.

    ``seen`` is the number of the open proposal the person looked at: nobody answers with another what they have not
    read.
    """
    check_speaker(act, matter)
    rows = Proposal.objects.open().with_names().filter(book=act.book, matter=matter, passage=passage, which=which)
    before = rows.first()
    answers = replaces = None
    if before is not None and has_lost_its_object(before):
        end(before, act, ProposalState.OVERTAKEN)
    elif before is not None:
        if before.number != seen:
            raise Refused("proposal-fresh", by=before.by.person.name)
        is_own = before.side == side_acting(act)
        end(before, act, ProposalState.REPLACED if is_own else ProposalState.ANSWERED)
        answers, replaces = (None, before.number) if is_own else (before.number, None)
    newest = Proposal.objects.filter(book=act.book).aggregate(newest=Max("number"))["newest"] or 0
    made = Proposal.objects.create(
        book=act.book,
        number=newest + 1,
        matter=matter,
        passage=passage,
        which=which,
        by=act.by,
        at=act.now,
        answers=before if answers else None,
        **fields,
    )
    act.holds(made)
    return made, ProposeData(**matters(made), reason=made.reason, in_answer_to=answers, in_place_of=replaces)


def end(proposal: Proposal, act: Act, state: ProposalState, words: str = "") -> None:
    """End a proposal; its row is held by the entry of the deed."""
    proposal.state, proposal.ended_by, proposal.ended_at, proposal.ended_words = state, act.by, act.now, words
    proposal.save(update_fields=["state", "ended_by", "ended_at", "ended_words"])
    act.holds(proposal)


def read_to_answer(proposal_id: int, act: Act) -> Proposal:
    """Read a proposal under the lock for somebody of the other side who speaks on it, or refuse."""
    proposal = Proposal.objects.with_names().get(pk=proposal_id)
    check_open(proposal.state)
    check_answer(proposal.state, proposal.side, side_acting(act))
    check_speaker(act, Matter(proposal.matter))
    return proposal


def read_to_withdraw(proposal_id: int, act: Act) -> Proposal:
    """Read a proposal of the own side under the lock, or refuse."""
    proposal = Proposal.objects.with_names().get(pk=proposal_id)
    check_open(proposal.state)
    if proposal.side != side_acting(act):
        raise Refused("others-proposal")
    if not speaks(act.by, proposal.matter):
        raise Refused("agent-not-asked")
    return proposal


def matters(proposal: Proposal) -> Matters:
    """Name a proposal in a ledger entry: its number, and what it is about."""
    named: Matters = {"proposal": proposal.pk, "number": proposal.number, "matter": proposal.matter}
    named |= {"from": proposal.from_on.isoformat(), "to": proposal.to_on.isoformat() if proposal.to_on else None}
    if proposal.passage is not None:
        named |= {"where": proposal.passage.where, "which": proposal.which}
    if proposal.pages is not None:
        named["pages"] = proposal.pages
    if proposal.pause is not None:
        named["pause"] = proposal.pause
    return named


def proposed_by(proposal: Proposal, act: Act) -> ProposedBy:
    """Name in the entry of an agreement who proposed what is agreed to."""
    on = act.book.day_rule.local_date(proposal.at).isoformat()
    return ProposedBy(number=proposal.number, by=proposal.by.person.name, role=proposal.by.role, on=on)
