"""Proposals looked up: what is open, where the date of a passage stands, and whether one has lost its object."""

from __future__ import annotations

from collections.abc import Iterable

from reviews.models import LedgerEntry, Passage, Person, Proposal, Seat
from reviews.queries.access import NotAllowed, NotThere, get_book
from reviews.rules.agreement_payloads import Matters
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.payloads import payload_of
from reviews.rules.proposals import DateStands, Matter, WhichDate, is_overtaken, side_of, speaks_on
from reviews.rules.states import Deed, Gate, PassageState, Role

#: So many proposals that have ended are listed; the ledger has every one.
MOST_ENDED = 40


def date_stands(passage: Passage, which: str) -> DateStands:
    """Say where one of a passage's dates stands; needs spread and stage joined."""
    asked = WhichDate(which)
    on = passage.answer_due_on if asked == WhichDate.ANSWER else passage.due_on
    return DateStands(
        which=asked,
        state=PassageState(passage.state),
        gate=Gate(passage.stage.gate),
        hand_in=passage.hand_in_id,
        on=None if passage.spread.removed_at else on,
        is_printers=passage.stage.kind in PRINTERS_STAGES,
    )


def has_lost_its_object(proposal: Proposal) -> bool:
    """Say whether an open proposal can be accepted no more; needs what ``with_names`` joins."""
    if proposal.matter != Matter.DATE or proposal.passage is None:
        return False
    return is_overtaken(proposal.hand_in_id, proposal.from_on, date_stands(proposal.passage, proposal.which))


def open_proposals(
    book_ids: Iterable[int], *, passage: Passage | None = None, matter: Matter | None = None
) -> list[Proposal]:
    """List what is open in these books, oldest first (1 query); what has lost its object is left out."""
    rows = Proposal.objects.open().with_names().filter(book__in=list(book_ids))
    if passage is not None:
        rows = rows.filter(passage=passage)
    if matter is not None:
        rows = rows.filter(matter=matter)
    return [row for row in rows.order_by("at", "pk") if not has_lost_its_object(row)]


def ended_proposals(book_id: int) -> list[Proposal]:
    """List the newest proposals of a book that have ended, newest first (1 query)."""
    rows = Proposal.objects.with_names().filter(book=book_id).order_by("-number")
    return [row for row in rows[: MOST_ENDED * 2] if row.ended_at is not None or has_lost_its_object(row)][:MOST_ENDED]


def speaks(seat: Seat, matter: str) -> bool:
    """Say whether a seat proposes and answers a matter for its side."""
    return speaks_on(Matter(matter), Role(seat.role), agent_answers_dates=seat.answers_dates)


def waits_on(seat: Seat, proposal: Proposal) -> bool:
    """Say whether an open proposal waits for the word of this seat."""
    return side_of(Role(seat.role)) != proposal.side and speaks(seat, proposal.matter)


def is_asked_by(entry: LedgerEntry, seat: Seat) -> bool:
    """Say whether the proposal that an entry tells of waits for the word of a seat (1 query)."""
    told = payload_of(entry, Matters)
    proposal = Proposal.objects.open().with_names().filter(pk=told["proposal"]).first()
    return proposal is not None and waits_on(seat, proposal)


def get_proposal(person: Person, proposal_id: int, *, deed: Deed) -> tuple[Proposal, Seat]:
    """Fetch a proposal of a book the person sits on, for a deed (2 queries)."""
    proposal = Proposal.objects.with_names().filter(pk=proposal_id).first()
    if proposal is None:
        raise NotThere
    _, seat = get_book(person, proposal.book_id, deed=deed)
    if proposal.passage is not None and proposal.passage.stage.gate == Gate.HIDDEN and seat.role != Role.ILLUSTRATOR:
        raise NotAllowed
    return proposal, seat
