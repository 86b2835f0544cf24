"""What a letter would cost if it went now: rounds, days and money under the terms, and whose consent it needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from reviews.models import Agreement, Book, LetterAnswer, Note, OverConsent
from reviews.queries.due_under_terms import redo_due
from reviews.queries.letters import second_words
from reviews.queries.statement import entries_of, facts_of
from reviews.queries.terms import history_told, implied_terms
from reviews.queries.text_blocks import TEXT_DEEDS, text_changed_among
from reviews.rules.contract.due_dates import dates_after
from reviews.rules.contract.letter_cost import (
    AskCost,
    LetterCost,
    PlannedAsk,
    check_over,
    cost_of_letter,
    late_that_moves,
)
from reviews.rules.contract.letter_cost_text import ToldCost
from reviews.rules.contract.receipts import Receipts, given_back_on
from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import Terms, TermsHistory, WhenOver
from reviews.rules.contract.timeline import SpreadFacts, tell
from reviews.rules.entries import Entry
from reviews.rules.letters import Effect
from reviews.rules.states import APPROVALS, Answer, Cause, Refused, Weighing
from reviews.rules.text_blocks import with_text_change


@dataclass(frozen=True)
class CostLine:
    """What one ask costs, under which terms, and whether it is consented to."""

    ask: AskCost
    terms: Terms
    consent: OverConsent | None

    @property
    def needs_consent(self) -> bool:
        is_over = self.ask.standing == RoundStanding.OVER and self.ask.counted_with is None
        return is_over and self.terms.when_over == WhenOver.AGENT_CONSENT


@dataclass(frozen=True, kw_only=True)
class PlannedLetter:
    """What sending a draft would do to each passage, and what it would cost under the terms that hold.

    ``text_changed`` names the passages whose asks count as a change of text because the text was changed under them,
    ``moved`` has every passage's date once the letter counts as received, ``late`` the working days by which each
    answer moves the later stages of its spread that are drawn already.
    """

    effects: tuple[Effect, ...]
    cost: LetterCost
    is_implied: bool
    terms: Terms
    today: date
    text_changed: frozenset[int]
    moved: dict[int, date | None]
    late: dict[int, int]
    consents: dict[int, OverConsent]

    @property
    def lines(self) -> list[CostLine]:
        return [CostLine(ask, self.terms, self._consent_to(ask)) for ask in self.cost.asks]

    def _consent_to(self, ask: AskCost) -> OverConsent | None:
        """Find the consent to the round an ask is of: a given one, or else one that is open, or else the last no."""
        first = ask.counted_with or ask.passage
        same = [other.passage for other in self.cost.asks if first in (other.passage, other.counted_with)]
        found = [self.consents[passage] for passage in same if passage in self.consents]
        return min(found, key=lambda one: (not one.is_given, one.ended_at is not None), default=None)

    @property
    def told(self) -> ToldCost:
        """Give what is told of the cost, and what the ledger keeps once the letter went."""
        return ToldCost(
            cost=self.cost,
            terms=0 if self.is_implied else self.terms.version,
            moves_dates=self.terms.publisher_late_moves,
            counts_later=self.counts_later,
        )

    @property
    def counts_later(self) -> bool:
        """Say whether a letter that goes now counts as received on a later day: it is late in the day, or closed."""
        return self.cost.received_on > self.today

    @property
    def has_consent(self) -> bool:
        """Say whether every round beyond the fee has been consented to."""
        return all((consent := self._consent_to(ask)) is not None and consent.is_given for ask in self.cost.over)

    @property
    def is_consent_asked(self) -> bool:
        """Say whether each round beyond the fee has its consent, or one that is asked for and may still come."""
        asked = [self._consent_to(ask) for ask in self.cost.over]
        return all(consent is not None and (consent.is_given or consent.ended_at is None) for consent in asked)

    @property
    def needs_consent(self) -> bool:
        return bool(self.cost.over) and self.cost.when_over == WhenOver.AGENT_CONSENT

    @property
    def stop(self) -> Refused | None:
        """Say why the terms do not let this letter go, or nothing."""
        try:
            self.check()
        except Refused as refused:
            return refused
        return None

    def check(self) -> None:
        """Refuse a letter that the terms do not allow beyond the fee."""
        check_over(self.cost, has_consent=self.has_consent, is_asked=self.is_consent_asked)


def planned_letter(
    book: Book,
    answers: Sequence[LetterAnswer],
    notes: Sequence[Note],
    *,
    at: datetime,
    facts: Mapping[int, SpreadFacts] | None = None,
    said: Mapping[int, Agreement] | None = None,
) -> PlannedLetter:
    """Work out what sending these answers with these notes would do and cost (3 queries, 4 where terms are implied).

    ``facts`` are the book's spreads and ``said`` what the second voice says of the hand-ins, read here if they are not
    given (1 query each).
    """
    every, facts = entries_of([book.pk], also=TEXT_DEEDS).get(book.pk, []), facts or facts_of([book.pk])
    entries = [entry for entry in every if entry.deed not in TEXT_DEEDS]
    entered = history_told(entries)
    history = entered or TermsHistory((implied_terms(book),))
    today = history.on(book.day_rule.local_date(at)).day_rule.local_date(at)
    statement = draw_up(entries, history, today, facts, final_on=book.final_on)
    asks, changed = _asks(answers, notes, every)
    story = tell(entries, facts)
    receipts = Receipts(TermsHistory(statement.versions), story.told_by, story.pauses)
    cost = cost_of_letter(story, statement, asks, at)
    words = second_words([answer.hand_in_id for answer in answers]) if said is None else said
    agreed = {hand_in for hand_in, one in words.items() if one.agrees}
    by_passage, due = {ask.passage: ask for ask in cost.asks}, statement.terms if entered else None
    effects = tuple(_effect(answer, by_passage.get(answer.passage_id), agreed, due, at) for answer in answers)
    return PlannedLetter(
        effects=effects,
        cost=cost,
        is_implied=entered is None,
        terms=statement.terms,
        today=today,
        text_changed=changed,
        # As they stand once the letter counts as received: what goes on a late evening is late until the day it counts.
        moved=dates_after(story, receipts, given_back_on(at, statement.terms)),
        late={answer.passage_id: late_that_moves(story, receipts, answer.passage_id, at) for answer in answers},
        consents=_consents(by_passage),
    )


def _asks(
    answers: Sequence[LetterAnswer], notes: Sequence[Note], entries: Sequence[Entry]
) -> tuple[list[PlannedAsk], frozenset[int]]:
    """List what is asked to be changed with its causes, and name those that count as a change of text (no query)."""
    asking = [answer for answer in answers if answer.answer == Answer.ASK]
    causes, changed = _causes(notes), text_changed_among(entries, asking)
    asks = [
        PlannedAsk(
            answer.passage_id,
            with_text_change(causes.get(answer.passage_id, ()), is_changed=answer.passage_id in changed),
            answer.passage.where,
        )
        for answer in asking
    ]
    return asks, changed


def _consents(passages: Iterable[int]) -> dict[int, OverConsent]:
    """Find the newest of each passage: one that is open, or else the no that was said last (1 query)."""
    asked_for = OverConsent.objects.filter(passage__in=list(passages), used_by=None).order_by("asked_at", "pk")
    asked_for = asked_for.select_related("given_by__person", "asked_by__person", "ended_by__person")
    return {consent.passage_id: consent for consent in asked_for}


def _causes(notes: Sequence[Note]) -> dict[int, tuple[Cause, ...]]:
    found: dict[int, set[Cause]] = {}
    for note in notes:
        if note.weighing == Weighing.THROUGH:
            found.setdefault(note.passage_id, set()).add(Cause(note.cause))
    return {passage: tuple(sorted(causes)) for passage, causes in found.items()}


def _effect(answer: LetterAnswer, cost: AskCost | None, agreed: set[int], held: Terms | None, at: datetime) -> Effect:
    passage, given = answer.passage, Answer(answer.answer)
    return effect_of(
        given,
        cost,
        passage=passage.pk,
        where=passage.where,
        waits_for_second=given in APPROVALS and passage.stage.two_voices and answer.hand_in_id not in agreed,
        due_on=redo_due(passage, held, at) if cost else None,
    )


def effect_of(
    given: Answer, cost: AskCost | None, *, passage: int, where: str, waits_for_second: bool, due_on: date | None
) -> Effect:
    """Say what an answer does, with what its round costs; an older letter's entry does not tell the latter."""
    standing = cost.standing if cost else None
    return Effect(
        passage=passage,
        where=where,
        answer=given,
        uses_round=standing in (RoundStanding.IN_FEE, RoundStanding.OVER),
        outside_fee=standing == RoundStanding.OUTSIDE,
        round_number=cost.number if cost else 0,
        included=cost.included if cost else 0,
        is_over=standing == RoundStanding.OVER,
        not_counted=standing == RoundStanding.NOT_COUNTED,
        waits_for_second=waits_for_second,
        due_on=due_on,
    )
