"""Rounds as the ledger tells them, for any number of books at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.core.cache import cache
from django.db.models import Exists, OuterRef, Subquery
from django.utils import timezone

from reviews.models import Book, LedgerEntry, Passage, TermsVersion
from reviews.queries.statement import entries_of, facts_of
from reviews.queries.terms import entered_terms
from reviews.rules.contract.days import DayRule
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds import RoundSum, count_under
from reviews.rules.contract.rounds_implied import Allowance, RoundCount, count_rounds
from reviews.rules.contract.rounds_used import key_of
from reviews.rules.contract.terms import TermsHistory
from reviews.rules.contract.timeline import SpreadFacts, tell
from reviews.rules.entries import Entry
from reviews.rules.states import Deed


def allowances_for(passages: Iterable[Passage]) -> dict[int, Allowance]:
    """Say what each passage's fee includes; needs ``stage`` joined. Stages of a group share rounds."""
    return {
        passage.pk: Allowance(pool=f"{passage.spread_id}/{passage.stage.pool_name}", included=passage.stage.rounds)
        for passage in passages
    }


def rounds_in(book_ids: Iterable[int], allowances: Mapping[int, Allowance]) -> dict[int, RoundCount]:
    """Count the rounds of several books (2 queries for any number; 5 where terms were entered and no count kept).

    Where terms were entered, they decide what is counted and what is included; elsewhere the stage plans do.
    """
    planned, under_terms = [], {}
    head = LedgerEntry.objects.filter(book=OuterRef("pk")).order_by("-seq").values("sha256")[:1]
    books = Book.objects.filter(pk__in=list(book_ids)).annotate(
        head=Subquery(head), has_terms=Exists(TermsVersion.objects.filter(book=OuterRef("pk")))
    )
    for book_id, sha256, has_terms in books.values_list("pk", "head", "has_terms"):
        if has_terms:
            under_terms[book_id] = sha256
        else:
            planned.append(book_id)
    return _counted(under_terms, planned, allowances)


def _counted(
    heads: Mapping[int, str], planned: Sequence[int], allowances: Mapping[int, Allowance]
) -> dict[int, RoundCount]:
    """Count books under their entered terms, whose last hashes are given, and the ``planned`` ones by their plans."""
    counts: dict[int, RoundCount] = {}
    under_terms = {book_id: f"{_KEPT}/{book_id}/{sha256}" for book_id, sha256 in heads.items()}
    for kept in _kept_counts(under_terms, timezone.now()).values():
        counts.update({passage: kept.counts[passage] for passage in allowances if passage in kept.counts})
    under_plans = {passage: allowed for passage, allowed in allowances.items() if passage not in counts}
    return counts | _counted_by_plans(planned, under_plans)


def rounds_of(book: Book, allowances: Mapping[int, Allowance], *, head: str | None = None) -> dict[int, RoundCount]:
    """Count the rounds of one book that is at hand: 1 query less where no terms were entered, as the book itself says
    (``Book.day_counts``), or where the hash of its last entry, ``head``, is known."""
    if not book.day_counts:
        return _counted_by_plans([book.pk], allowances)
    return rounds_in([book.pk], allowances) if head is None else _counted({book.pk: head}, [], allowances)


def _counted_by_plans(planned: Sequence[int], allowances: Mapping[int, Allowance]) -> dict[int, RoundCount]:
    deeds = (Deed.SEND_LETTER, Deed.TAKE_BACK_LETTER)
    letters = LedgerEntry.objects.filter(book_id__in=planned, deed__in=deeds) if planned else ()
    return count_rounds([row.as_entry() for row in letters], allowances)


#: Names the way of counting too: what an earlier one has kept is no answer to this one.
_KEPT = "rounds-3"


@dataclass(frozen=True)
class _Kept:
    """One book's count under its entered terms as of a day."""

    as_of: date
    day_rule: DayRule
    counts: Mapping[int, RoundCount]


def _kept_counts(keys: Mapping[int, str], now: datetime) -> dict[int, _Kept]:
    """Take the counts kept under each ledger's last hash; count the others and keep them (3 queries to count).

    The ledger is append-only and holds terms, plans and layout too: the same last hash is the same count, until
    the day changes.
    """
    found = cache.get_many(keys.values())
    kept = {
        book_id: found[key]
        for book_id, key in keys.items()
        if key in found and found[key].day_rule.local_date(now) == found[key].as_of
    }
    missing = [book_id for book_id in keys if book_id not in kept]
    if missing:
        counted = _count_books(missing, now)
        cache.set_many({keys[book_id]: counted[book_id] for book_id in missing})
        kept.update(counted)
    return kept


def _count_books(ids: Sequence[int], now: datetime) -> dict[int, _Kept]:
    entries, facts = entries_of(ids), facts_of(ids)
    counted = {}
    for book_id, history in entered_terms(ids).items():
        # The day of the terms that hold now, as the statement has it: they may have moved to another zone.
        rule = history.on(history.versions[0].day_rule.local_date(now)).day_rule
        as_of = rule.local_date(now)
        counts = counted_under(history, entries.get(book_id, ()), facts, as_of)
        counted[book_id] = _Kept(as_of, rule, counts)
    return counted


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
    history: TermsHistory, entries: Iterable[Entry], facts: Mapping[int, SpreadFacts], as_of: date
) -> dict[int, RoundCount]:
    """Count the rounds of every passage of one book under its terms, as of a local day (no query)."""
    story = tell(entries, facts)
    found = count_under(story, Receipts(history, story.told_by, story.pauses), as_of)
    terms = history.on(as_of)
    counts: dict[int, RoundCount] = {}
    for passage, passage_story in story.passages.items():
        key = key_of(passage_story.spread, passage_story.stage, terms)
        counts[passage] = _count(found.passages[passage], found.groups[key], f"{key.spread}/{key.part}/{key.group}")
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
