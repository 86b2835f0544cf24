"""Counted rounds are kept under the hash of a ledger's last line, and counted anew when that, or the day, changes."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from reviews.actions import terms
from reviews.models import Passage
from reviews.queries import rounds
from reviews.queries.rounds import allowances_for, rounds_of
from reviews.rules.terms import RoundGroup, StageDays, Terms
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
    terms.change_terms(cast.book.pk, agreed, n_seen=n_seen, actor=cast.art_director)


def counted(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    every = Passage.objects.filter(book=cast.book).select_related("stage")
    return rounds_of(cast.book, allowances_for(every))[passage.pk]


def test_a_second_look_takes_one_query_and_gives_the_same_count(cast, django_assert_num_queries):
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    allowances = allowances_for(Passage.objects.filter(book=cast.book).select_related("stage"))
    with django_assert_num_queries(N_COUNTED):
        first = rounds_of(cast.book, allowances)
    with django_assert_num_queries(N_KEPT):
        assert rounds_of(cast.book, allowances) == first
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
    rounds_of(cast.book, allowances)
    tomorrow = timezone.now() + timedelta(days=1)
    monkeypatch.setattr(rounds.timezone, "now", lambda: tomorrow)
    with django_assert_num_queries(N_COUNTED):
        rounds_of(cast.book, allowances)


def test_books_that_their_plans_count_need_two_queries(django_assert_num_queries):
    cast = gather(a_book())
    allowances = allowances_for(Passage.objects.filter(book=cast.book).select_related("stage"))
    with django_assert_num_queries(2):
        assert {count.used for count in rounds_of(cast.book, allowances).values()} == {0}
