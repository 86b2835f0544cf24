"""Counted rounds are kept under the hash of a ledger's last line, and counted anew when that, or the day, changes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.models import Book, Passage
from reviews.queries import rounds
from reviews.queries.reckoning import reckon_one
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.rules.contract.terms import RoundGroup, StageDays, Terms
from tests.agreed import change_terms
from tests.cast import gather
from tests.letter_scene import a_round
from tests.makers import a_book

pytestmark = pytest.mark.django_db

N_KEPT, N_COUNTED = 1, 4


@pytest.fixture
def cast():
    cast = gather(a_book())
    enter(cast, n_rounds=1)
    return cast


def enter(cast, *, n_rounds: int, n_seen: int = 0) -> None:
    agreed = Terms(
        version=n_seen + 1,
        from_on=date(2026, 11, 2) if n_seen == 0 else timezone.now().date(),
        stages=(StageDays("ideas", 4, 2), StageDays("sketch", 9, 4), StageDays("colour", 12, 6)),
        groups=(RoundGroup("ideas", ("ideas",), n_rounds),),
    )
    change_terms(cast.book.pk, agreed, n_seen=n_seen, actor=cast.art_director)


def counted(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    every = Passage.objects.filter(book=cast.book).select_related("stage")
    return rounds_in([cast.book.pk], allowances_for(every))[passage.pk]


def test_a_second_look_takes_one_query_and_gives_the_same_count(cast, django_assert_num_queries):
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    allowances = allowances_for(Passage.objects.filter(book=cast.book).select_related("stage"))
    with django_assert_num_queries(N_COUNTED):
        first = rounds_in([cast.book.pk], allowances)
    with django_assert_num_queries(N_KEPT):
        assert rounds_in([cast.book.pk], allowances) == first
    assert first[cast.passage("Pages 4–5", "ideas").pk].used == 1


def test_a_new_letter_and_new_terms_are_counted_at_once(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    assert (counted(cast).used, counted(cast).included) == (0, 1)
    a_round(cast, passage, 1)
    assert (counted(cast).used, counted(cast).left) == (1, 0)
    enter(cast, n_rounds=3, n_seen=1)
    assert counted(cast).included == 3


def test_a_new_day_is_counted_anew(cast, monkeypatch, django_assert_num_queries):
    allowances = allowances_for(Passage.objects.filter(book=cast.book).select_related("stage"))
    rounds_in([cast.book.pk], allowances)
    tomorrow = timezone.now() + timedelta(days=1)
    monkeypatch.setattr(rounds.timezone, "now", lambda: tomorrow)
    with django_assert_num_queries(N_COUNTED):
        rounds_in([cast.book.pk], allowances)


def test_terms_that_moved_to_another_zone_begin_their_day_there(cast, monkeypatch):
    """The statement's day and the kept count's are one, also while it is tomorrow already where the book began."""
    first = Terms(
        version=1,
        from_on=date(2026, 11, 2),
        stages=(StageDays("ideas", 4, 2), StageDays("sketch", 9, 4), StageDays("colour", 12, 6)),
        groups=(RoundGroup("ideas", ("ideas",), 1),),
        zone="Pacific/Auckland",
    )
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        other = gather(a_book())
        moved = replace(first, zone="America/Los_Angeles", from_on=date(2026, 11, 5))
        more = replace(moved, from_on=date(2026, 11, 10), groups=(RoundGroup("ideas", ("ideas",), 3),))
        for n_seen, agreed in enumerate((first, moved, more)):
            change_terms(other.book.pk, agreed, n_seen=n_seen, actor=other.art_director)
    ideas = other.passage("Pages 4–5", "ideas").pk
    for at, included in ((datetime(2026, 11, 9, 20, tzinfo=UTC), 1), (datetime(2026, 11, 10, 20, tzinfo=UTC), 3)):
        monkeypatch.setattr(rounds.timezone, "now", lambda at=at: at)
        statement = reckon_one(Book.objects.get(pk=other.book.pk), at).statement
        [stated] = [line.rounds.included for line in statement.lines if line.passage == ideas]
        assert (counted(other).included, stated) == (included, included)


def test_books_that_their_plans_count_need_two_queries(django_assert_num_queries):
    cast = gather(a_book())
    allowances = allowances_for(Passage.objects.filter(book=cast.book).select_related("stage"))
    with django_assert_num_queries(2):
        assert {count.used for count in rounds_in([cast.book.pk], allowances).values()} == {0}
