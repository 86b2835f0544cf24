"""Turns at the store: whoever is late holds the others back, and whole files leave turns to what is small."""

from contextlib import ExitStack

import pytest

from reviews.queries import store_turns
from reviews.queries.store_turns import REST_SECONDS, StoreSilent, store_turn


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch, settings) -> Clock:
    settings.STORE_TURNS, settings.STORE_TURNS_FOR_FILES = 4, 2
    clock = Clock()
    monkeypatch.setattr(store_turns, "monotonic", clock)
    monkeypatch.setattr(store_turns, "_rests_until", 0.0)
    return clock


def test_a_small_question_is_overdue_after_three_seconds_and_then_nothing_is_asked(clock):
    with store_turn():
        clock.now += 2.9
        with store_turn():
            pass
        clock.now += 0.2
        with pytest.raises(StoreSilent), store_turn():
            pass
    with pytest.raises(StoreSilent), store_turn(1000):
        pass
    clock.now += REST_SECONDS + 0.1
    with store_turn():
        pass


def test_a_whole_file_may_take_as_long_as_its_size_asks_for(clock):
    with store_turn(500_000_000):
        clock.now += 500
        with store_turn():
            pass
        clock.now += 4
        with pytest.raises(StoreSilent), store_turn():
            pass


def test_whole_files_leave_turns_to_small_questions(clock):
    with ExitStack() as under_way:
        for _ in range(2):
            under_way.enter_context(store_turn(10_000_000))
        with pytest.raises(StoreSilent), store_turn(10_000_000):
            pass
        for _ in range(2):
            under_way.enter_context(store_turn())
        with pytest.raises(StoreSilent), store_turn():
            pass
    with store_turn(10_000_000):
        pass
