"""When the book will really be done: thousands of futures drawn from its own pace.

One pair of hands draws the spreads in the order set, always taking up the earliest stage that is ready; the publisher
answers in letters; each side works by its own calendar. Every future draws, with replacement, from what has happened
so far on this book (the bootstrap; Efron 1979), or from three-point estimates while there is little.

What it does not know: draws are independent, so a party that is slow on everything makes the true spread of dates
wider than shown here. It is a forecast, not a promise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from reviews.rules.contract.calendars import Calendar
from reviews.rules.forecast.outlook import Outlook, Setting, SpreadOutlook, SupposedChange, WhatIf
from reviews.rules.forecast.pace import Pace, Pool, SpreadLeft
from reviews.rules.states import Side

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

N_FUTURES = 10_000

#: Dates further away than this are cut off; no book plans beyond it.
_HORIZON_DAYS = 4018

#: The hands' time is counted in parts of a working day, fine enough that rounding cannot move a date.
_TICKS = 256
_NEVER = 1 << 40

#: Where a spread stands is one number, so that the next thing to do is the least of them: when it can be begun
#: (in ticks), then its place in the order of work, then the rounds left to it and whether it is being redone.
_REDO_BITS, _ROUND_BITS = 1, 5
_MOST_ROUNDS = (1 << _ROUND_BITS) - 1
_PLACE_AT = _REDO_BITS + _ROUND_BITS


@dataclass
class _Days:
    """A calendar from today on as two tables: working days up to each day, and the day of each working day."""

    rank: Ints
    nth: Ints

    @classmethod
    def of(cls, calendar: Calendar, today: date) -> _Days:
        working = np.frombuffer(calendar.kinds_from(today, _HORIZON_DAYS), np.uint8) == 0
        working[0] = False  # today counts as over
        return cls(np.cumsum(working, dtype=np.int64), np.concatenate(([0], np.flatnonzero(working))))

    def day(self, rank: Ints) -> Ints:
        """Give the day (0 is today) on which a working day falls."""
        return self.nth[np.minimum(rank, len(self.nth) - 1)]


class _Simulation:
    """All futures of one book at once. Arrays are indexed (spread, future); tasks of all spreads lie in one flat
    list."""

    def __init__(self, pieces: Sequence[SpreadLeft], pace: Pace, setting: Setting, n: int, seed: int) -> None:
        self.pieces, self.setting, self.n = pieces, setting, n
        self.random = np.random.default_rng(seed)
        self.hands = _Days.of(setting.hands, setting.today)
        self.desk = self.hands if setting.desk == setting.hands else _Days.of(setting.desk, setting.today)
        self._set_order()
        tasks = [self.pieces[column].tasks[k] for column, k in self.order]
        # A first version and a redone one, side by side: the flag that tells them apart picks the row.
        redone = [task.effort_days if task.redo_effort_days is None else task.redo_effort_days for task in tasks]
        again = [task.answer_days if task.second_look_days is None else task.second_look_days for task in tasks]
        self.effort = np.array([[task.effort_days for task in tasks], redone]) * _TICKS
        self.allowed = np.array([[float(task.answer_days) for task in tasks], np.array(again, np.float64)])
        # First versions and redone ones lie one after the other, so that one look-up serves both.
        self.ratios = np.array([*pace.first.values, *pace.redo.values])
        self.n_ratios = np.array([len(pace.first.values), len(pace.redo.values)])
        self.answers = np.array(pace.answer.values)
        self.rounds = np.minimum(np.array(pace.rounds.values, dtype=np.int64), _MOST_ROUNDS)
        self.futures = np.arange(n)
        self.free = np.zeros(n, np.int64)
        self.done_day = np.zeros((len(pieces), n), np.int64)
        self.drawn_ticks = np.zeros(len(pieces))
        self.idle_ticks = np.zeros(len(pieces))
        self._begin()

    def _set_order(self) -> None:
        """Put all tasks in the order of work: early stages before late ones, within a stage the order set."""
        most = max(len(piece.tasks) for piece in self.pieces)
        tasks = [(column, k) for column, piece in enumerate(self.pieces) for k in range(len(piece.tasks))]
        self.order = sorted(tasks, key=lambda task: (most - len(self.pieces[task[0]].tasks) + task[1], task[0]))
        place = {task: at for at, task in enumerate(self.order)}
        self.column = np.array([column for column, _ in self.order])
        self.following = np.array([place.get((column, k + 1), -1) for column, k in self.order])
        self.first_place = np.array([place[column, 0] for column in range(len(self.pieces))])
        self.shift = _PLACE_AT + len(self.order).bit_length()

    def _begin(self) -> None:
        shape = (len(self.pieces), self.n)
        self.ready = np.zeros(shape, np.int64)
        self.state = np.zeros(shape, np.int64)
        for column, piece in enumerate(self.pieces):
            place = np.full(self.n, self.first_place[column])
            rounds = np.maximum(self._drawn_rounds() - piece.rounds_asked, 0)
            redo = np.full(self.n, int(piece.rounds_asked > 0))
            self.state[column] = (place << _PLACE_AT) | (rounds << _REDO_BITS) | redo
            if piece.holder == Side.PUBLISHER:
                self._answered(place, rounds, self._awaited_day(piece), np.ones(self.n, np.bool_))

    def _drawn_rounds(self) -> Ints:
        return self.rounds[(self.random.random(self.n) * len(self.rounds)).astype(np.int64)]

    def _drawn_answer(self, allowed: Floats) -> Floats:
        at = (self.random.random(self.n) * len(self.answers)).astype(np.int64)
        drawn: Floats = allowed * self.answers[at]
        return drawn

    def _awaited_day(self, piece: SpreadLeft) -> Ints:
        """Let the answer come that is awaited today; days already spent waiting have passed."""
        if piece.spread in self.setting.answered_today:
            return np.zeros(self.n, np.int64)
        allowed = np.full(self.n, float(piece.answer_now))
        return self._letter_day(0, self._drawn_answer(allowed) - piece.spent_days)

    def _letter_day(self, since_rank: Ints | int, days: Floats) -> Ints:
        """Find the day of the letter that answers: the next one that goes after the days are over."""
        rank = since_rank + np.maximum(np.ceil(days), 1).astype(np.int64)
        every = self.setting.letters_every
        return self.desk.day(rank if every <= 1 else -(-rank // every) * every)

    def run(self) -> None:
        for _ in range(len(self.order) * (2 + _MOST_ROUNDS)):
            if not self._step():
                return

    def _step(self) -> bool:
        """Take up one task in every future that has one left."""
        key = np.maximum(self.ready, self.free << self.shift)
        key += self.state
        least = key.min(axis=0)
        start = least >> self.shift
        active = start < _NEVER
        if not active.any():
            return False
        state = least & ((1 << self.shift) - 1)
        place, redo = state >> _PLACE_AT, state & 1
        rounds = (state >> _REDO_BITS) & _MOST_ROUNDS
        at = (self.random.random(self.n) * self.n_ratios[redo]).astype(np.int64) + redo * self.n_ratios[0]
        ticks = np.rint(self.effort[redo, place] * self.ratios[at])
        ticks = self._less_spent(ticks, place, redo, start)
        start, ticks = np.where(active, start, self.free), np.where(active, ticks, 0)
        self.drawn_ticks += np.bincount(self.column[place], ticks, len(self.pieces))
        self.idle_ticks += np.bincount(self.column[place], start - self.free, len(self.pieces))
        self.free = start + ticks.astype(np.int64)
        self._hand_in(place, rounds, redo, active)
        return True

    def _less_spent(self, ticks: Floats, place: Ints, redo: Ints, start: Ints) -> Floats:
        """Take off what the hands have already drawn of the spread on the desk today; at least a little is left."""
        for column, piece in enumerate(self.pieces):
            if piece.holder == Side.ILLUSTRATOR and piece.spent_days:
                begun = (place == self.first_place[column]) & (start == 0) & (redo == int(piece.rounds_asked > 0))
                least = np.minimum(ticks, _TICKS / 10)
                ticks = np.where(begun, np.maximum(ticks - piece.spent_days * _TICKS, least), ticks)
        return ticks

    def _hand_in(self, place: Ints, rounds: Ints, redo: Ints, active: NDArray[np.bool_]) -> None:
        day = self.hands.day(-(-self.free // _TICKS))
        allowed = self.allowed[redo, place]
        answered = self._letter_day(self.desk.rank[day], self._drawn_answer(allowed))
        self._answered(place, rounds, np.where(allowed > 0, answered, day), active)

    def _answered(self, place: Ints, rounds: Ints, day: Ints, active: NDArray[np.bool_]) -> None:
        """Bring an answer: changes are asked for while rounds are left, else the spread moves on."""
        needs_answer = self.allowed[0, place] > 0
        asked = (rounds > 0) & needs_answer
        following = np.where(asked, place, self.following[place])
        finished = following < 0
        column = self.column[place]
        back = np.where(needs_answer, self.hands.rank[day] * _TICKS, self.free)
        cell = column * self.n + self.futures
        self.ready.ravel()[cell] = np.where(finished | ~active, _NEVER, back) << self.shift
        rounds = np.where(asked, rounds - 1, self._drawn_rounds())
        state = (np.maximum(following, 0) << _PLACE_AT) | (rounds << _REDO_BITS) | asked
        self.state.ravel()[cell] = state
        over = np.flatnonzero(finished & active)
        self.done_day[column[over], over] = day[over]


def forecast(
    pieces: Sequence[SpreadLeft], pace: Pace, setting: Setting, *, n_futures: int = N_FUTURES, seed: int = 1
) -> Outlook:
    """Simulate the rest of the book; the same inputs and seed give the same figures.

    Work begins on the first working day after today. Dates are nearest-rank: at least half, or four in five, of
    the futures are done by them.
    """
    n_cases = (pace.first.n_cases, pace.redo.n_cases, pace.answer.n_cases, pace.rounds.n_cases)
    target = (setting.target_on - setting.today).days if setting.target_on else None
    if not pieces:
        chance = None if target is None else float(target >= 0)
        today = setting.today
        return Outlook(
            today=today,
            p50_on=today,
            p80_on=today,
            target_on=setting.target_on,
            chance=chance,
            spreads=(),
            illustrator_over=0.0,
            publisher_over=0.0,
            n_futures=n_futures,
            seed=seed,
            n_cases=n_cases,
        )
    simulation = _Simulation(pieces, pace, setting, n_futures, seed)
    simulation.run()
    end = simulation.done_day.max(axis=0)
    spreads = _spreads(pieces, setting, simulation)
    tail = float(np.mean(simulation.hands.rank[end] - -(-simulation.free // _TICKS)))
    return Outlook(
        today=setting.today,
        p50_on=_on(setting, end, 0.5),
        p80_on=_on(setting, end, 0.8),
        target_on=setting.target_on,
        chance=None if target is None else float(np.mean(end <= target)),
        spreads=spreads,
        illustrator_over=sum(told.drawing_days - told.planned_days for told in spreads),
        publisher_over=sum(told.waiting_days for told in spreads) + tail,
        n_futures=n_futures,
        seed=seed,
        n_cases=n_cases,
        is_cut_off=bool(end.max() >= simulation.hands.nth[-1]),
    )


def _spreads(pieces: Sequence[SpreadLeft], setting: Setting, simulation: _Simulation) -> tuple[SpreadOutlook, ...]:
    per_future = 1 / simulation.n / _TICKS
    return tuple(
        SpreadOutlook(
            spread=piece.spread,
            label=piece.label,
            p50_on=_on(setting, simulation.done_day[column], 0.5),
            p80_on=_on(setting, simulation.done_day[column], 0.8),
            drawing_days=float(simulation.drawn_ticks[column] * per_future),
            planned_days=sum(task.effort_days for task in piece.tasks) - _hands_spent(piece),
            waiting_days=float(simulation.idle_ticks[column] * per_future),
        )
        for column, piece in enumerate(pieces)
    )


def what_if_answered_today(
    pieces: Sequence[SpreadLeft], pace: Pace, setting: Setting, *, n_futures: int = N_FUTURES, seed: int = 1
) -> WhatIf:
    """Compare the forecast with one in which every letter that is awaited goes today."""
    waiting = frozenset(piece.spread for piece in pieces if piece.holder == Side.PUBLISHER)
    changed = replace(setting, answered_today=waiting)
    told = _compared(SupposedChange.ANSWERED_TODAY, (pieces, pace, setting), (pieces, pace, changed), n_futures, seed)
    return replace(told, n_waiting=len(waiting))


def what_if_in_time(
    pieces: Sequence[SpreadLeft], pace: Pace, setting: Setting, side: Side, *, n_futures: int = N_FUTURES, seed: int = 1
) -> WhatIf:
    """Compare the forecast with one in which a side is never slower than the terms allow."""
    if side == Side.PUBLISHER:
        change, kept = SupposedChange.PUBLISHER_IN_TIME, replace(pace, answer=_never_over(pace.answer))
    else:
        change = SupposedChange.ILLUSTRATOR_IN_TIME
        kept = replace(pace, first=_never_over(pace.first), redo=_never_over(pace.redo))
    return _compared(change, (pieces, pace, setting), (pieces, kept, setting), n_futures, seed)


def _compared(
    change: SupposedChange,
    now: tuple[Sequence[SpreadLeft], Pace, Setting],
    then: tuple[Sequence[SpreadLeft], Pace, Setting],
    n_futures: int,
    seed: int,
) -> WhatIf:
    # The same seed on both sides: most of the chance cancels out of the difference.
    before, after = (forecast(*case, n_futures=n_futures, seed=seed) for case in (now, then))
    return WhatIf(
        change=change,
        p50_on=after.p50_on,
        p80_on=after.p80_on,
        p50_days=(after.p50_on - before.p50_on).days,
        p80_days=(after.p80_on - before.p80_on).days,
        chance=after.chance,
    )


def _never_over(pool: Pool) -> Pool:
    return replace(pool, values=tuple(min(value, 1.0) for value in pool.values))


def _hands_spent(piece: SpreadLeft) -> float:
    own = piece.tasks[0].effort_days
    return own if piece.holder == Side.PUBLISHER else min(piece.spent_days, own)


def _on(setting: Setting, days: Ints, share: float) -> date:
    return setting.today + timedelta(int(np.quantile(days, share, method="inverted_cdf")))
