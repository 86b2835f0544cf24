"""The random books draw every clause and every deed that the account reads: a new one cannot be forgotten."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from types import UnionType
from typing import Any, Literal, get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.fees import OF_A_STEP, CancellationStep, Instalment, Milestone, Money, Price
from reviews.rules.contract.periods import StageDays, StageSilence
from reviews.rules.contract.terms import RoundGroup, Terms
from reviews.rules.contract.timeline import READ_DEEDS
from reviews.rules.states import Deed
from tests.rules import random_terms
from tests.rules.random_books import random_books

pytestmark = pytest.mark.slow

#: Records a contract is made of. `Money` has no clause of its own.
RECORDS = (Terms, StageDays, StageSilence, RoundGroup, Instalment, CancellationStep, Price, DayRange)
#: Not what the contract says: which version it is, and from when; pauses, which the ledger tells and the walk draws.
NO_CLAUSES = {("Terms", "version"), ("Terms", "from_on"), ("Terms", "pauses")}
#: Refused by the terms, so they cannot be drawn: no spread reaches them.
REFUSED = {("CancellationStep", "reached"): set(Milestone) - set(OF_A_STEP)}
#: Deeds that change what there is to count rather than what is counted of it; walks over the portal itself draw them.
OF_THE_PLAN = {Deed.LAY_OUT, Deed.CHANGE_PLAN}
#: Written once by an upgrade, of a stage that no random book has: tests/actions/test_old_proofs.py counts by hand.
OF_OLD_PROOFS = {Deed.GIVE_TO_PRINTER}

Seen = dict[tuple[str, str], set[Any]]


def _records(found: object) -> Iterator[Any]:
    """Give a record, and every record inside it."""
    if isinstance(found, tuple):
        for one in found:
            yield from _records(one)
    elif is_dataclass(found) and not isinstance(found, Money):
        yield found
        for each in fields(found):
            yield from _records(getattr(found, each.name))


def drawn(n_books: int = 800) -> tuple[Seen, Counter[str]]:
    """Draw books, always the same ones, and say which values each clause had and how often each deed came."""
    seen: Seen = defaultdict(set)
    deeds: Counter[str] = Counter()

    @settings(
        max_examples=n_books, deadline=None, derandomize=True, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(random_books())
    def collect(book):
        deeds.update(entry.deed for entry in book.ledger.entries)
        deeds["fixes"] += sum(bool(entry.data.get("fixes")) for entry in book.ledger.entries)
        for record in _records(tuple(book.versions)):
            for each in fields(record):
                seen[type(record).__name__, each.name].add(getattr(record, each.name))

    collect()
    return seen, deeds


def _must_come(hint: Any) -> list[Any]:
    """Name the values of a type that must each be drawn: members, both truths, and None where it may be none."""
    if isinstance(hint, UnionType):
        return [value for part in get_args(hint) for value in _must_come(part)]
    if hint is type(None):
        return [None]
    if hint is bool:
        return [True, False]
    if get_origin(hint) is Literal:
        return list(get_args(hint))
    return list(hint) if isinstance(hint, type) and issubclass(hint, Enum) else []


def never_drawn(seen: Seen) -> list[str]:
    """Name each clause that was not drawn, was drawn with one value alone, or lacks one of the values it must have."""
    missing = []
    for record in RECORDS:
        hints = get_type_hints(record)
        for each in fields(record):
            key = (record.__name__, each.name)
            if key in NO_CLAUSES:
                continue
            values = seen.get(key, set())
            if len(values) < 2:
                missing.append(f"{key[0]}.{key[1]}: only {values}")
            wanted = [one for one in _must_come(hints[each.name]) if one not in REFUSED.get(key, ())]
            missing += [f"{key[0]}.{key[1]}: never {one}" for one in wanted if one not in values]
    return missing


def test_every_clause_is_drawn_with_every_value_it_can_have():
    seen, deeds = drawn()
    assert never_drawn(seen) == []
    assert deeds["fixes"] >= 3  # amendments that give what runs, or is to come, a fixed date
    assert {deed for deed in READ_DEEDS if deeds[deed] < 3} == OF_THE_PLAN | OF_OLD_PROOFS


@pytest.mark.parametrize("name", sorted(random_terms.CLAUSES))
def test_a_clause_that_is_never_drawn_is_found(name):
    """As a new clause would be that nobody drew: each of them in turn keeps what terms say by default."""
    held = {each.name: each for each in fields(Terms)}[name]
    seen: Seen = {("Terms", clause): {1, 2} for clause in random_terms.CLAUSES}
    seen["Terms", name] = {held.default}
    assert any(line.startswith(f"Terms.{name}: ") for line in never_drawn(seen))


def test_a_clause_without_a_line_is_no_contract(monkeypatch):
    """The terms are built from the lines alone, so a field that has none keeps its default, and is found."""
    monkeypatch.setitem(random_terms.CLAUSES, "free_share", st.none())
    seen, _ = drawn(60)
    assert "Terms.free_share: only {None}" in never_drawn(seen)


def test_each_field_of_the_terms_has_its_line():
    told = {name for record, name in NO_CLAUSES if record == "Terms"}
    assert {each.name for each in fields(Terms)} - told == set(random_terms.CLAUSES)
