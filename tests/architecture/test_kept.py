"""What is put back as rows cannot be told from what was made by deeds."""

import pytest
from django.db import connection, transaction

from reviews.queries.ledger_check import ledger_faults
from tests import kept
from tests.cast import gather
from tests.makers import a_book


@pytest.fixture
def made_and_put_back(db):
    kept._kept.clear()
    made, put_back = [], []
    for told in (made, put_back):
        start, before = transaction.savepoint(), len(connection.run_on_commit)
        told += [gather(a_book()), kept._all_rows(), len(connection.run_on_commit) - before]
        transaction.savepoint_rollback(start)
    return made, put_back


def test_the_rows_are_the_same_bit_for_bit(made_and_put_back):
    (_, made, _), (_, put_back, _) = made_and_put_back
    assert len(made["reviews_passage"]) > 8
    assert made == put_back


def test_the_people_are_the_same_and_what_comes_after_the_commit_too(made_and_put_back):
    (made, _, n_after), (put_back, _, n_after_again) = made_and_put_back
    assert made == put_back
    assert made is not put_back
    assert n_after == n_after_again


def test_the_second_is_not_made(db, monkeypatch):
    kept._kept.clear()
    calls = []
    for _ in range(2):
        start = transaction.savepoint()
        kept.made_once("nobody", lambda: calls.append(None))
        transaction.savepoint_rollback(start)
    assert len(calls) == 1


def test_beside_other_rows_it_is_made_anew(db):
    kept._kept.clear()
    first, second = gather(a_book()), gather(a_book(title="Another"))
    assert first.book.pk != second.book.pk
    third = gather(a_book())
    assert third.book.pk not in {first.book.pk, second.book.pk}


def test_a_ledger_put_back_verifies(made_and_put_back):
    cast = gather(a_book())
    assert list(ledger_faults(cast.book)) == []
