"""Random walks through weeks, steered: what is stored is what the ledger adds up to, and one fact has one date."""

from __future__ import annotations

import random
from collections import Counter
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from reviews.models import LedgerEntry
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.queries.statement import export_of
from reviews.rules.contract.recount import count_again, figures
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Deed, PassageState, Side
from tests.actions.book_deeds import NOT_DRAWN
from tests.actions.steered import RULES, STARTS, STEERS, Steered
from tests.one_date import dates_told, disagreements

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

#: Days from the first deed to the day on which work starts.
STARTS_IN = (0, 0, 3, 12)


def walk_of(seed: int) -> Steered:
    chance = random.Random(seed)
    return Steered(chance, starts_in=chance.choice(STARTS_IN), **RULES[seed % len(RULES)])


def checked(walk: Steered) -> None:
    told = dates_told(walk.cast, walk.at)
    assert disagreements(told) == []


# A walk is not made smaller by a smaller seed, so there is nothing to shrink.
@settings(
    max_examples=6, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate]
)
@given(seed=st.integers(0, 10_000))
@example(seed=7002)  # a letter opens a stage whose own days end before the date that the stage before it had
def test_rows_ledger_statement_recount_and_every_date_agree(seed):
    walk = walk_of(seed)
    for n in range(40):
        steered = sum(walk.reached.values())
        walk.step()
        if n % 5 == 0 or sum(walk.reached.values()) > steered:
            checked(walk)
    assert list(ledger_faults(walk.cast.book)) == []
    file = export_of(walk.cast.book, None, at=walk.at)
    assert figures(count_again(file)) == file["figures"]
    reckoned = reckon_one(walk.cast.book, walk.at)
    stored = {passage.pk: passage for passage in walk.cast.book.passages.select_related("stage")}
    for line in reckoned.statement.lines:
        passage = stored[line.passage]
        assert line.state == passage.state
        turn = line.turns[-1] if line.turns and line.turns[-1].is_open else None
        if passage.state == PassageState.DRAWING and passage.stage.kind in PRINTERS_STAGES:
            assert (turn, line.due.current_on) == (None, passage.due_on), passage
        elif passage.state == PassageState.DRAWING:
            assert (turn.side, turn.due_on) == (Side.ILLUSTRATOR, passage.due_on), passage
        elif passage.state == PassageState.ANSWERING:
            assert (turn.side, turn.due_on) == (Side.PUBLISHER, passage.answer_due_on), passage
        else:
            assert turn is None


def test_the_walks_reach_silence_lateness_both_warnings_every_steer_and_every_deed():
    """The property above is worth something only if these fall in its walks."""
    seen: set[str] = set()
    deeds: set[str] = set()
    reached: Counter[str] = Counter()
    for seed in range(len(RULES)):
        walk = walk_of(seed)
        for _ in range(50):
            walk.step()
        walk.try_each_book_deed(4)
        reached += walk.reached
        rows = LedgerEntry.objects.filter(book=walk.cast.book)
        deeds |= set(rows.values_list("deed", flat=True))
        seen |= {deed for deed in deeds if "silence" in deed}
        lines = reckon_one(walk.cast.book, walk.at).statement.lines
        seen |= {"late" for line in lines if line.days.publisher_late}
        seen |= {"days of both" for line in lines if line.days.both}
        entries = [row.data for row in rows.filter(deed="send-letter")]
        seen |= {"late moves" for data in entries for answer in data["answers"] if answer.get("late_moves")}
        seen |= {"ahead of its start" for row in rows if row.at < STARTS + timedelta(3) and row.deed == "hand-in"}
    assert seen >= {"announce-silence", "approve-by-silence", "late", "days of both", "late moves"}
    assert reached.keys() == {steer.__name__ for steer in STEERS}
    assert set(Deed) - deeds == NOT_DRAWN.keys(), "a deed is drawn, or named with the reason why not"
