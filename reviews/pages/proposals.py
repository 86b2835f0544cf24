"""Proposals as a page, the desk and the table show them: what is asked, of whom, and what answering does."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from reviews.models import Book, Passage, Proposal, Seat
from reviews.models.stage_names import speak_of
from reviews.pages.pause_cards import StandingCard, pause_facts, standing_cards
from reviews.pages.wording.agreements import back_words, by_words, date_named, ended_words, summary_words
from reviews.pages.wording.dates import day_words, working_days
from reviews.pages.wording.names import side_words
from reviews.pages.wording.page_changes import pages_facts
from reviews.pages.wording.pauses import consequence_words, forgive_pause_words
from reviews.pages.wording.terms import change_words
from reviews.queries.proposals import date_stands, ended_proposals, open_proposals, speaks, waits_on
from reviews.queries.terms import terms_of
from reviews.rules.contract.receipts import late_days
from reviews.rules.contract.terms_text import terms_from_text
from reviews.rules.proposals import DateStands, Matter, WhichDate, may_alone, side_of, speaks_on
from reviews.rules.states import PassageState, Role


@dataclass(frozen=True, kw_only=True)
class ProposalCard:
    """One proposal for one reader.

    ``facts`` are its lines, ``late`` the working days that are late now, ``forgive_words`` what an acceptance may
    forgive; ``is_past`` says that the proposed date has passed and can be accepted no more.
    """

    proposal: Proposal
    title: str
    summary: str
    facts: tuple[tuple[str, str], ...]
    waits_for: str
    may_answer: bool
    may_withdraw: bool
    stands_on: date | None
    late: int
    forgive_words: str
    back_words: str
    is_past: bool
    ended: str

    @property
    def may_forgive(self) -> bool:
        """Say whether whoever accepts it may forgive what is late."""
        return bool(self.forgive_words)


@dataclass(frozen=True, kw_only=True)
class ProposalsPage:
    """What is open in a book, and what became of the rest; ``pauses`` stand, and a reader ``may_pause`` propose one.

    ``pause_seen`` is the open proposal of a pause, by number, ``consequences`` what agreeing to one does.
    """

    asked: list[ProposalCard]
    others: list[ProposalCard]
    ended: list[ProposalCard]
    pauses: list[StandingCard]
    may_pause: bool
    pause_seen: int | None
    consequences: str


@dataclass(frozen=True, kw_only=True)
class DateForm:
    """One date of a passage that this reader may move or propose to move: ``is_own`` says that the own side keeps it.

    ``seen`` is the open proposal about it, by number.
    """

    which: WhichDate
    label: str
    on: date
    is_own: bool
    is_alone: bool
    late: int
    may_forgive: bool
    seen: int | None


def proposals_page(book: Book, seat: Seat, *, at: datetime) -> ProposalsPage:
    """Gather the proposals of a book (3 queries)."""
    seated = _speakers([book.pk])
    cards = [_card(one, seat, seated, at) for one in open_proposals([book.pk])]
    may_pause = speaks(seat, Matter.PAUSE)
    return ProposalsPage(
        pauses=standing_cards(book, at=at, may_change=may_pause),
        may_pause=may_pause,
        pause_seen=next((card.proposal.number for card in cards if card.proposal.matter == Matter.PAUSE), None),
        consequences=consequence_words(),
        asked=[card for card in cards if card.may_answer],
        others=[card for card in cards if not card.may_answer],
        ended=[_card(one, seat, seated, at) for one in ended_proposals(book.pk)],
    )


def proposals_waiting_on(seats: Sequence[Seat], *, at: datetime) -> list[ProposalCard]:
    """List what waits for the word of these seats, oldest first (1 query)."""
    speakers = (Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT)
    by_book = {seat.book_id: seat for seat in seats if seat.role in speakers and getattr(seat, "is_proposed_to", True)}
    found = open_proposals(by_book) if by_book else []
    asked = [one for one in found if waits_on(by_book[one.book_id], one)]
    # Whoever reads it is asked: whom else it waits for is not looked up.
    return [_card(one, by_book[one.book_id], [], at) for one in asked]


def proposals_on(passage: Passage, seat: Seat, *, at: datetime) -> list[ProposalCard]:
    """List the open proposals about a passage of ``get_passage`` (2 queries where there are any, else none)."""
    found = open_proposals([passage.book_id], passage=passage) if passage.has_proposals else []
    seated = _speakers([passage.book_id]) if found else []
    return [_card(one, seat, seated, at) for one in found]


def proposals_of_terms(book: Book, seat: Seat, *, at: datetime) -> list[ProposalCard]:
    """List the open proposal of a book's terms, if there is one (1 query, 3 if there is)."""
    found = open_proposals([book.pk], matter=Matter.TERMS)
    seated = _speakers([book.pk]) if found else []
    return [_card(one, seat, seated, at) for one in found]


def date_forms(passage: Passage, seat: Seat, cards: Sequence[ProposalCard], *, at: datetime) -> list[DateForm]:
    """Say which dates of a passage this reader may move or propose to move (no query)."""
    if not speaks(seat, Matter.DATE):
        return []
    forms = []
    for which in WhichDate:
        stands = date_stands(passage, which)
        if not stands.is_open or stands.on is None or (stands.gate == "hidden" and seat.role != Role.ILLUSTRATOR):
            continue
        own = stands.keeper == side_of(Role(seat.role))
        seen = next((card.proposal.number for card in cards if card.proposal.which == which), None)
        late = _late(passage, stands, at)
        forms.append(
            DateForm(
                which=which,
                label=_("The publisher’s answer") if which == WhichDate.ANSWER else _("The hand-in"),
                on=stands.on,
                is_own=own,
                is_alone=may_alone(stands, side_of(Role(seat.role)), date.max),
                late=late,
                may_forgive=bool(late) and not own,
                seen=seen,
            )
        )
    return forms


def _speakers(book_ids: Iterable[int]) -> list[Seat]:
    rows = Seat.objects.filter(book__in=list(book_ids), ended_at=None)
    return list(rows.filter(role__in=[Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT]))


def _card(proposal: Proposal, seat: Seat, seated: Sequence[Seat], at: datetime) -> ProposalCard:
    speak_of(proposal.book)
    is_open = proposal.ended_at is None
    side, book = side_of(Role(seat.role)), proposal.book
    today = book.day_rule.local_date(at)
    stands = date_stands(proposal.passage, proposal.which) if proposal.passage else None
    late = _late(proposal.passage, stands, at) if is_open and proposal.passage and stands else 0
    forgiver = stands is not None and stands.keeper != side
    may_answer = is_open and waits_on(seat, proposal)
    return ProposalCard(
        proposal=proposal,
        title=_title(proposal),
        summary=summary_words(proposal),
        facts=tuple(_facts(proposal, stands, late)),
        waits_for=_waits_for(proposal, seated) if is_open else "",
        may_answer=may_answer,
        may_withdraw=is_open and proposal.side == side and speaks(seat, proposal.matter),
        stands_on=stands.on if stands else None,
        late=late,
        forgive_words=_forgive_words(proposal, late if forgiver else 0, today) if may_answer else "",
        back_words=back_words(proposal.from_on)
        if may_answer and proposal.reaches_back and proposal.from_on < today
        else "",
        is_past=_is_past(proposal, today),
        ended="" if is_open else _ended(proposal),
    )


def _is_past(proposal: Proposal, today: date) -> bool:
    """Say whether what it names has passed: a pause may be agreed on afterwards, but not end in the past anew."""
    dated = proposal.matter == Matter.DATE or (proposal.matter == Matter.PAUSE and proposal.pause is not None)
    return dated and proposal.to_on is not None and proposal.to_on < today


def _forgive_words(proposal: Proposal, late: int, today: date) -> str:
    """Say what whoever accepts may forgive the side that proposed; nothing where nothing is to forgive."""
    if proposal.matter == Matter.PAUSE:
        return forgive_pause_words(proposal.side) if proposal.from_on <= today else ""
    if not late or proposal.forgives:
        return ""
    return _("The {days} late until today are forgiven too").format(days=working_days(late))


def _title(proposal: Proposal) -> str:
    if proposal.matter == Matter.PAGES:
        return _("The pages of the book")
    if proposal.matter == Matter.PAUSE:
        return _("A pause of the book")
    if proposal.matter == Matter.TERMS:
        version = terms_from_text(proposal.terms or {}).version
        return _("The terms") if version == 1 else _("Version {n} of the terms").format(n=version)
    named = date_named(proposal.which, proposal.passage.where if proposal.passage else "")
    return named[:1].upper() + named[1:]


def _facts(proposal: Proposal, stands: DateStands | None, late: int) -> Iterable[tuple[str, str]]:
    on = proposal.book.day_rule.local_date(proposal.at)
    yield _("Proposed by"), by_words(proposal.by.person.name, proposal.by.role, on)
    if proposal.matter == Matter.TERMS:
        yield from _terms_facts(proposal)
        return
    if proposal.matter == Matter.PAGES:
        yield from pages_facts(proposal.pages or {})
        yield _("Why"), proposal.reason
        return
    if proposal.matter == Matter.PAUSE:
        yield from pause_facts(proposal)
        return
    holds = stands.on if stands is not None and proposal.ended_at is None else proposal.from_on
    yield _("Now"), day_words(holds) if holds else _("no date")
    if proposal.to_on:
        yield _("Proposed"), day_words(proposal.to_on)
    yield _("Why"), proposal.reason
    if late and proposal.forgives:
        yield _("Late"), _("{days} late until today, forgiven with it").format(days=working_days(late))
    elif late:
        yield (
            _("Late"),
            _("{days} late until today; they stay counted unless they are forgiven").format(days=working_days(late)),
        )


def _terms_facts(proposal: Proposal) -> Iterable[tuple[str, str]]:
    version = terms_from_text(proposal.terms or {})
    first = _("{day}; they are then counted for everything that has happened on the book")
    more = _("{day}, or the day of the agreement where that is later")
    back = _("{day}, even if the agreement is later and says so too; else from the day of the agreement")
    # The ready sets begin long before any book: such a day says nothing to whoever signs.
    is_before_all = version.version == 1 and proposal.from_on <= proposal.book.start_on
    told = (first if version.version == 1 else back if proposal.reaches_back else more).format(
        day=_("The start of the book") if is_before_all else day_words(proposal.from_on)
    )
    yield _("Hold from"), told
    before = terms_of(proposal.book).history if version.version > 1 and proposal.ended_at is None else None
    if before is not None:
        yield _("Change"), _listed(change_words(before.versions[-1], version))
    elif version.version == 1:
        yield _("Bring"), _listed(change_words(None, version))


def _listed(changes: Iterable[str]) -> str:
    return "\n".join(words[:1].upper() + words[1:] for words in changes)


def _waits_for(proposal: Proposal, seated: Sequence[Seat]) -> str:
    asked = proposal.side.other
    matter = Matter(proposal.matter)
    theirs = [
        seat
        for seat in seated
        if seat.book_id == proposal.book_id
        and side_of(Role(seat.role)) == asked
        and speaks_on(matter, Role(seat.role), agent_answers_dates=seat.answers_dates)
    ]
    if not theirs:
        told = _("Nobody who could answer sits on the {side}’s side yet. Whoever takes that seat is asked.")
    else:
        told = _("It waits for the {side}’s word.")
    return told.format(side=side_words(asked))


def _ended(proposal: Proposal) -> str:
    told = ended_words(proposal.state)
    if proposal.ended_by is None or proposal.ended_at is None:
        return told
    on = proposal.book.day_rule.local_date(proposal.ended_at)
    who = by_words(proposal.ended_by.person.name, proposal.ended_by.role, on)
    said = _("{what} by {who}").format(what=told, who=who)
    return f"{said}: {proposal.ended_words}" if proposal.ended_words else said


def _late(passage: Passage, stands: DateStands, at: datetime) -> int:
    if passage.state == PassageState.CLOSED or not stands.is_open:
        return 0
    rule = passage.book.day_rule
    began = rule.local_date(passage.held_since) if passage.held_since else None
    keeper, book = stands.keeper, passage.book
    return late_days(
        stands.on, rule.local_date(at), book.calendar_of(keeper, began), grace=book.grace_of(keeper, began)
    )
