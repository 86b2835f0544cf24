"""The book's own pace, read from its ledger, and the work that is left.

One pair of hands draws everything, so the time a spread took is not how long it lay on the desk but how long the
hands had for it: from the later of its receipt and the hand-in before it. Pictures handed in on one day share the
days since the last one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.fixed_dates import fixed_on
from reviews.rules.contract.left_to_do import left_by_spread
from reviews.rules.contract.periods import DayUnit, StageDays
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import PassageStory, Story
from reviews.rules.contract.turn import Turn
from reviews.rules.forecast.three_point import ThreePoint
from reviews.rules.states import Gate, PassageState, Side

#: With fewer past cases than this, three-point estimates are used instead.
ENOUGH_CASES = 5

#: Assumptions for a book that has no history yet, as ratios to what the terms allow. Common practice, no source.
FIRST_GUESS = ThreePoint(0.6, 1.0, 1.8)
REDO_GUESS = ThreePoint(0.2, 0.4, 0.9)
ANSWER_GUESS = ThreePoint(0.5, 1.0, 2.5)
#: Rounds a passage takes until it is approved, all equally likely. Common practice, no source.
ROUNDS_GUESS = (0, 1, 1, 2)

#: How finely a three-point estimate is cut into equally likely values.
_SLICES = 200


@dataclass(frozen=True)
class Pool:
    """Equally likely values, and how many past cases they come from (0: estimated)."""

    values: tuple[float, ...]
    n_cases: int


@dataclass(frozen=True)
class Pace:
    """How fast both sides are: first versions, redone versions and answers as ratios to the plan; rounds as counts."""

    first: Pool
    redo: Pool
    answer: Pool
    rounds: Pool


@dataclass(frozen=True)
class Task:
    """One passage still to be done: hands-on days planned, and days the publisher has to answer (0: no answer).

    ``redo_effort_days`` is what the ratios of redone versions are of, and ``second_look_days`` what the publisher has
    to answer one; None: as for the first version. All are working days.
    """

    stage: str
    effort_days: float
    answer_days: int
    redo_effort_days: float | None = None
    second_look_days: int | None = None


@dataclass(frozen=True, kw_only=True)
class SpreadLeft:
    """One spread's work left, in order; the first task is where it stands now.

    spent_days   working days the side that holds it has already spent on it
    rounds_asked rounds already asked for at the stage where it stands
    """

    spread: int
    label: str
    tasks: tuple[Task, ...]
    holder: Side
    spent_days: float = 0.0
    rounds_asked: int = 0

    @property
    def effort_now(self) -> float:
        """Give the days planned for the version that is drawn now: a first one, or one after changes were asked for."""
        first = self.tasks[0]
        is_redo = self.rounds_asked > 0 and first.redo_effort_days is not None
        return first.redo_effort_days if is_redo and first.redo_effort_days is not None else first.effort_days

    @property
    def answer_now(self) -> int:
        """Give the days the publisher has for the version that lies or will lie there: a second look has its own."""
        first = self.tasks[0]
        again = first.second_look_days
        return again if self.rounds_asked and again is not None else first.answer_days


def sliced(guess: ThreePoint) -> Pool:
    """Turn a three-point estimate into equally likely values: the middles of slices of a triangular distribution."""
    return Pool(tuple(guess.triangular_quantile((n + 0.5) / _SLICES) for n in range(_SLICES)), 0)


def pool_of(cases: Sequence[float], guess: ThreePoint) -> Pool:
    """Use the past if there is enough of it, else the estimate."""
    return Pool(tuple(cases), len(cases)) if len(cases) >= ENOUGH_CASES else sliced(guess)


def pace_of(story: Story, turns: Mapping[int, Sequence[Turn]], terms: Terms) -> Pace:
    """Read the pace of both sides from what has happened so far."""
    first, redo = _efforts(story, turns, terms)
    answers = [
        (turn.working - turn.both) / turn.allowed
        for theirs in turns.values()
        for turn in theirs
        if turn.side == Side.PUBLISHER and turn.is_given and turn.allowed
    ]
    rounds = [
        float(n_asked(passage_story))
        for passage_story in story.passages.values()
        if passage_story.state == PassageState.APPROVED
    ]
    return Pace(
        pool_of(first, FIRST_GUESS),
        pool_of(redo, REDO_GUESS),
        pool_of(answers, ANSWER_GUESS),
        Pool(tuple(rounds), len(rounds)) if len(rounds) >= ENOUGH_CASES else Pool(ROUNDS_GUESS, 0),
    )


def planned_effort(story: Story, terms: Terms) -> dict[int, float]:
    """Share the days the terms give a stage among the spreads that have it: they are drawn by one pair of hands.

    Where they fix a date in place of days, those are the working days from the plan's end of the stage before to it.
    """
    begins = _planned_starts(story, terms)
    return _shared(story, terms, lambda told, line: _first_days(told, line, begins[told.passage], terms))


def _shared(story: Story, terms: Terms, days_of: Callable[[PassageStory, StageDays], float]) -> dict[int, float]:
    told = story.in_order()
    lines = {one.passage: terms.days_for(one.spread.part, one.stage) for one in told}
    n_alike: dict[tuple[str, str], int] = {}
    for line in lines.values():
        if line is not None:
            n_alike[line.part, line.stage] = n_alike.get((line.part, line.stage), 0) + 1
    return {
        one.passage: days_of(one, line) / n_alike[line.part, line.stage] if line else 0.0
        for one in told
        for line in (lines[one.passage],)
    }


def _planned_starts(story: Story, terms: Terms) -> dict[int, date | None]:
    """Say of each passage when it begins by the plan: the book's first day, or the end of the stage before it."""
    starts: dict[int, date | None] = {}
    before: PassageStory | None = None
    for told in story.in_order():
        starts[told.passage] = story.start_on
        if before is not None and before.spread.spread == told.spread.spread:
            starts[told.passage] = _planned_end(before, terms)
        before = told
    return starts


def _planned_end(told: PassageStory, terms: Terms) -> date | None:
    line = terms.days_for(told.spread.part, told.stage)
    if told.planned_on is None or line is None:
        return told.planned_on
    n_days = round(in_working_days(line.answer_days, line.unit))
    return add_working_days(told.planned_on, n_days, terms.calendar_of(Side.PUBLISHER))


def _first_days(told: PassageStory, line: StageDays, begins_on: date | None, terms: Terms) -> float:
    fixed = fixed_on(terms, told.spread.part, told.stage, Side.ILLUSTRATOR)
    if fixed is None or begins_on is None or fixed <= begins_on:
        return in_working_days(line.hand_in_days, line.unit)
    return float(max(1, terms.maker_calendar(told.stage).count(begins_on, fixed)))


def in_working_days(n_days: int, unit: DayUnit) -> float:
    """Give a period as working days: of seven days of the calendar five are worked, holidays left aside."""
    return n_days if unit == DayUnit.WORKING else n_days * 5 / 7


def redo_efforts(story: Story, terms: Terms) -> dict[int, float]:
    """Give by passage what the ratios of its redone versions are of: its planned effort, or, where the terms give a
    revision days of its own, what makes the likeliest revision take just those."""
    efforts = _shared(story, terms, lambda _, line: in_working_days(line.hand_in_days, line.unit))
    return {passage: effort * _redo_share(story.passages[passage], terms) for passage, effort in efforts.items()}


def _redo_share(story: PassageStory, terms: Terms) -> float:
    line = terms.days_for(story.spread.part, story.stage)
    if line is None or line.redo_days is None or not line.hand_in_days:
        return 1.0
    return line.redo_days / line.hand_in_days / REDO_GUESS.likeliest


def _efforts(story: Story, turns: Mapping[int, Sequence[Turn]], terms: Terms) -> tuple[list[float], list[float]]:
    """Give the hands-on days of every finished turn of the illustrator, as ratios to the plan."""
    planned, redone = planned_effort(story, terms), redo_efforts(story, terms)
    handed: dict[date, list[tuple[int, Turn, bool]]] = {}
    for passage, theirs in turns.items():
        mine = [turn for turn in theirs if turn.side == Side.ILLUSTRATOR]
        for turn in mine:
            if turn.is_given:
                handed.setdefault(turn.until_on, []).append((passage, turn, turn is mine[0]))
    ratios: tuple[list[float], list[float]] = ([], [])
    before: date | None = None
    calendar = terms.calendar_of(Side.ILLUSTRATOR)
    for on in sorted(handed):
        since = max(min(turn.from_on for _, turn, _ in handed[on]), before or date.min)
        each = max(calendar.count(since, on), 0) / len(handed[on]) if since < on else 0.0
        for passage, _, is_first in handed[on]:
            of = (planned if is_first else redone).get(passage)
            if of and each:
                ratios[0 if is_first else 1].append(each / of)
        before = on
    return ratios


def n_asked(story: PassageStory) -> int:
    """Count how often changes were asked for before a passage was first approved."""
    n = 0
    for event in story.events:
        if event.to == PassageState.APPROVED:
            break
        n += event.data.get("answer") == "ask" and not event.data.get("reopened")
    return n


def left_to_do(story: Story, turns: Mapping[int, Sequence[Turn]], terms: Terms) -> tuple[SpreadLeft, ...]:
    """List what is left, spread by spread in page order, from where each stands."""
    efforts = planned_effort(story, terms), redo_efforts(story, terms)
    pieces = [_piece(left, turns, terms, efforts) for left in left_by_spread(story)]
    return tuple(_hands_on(pieces))


def _piece(
    left: Sequence[PassageStory],
    turns: Mapping[int, Sequence[Turn]],
    terms: Terms,
    efforts: tuple[Mapping[int, float], Mapping[int, float]],
) -> SpreadLeft:
    now = left[0]
    theirs = turns[now.passage]
    held = theirs[-1] if theirs and theirs[-1].is_open else None
    planned, redone = efforts
    tasks = tuple(
        Task(
            story.stage,
            planned[story.passage],
            _answer_days(story, terms, is_again=False),
            redone[story.passage],
            _answer_days(story, terms, is_again=True),
        )
        for story in left
    )
    return SpreadLeft(
        spread=now.spread.spread,
        label=now.spread.label,
        tasks=tasks,
        holder=held.side if held else Side.ILLUSTRATOR,
        spent_days=held.working - held.both if held else 0.0,
        rounds_asked=n_asked(now),
    )


def _answer_days(story: PassageStory, terms: Terms, *, is_again: bool) -> int:
    line = terms.days_for(story.spread.part, story.stage)
    n_days = round(in_working_days(line.days_for(Side.PUBLISHER, is_again=is_again), line.unit)) if line else 0
    by, on = (fixed_on(terms, story.spread.part, story.stage, side) for side in (Side.ILLUSTRATOR, Side.PUBLISHER))
    handed_on = by or story.planned_on
    if on is not None and handed_on is not None and handed_on < on and not is_again:
        n_days = terms.calendar_of(Side.PUBLISHER).count(handed_on, on)
    return max(1, n_days) if story.gate == Gate.ANSWERS else 0


def _hands_on(pieces: Iterable[SpreadLeft]) -> Iterable[SpreadLeft]:
    """Let only the first spread on the desk keep its spent days: one pair of hands worked on one thing."""
    busy = False
    for piece in pieces:
        if piece.holder == Side.ILLUSTRATOR:
            spent = 0.0 if busy else min(piece.spent_days, piece.effort_now)
            busy = True
            yield replace(piece, spent_days=spent)
        else:
            yield piece
