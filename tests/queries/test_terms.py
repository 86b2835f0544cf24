"""Terms and statement, read: what is entered, what the plans imply, and the queries it takes."""

from __future__ import annotations

from datetime import date

import pytest

from reviews.queries.statement import story_of
from reviews.queries.terms import history_of, terms_of
from reviews.rules.contract.terms import COVER, EVERY_SPREAD
from tests.accounts import statement_of
from tests.cast import gather
from tests.makers import SHORT_PLAN, a_book, handed_in

pytestmark = pytest.mark.django_db


def test_a_book_without_entered_terms_has_those_its_plans_imply():
    cast = gather(a_book())
    held = terms_of(cast.book)
    assert held.is_implied
    terms = held.history.versions[0]
    for stage in SHORT_PLAN:
        assert terms.days_for(EVERY_SPREAD, stage.kind).hand_in_days == stage.hand_in_days
        assert terms.group_for(EVERY_SPREAD, stage.kind).rounds == stage.rounds
    assert terms.days_for(COVER, "finish") is not None
    assert terms.fee is None


def test_the_story_holds_every_passage_and_what_happened(django_assert_num_queries):
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator)
    with django_assert_num_queries(2):
        story = story_of(cast.book)
    assert set(story.passages) == set(cast.book.passages.values_list("pk", flat=True))
    assert story.passages[passage.pk].state == "answering"
    assert story.passages[cast.passage("Cover", "ideas").pk].spread.part == COVER


def test_a_statement_takes_four_queries_under_implied_terms(django_assert_num_queries):
    cast = gather(a_book())
    cast.book.refresh_from_db()
    with django_assert_num_queries(4):
        statement = statement_of(cast.book, date(2026, 12, 1))
    assert statement.terms == history_of(cast.book).versions[0]
    assert len(statement.lines) == cast.book.passages.count()
