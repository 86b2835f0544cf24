"""Rounds as the ledger tells them, for any number of books at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.utils import timezone

from reviews.models import Book, LedgerEntry, Passage
from reviews.queries.statement import facts_of
from reviews.queries.terms import entered_terms
from reviews.rules.entries import Entry
from reviews.rules.rounds import Allowance, RoundCount, count_rounds
from reviews.rules.rounds_under_terms import GroupKey, RoundSum, count_under
from reviews.rules.states import Deed
from reviews.rules.terms import TermsHistory
from reviews.rules.timeline import READ_DEEDS, SpreadFacts, tell
from reviews.rules.whose_days import Receipts, all_turns


def allowances_for(passages: Iterable[Passage]) -> dict[int, Allowance]:
    """Say what each passage's fee includes; needs ``stage`` joined. Stages of a group share rounds."""
    return {
        passage.pk: Allowance(pool=f"{passage.spread_id}/{passage.stage.pool_name}", included=passage.stage.rounds)
        for passage in passages
    }


def rounds_of(book: Book, allowances: Mapping[int, Allowance]) -> dict[int, RoundCount]:
    """Count one book's rounds (2 queries, 3 where terms were entered)."""
    return rounds_in([book.pk], allowances)


def rounds_in(book_ids: Iterable[int], allowances: Mapping[int, Allowance]) -> dict[int, RoundCount]:
    """Count the rounds of several books (2 queries whatever their number, 3 where terms were entered).

    Where terms were entered, they decide what is counted and what is included; elsewhere the stage plans do.
    """
    ids = list(book_ids)
    entered = entered_terms(ids)
    deeds = READ_DEEDS if entered else (Deed.SEND_LETTER,)
    rows = LedgerEntry.objects.filter(book_id__in=ids, deed__in=deeds).order_by("book_id", "seq")
    by_book: dict[int, list[Entry]] = {}
    for row in rows:
        by_book.setdefault(row.book_id, []).append(row.as_entry())
    planned = [entry for book_id, entries in by_book.items() if book_id not in entered for entry in entries]
    counts = count_rounds(planned, allowances)
    facts = facts_of(entered) if entered else {}
    for book_id, history in entered.items():
        counts.update(counted_under(history, by_book.get(book_id, ()), facts, allowances))
    return counts


@dataclass(frozen=True)
class CountUnderTerms(RoundCount):
    """Rounds of a passage as entered terms count them.

    After an amendment, rounds may be left although earlier ones went beyond the fee: both are told.
    """

    pool_left: int = 0
    pool_over: int = 0

    @property
    def left(self) -> int:
        return self.pool_left

    @property
    def over(self) -> int:
        return self.pool_over


def counted_under(
    history: TermsHistory,
    entries: Iterable[Entry],
    facts: Mapping[int, SpreadFacts],
    wanted: Iterable[int],
) -> dict[int, RoundCount]:
    """Count one book's rounds under its terms, for those of the wanted passages that are in it (no query)."""
    story = tell(entries, facts)
    receipts = Receipts(history)
    as_of = receipts.terms.versions[0].day_rule.local_date(timezone.now())
    found = count_under(story, receipts, as_of, all_turns(story, receipts, as_of))
    terms = history.on(as_of)
    counts: dict[int, RoundCount] = {}
    for passage in wanted:
        told = story.passages.get(passage)
        if told is not None:
            key = GroupKey(told.spread.spread, terms.group_for(told.spread.part, told.stage).name)
            counts[passage] = _count(found.passages[passage], found.groups[key], f"{key.spread}/{key.group}")
    return counts


def _count(own: RoundSum, group: RoundSum, pool: str) -> CountUnderTerms:
    return CountUnderTerms(
        used=own.used,
        pool_used=group.used,
        included=group.included,
        outside=own.outside,
        entries=own.entries,
        pool=pool,
        pool_left=group.left,
        pool_over=group.over,
    )
