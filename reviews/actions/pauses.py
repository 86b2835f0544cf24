"""Pauses of a book: proposed to the other side, accepted by it, and changed or called off in the same way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from reviews.actions._deed import Act, deed_on
from reviews.actions._proposals import begin, end, proposed_by, read_to_answer, words_given
from reviews.models import Book, Passage, Proposal, Seat
from reviews.models.books import as_standing
from reviews.queries.statement import story_of
from reviews.queries.terms import history_of
from reviews.rules.agreement_payloads import AgreePauseData
from reviews.rules.contract.pause_moves import MovedDate, dates_moved, late_now
from reviews.rules.contract.pauses import PauseWord, check_change, check_pause, in_force
from reviews.rules.contract.plans import check_reach
from reviews.rules.contract.timeline import Story
from reviews.rules.payload_shapes import RestatedDate
from reviews.rules.proposals import Matter, ProposalState
from reviews.rules.states import Deed, PassageState, Refused, Side

#: The dates of a passage that stand, by where it stands.
_DATED = {
    PassageState.CLOSED: ("hand-in",),
    PassageState.DRAWING: ("hand-in",),
    PassageState.ANSWERING: ("hand-in", "answer"),
}
_COLUMNS = {"hand-in": "due_on", "answer": "answer_due_on"}


def propose_pause(
    book_id: int,
    *,
    first: date,
    last: date | None,
    reason: str,
    pause: int | None = None,
    forgives: bool = False,
    seen: int | None = None,
    actor: Seat,
) -> Proposal:
    """Propose that the work rests from a first to a last day, or other days for a pause that stands.

    ``pause`` numbers the one that would be changed; ``last`` None then calls it off. ``seen`` is the number of the
    open proposal of a pause that the person looked at. ``forgives``: the other side's days late until the agreement
    are forgiven with it, as far as they would not have been late in it.
    """
    with deed_on(Book, book_id, Deed.PROPOSE, actor) as act:
        said = words_given(reason, "reason-missing")
        _check(story_of(act.book), first, last, pause, act)
        made, named = begin(
            act, Matter.PAUSE, seen=seen, from_on=first, to_on=last, pause=pause, reason=said, forgives=forgives
        )
        act.record(named)
        return made


def accept_pause(proposal_id: int, *, forgives: bool = False, actor: Seat) -> Proposal:
    """Accept a proposed pause: its days are nobody's from now on, and the dates in it and after it move.

    What is late already stays late, but for what either side forgives the other.
    """
    with deed_on(Proposal, proposal_id, Deed.AGREE_PAUSE, actor) as act:
        proposal = read_to_answer(proposal_id, act)
        story, terms = story_of(act.book), history_of(act.book)
        was = _check(story, proposal.from_on, proposal.to_on, proposal.pause, act)
        end(proposal, act, ProposalState.ACCEPTED)
        late = late_now(story, terms, act.today)
        forgiven = [*([proposal.side] if forgives else []), *([proposal.side.other] if proposal.forgives else [])]
        word = _word(proposal, story, act, forgiven)
        passages = list(Passage.objects.with_places().filter(book=act.book, spread__removed_at=None).order_by("pk"))
        told = _write(passages, dates_moved(story, terms, word, _stands(passages), act.today))
        act.book.pauses = as_standing(in_force([*story.pauses, word]))
        act.book.save(update_fields=["pauses"])
        act.record(
            AgreePauseData(
                pause=word.pause,
                first=word.first.isoformat(),
                last=word.last.isoformat() if word.last else None,
                was=[day.isoformat() for day in was] if was else None,
                reason=word.reason,
                proposed=proposed_by(proposal, act),
                forgives=[side.value for side in forgiven],
                late={side.value: n for side, n in late.items() if n},
                moved=told,
            )
        )
    return proposal


def _check(story: Story, first: date, last: date | None, pause: int | None, act: Act) -> tuple[date, date] | None:
    """Refuse days that cannot be a pause; give those of the pause that they would change."""
    standing = {one.number: one for one in in_force(story.pauses)}
    others = [one for number, one in standing.items() if number != pause]
    check_reach(max(first, last or first), today=act.today)
    if pause is not None:
        check_change(standing.get(pause), first, last, act.today)
    elif last is None:
        raise Refused("pause-without-end")
    # Whether its days are worked is asked as if nothing rested.
    calendars = [replace(act.book.calendar_of(side, act.today), paused=frozenset()) for side in Side]
    check_pause(first, last, others, start_on=act.book.start_on, calendars=calendars)
    return (standing[pause].first, standing[pause].last) if pause is not None else None


def _word(proposal: Proposal, story: Story, act: Act, forgiven: Iterable[Side]) -> PauseWord:
    return PauseWord(
        pause=proposal.pause or max((word.pause for word in story.pauses), default=0) + 1,
        seq=story.last_seq + 1,
        first=proposal.from_on,
        last=proposal.to_on,
        reason=proposal.reason,
        by=act.by.person.name,
        proposed_by=proposal.by.person.name,
        at=act.now,
        forgives=tuple(forgiven),
    )


def _stands(passages: Iterable[Passage]) -> dict[tuple[int, str], date]:
    found = {
        (passage.pk, which): getattr(passage, _COLUMNS[which])
        for passage in passages
        for which in _DATED.get(PassageState(passage.state), ())
    }
    return {key: on for key, on in found.items() if on is not None}


def _write(passages: Iterable[Passage], moved: Iterable[MovedDate]) -> list[RestatedDate]:
    """Write the dates that moved into the passages, and say them as the ledger does."""
    by_number = {passage.pk: passage for passage in passages}
    told = []
    for one in moved:
        passage, column = by_number[one.passage], _COLUMNS[one.which]
        setattr(passage, column, one.due_on)
        passage.save(update_fields=[column])
        told.append(
            RestatedDate(
                where=passage.where,
                passage=passage.pk,
                which=one.which,
                was_on=one.was_on.isoformat(),
                due_on=one.due_on.isoformat(),
            )
        )
    return told
