"""Random walks through weeks, under terms with everything switched on: what is stored is what the ledger adds up to."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from reviews.actions.clock import as_if_at
from reviews.models import LedgerEntry
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.queries.statement import export_of
from reviews.rules.contract.recount import count_again, figures
from reviews.rules.contract.terms import StageDays
from reviews.rules.states import PassageState, Side
from reviews.tasks.silence import keep_silence
from tests.actions.test_replay import Walk
from tests.actions.test_terms import enter
from tests.cast import gather
from tests.makers import a_book

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

START = datetime(2026, 3, 23, 9, tzinfo=UTC)  # Easter, and the clocks put forward, lie ahead

TERMS = {
    "from_on": date(2026, 3, 2),
    "stages": (StageDays("ideas", 4, 2), StageDays("sketch", 6, 3), StageDays("line", 3, 0), StageDays("colour", 8, 3)),
    "zone": "Europe/London",
    "places": ("GB-ENG", "US-NY"),
    "own_places": True,
    "cut_off": time(18),
    "late_receipt": "next-working-day",
    "publisher_late_moves": True,
    "silence_approves_after": 4,
}


class Weeks(Walk):
    """The same people, with hours or days between what they do, and the portal looking in between."""

    def __init__(self, chance: random.Random) -> None:
        self.at = START
        with as_if_at(START):
            cast = gather(a_book(start_on=START.date()))
            enter(cast, **TERMS)
        super().__init__(cast, chance)

    def step(self) -> None:
        self.at += timedelta(hours=self.chance.choice([1, 5, 9, 24, 72]), minutes=self.chance.randrange(60))
        with as_if_at(self.at):
            keep_silence(self.at)
            super().step()


def walked(seed: int, n_steps: int = 45) -> Weeks:
    walk = Weeks(random.Random(seed))
    for _ in range(n_steps):
        walk.step()
    return walk


# A walk is not made smaller by a smaller seed, so there is nothing to shrink.
@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.generate])
@given(seed=st.integers(0, 10_000))
def test_rows_ledger_statement_and_recount_agree(seed):
    walk = walked(seed)
    assert list(ledger_faults(walk.cast.book)) == []
    file = export_of(walk.cast.book, None, at=walk.at)
    assert figures(count_again(file)) == file["figures"]
    reckoned = reckon_one(walk.cast.book, walk.at)
    stored = {passage.pk: passage for passage in walk.cast.book.passages.all()}
    for line in reckoned.statement.lines:
        passage = stored[line.passage]
        assert line.state == passage.state
        turn = line.turns[-1] if line.turns and line.turns[-1].is_open else None
        if passage.state == PassageState.DRAWING:
            assert (turn.side, turn.due_on) == (Side.ILLUSTRATOR, passage.due_on), passage
        elif passage.state == PassageState.ANSWERING:
            assert (turn.side, turn.due_on) == (Side.PUBLISHER, passage.answer_due_on), passage
        else:
            assert turn is None


def test_the_walks_reach_silence_lateness_and_both_warnings():
    """The property above is worth something only if silence falls in its walks."""
    seen = set()
    for seed in range(4):
        walk = walked(seed, 60)
        rows = LedgerEntry.objects.filter(book=walk.cast.book)
        seen |= set(rows.filter(deed__contains="silence").values_list("deed", flat=True))
        seen |= {"late" for line in reckon_one(walk.cast.book, walk.at).statement.lines if line.days.publisher_late}
    assert seen >= {"announce-silence", "approve-by-silence", "late"}
