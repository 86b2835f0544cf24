"""The schedule as data for one picture: who had each passage when, what was planned, and where it may end.

Everything is placed by whole days from the first day shown, so that the same rows make an SVG, a table for a screen
reader, and a print in black and white.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from reviews.rules.contract.pauses import Pause
from reviews.rules.contract.statement import PassageLine, Statement
from reviews.rules.contract.turn import Turn
from reviews.rules.forecast.outlook import Outlook
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.passed_over import are_passed_over
from reviews.rules.states import PassageState, Side

#: Room left of the first and right of the last day, so that marks at the edge can be read.
_MARGIN_DAYS = 3

_DONE = (PassageState.APPROVED, PassageState.PASSED)


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One turn in a row: from the start of one day to the end of another, in days from the first day shown.

    The last ``late_length`` days of it are those after the day on which it was due.
    """

    stage: str
    side: Side
    start: int
    length: int
    late_length: int
    from_on: date
    until_on: date
    working: int
    late: int
    is_open: bool


@dataclass(frozen=True, kw_only=True)
class DateMark:
    """One planned or current due date in a row."""

    stage: str
    at: int
    on: date
    is_planned: bool
    is_met: bool


@dataclass(frozen=True)
class Band:
    """Where an end may fall: from the day by which it is as likely as not, to the one with four chances in five."""

    start: int
    length: int
    p50_on: date
    p80_on: date


@dataclass(frozen=True)
class Now:
    """Where a spread stands: at which stage, with whom, and when that is or was due."""

    stage: str
    side: Side
    due_on: date | None
    is_late: bool


@dataclass(frozen=True, kw_only=True)
class Row:
    """One spread over time; ``now`` is None where it is done, and for the whole book."""

    spread: int
    label: str
    bars: tuple[Bar, ...]
    marks: tuple[DateMark, ...]
    band: Band | None
    now: Now | None


@dataclass(frozen=True)
class Rest:
    """A pause over all rows: from the start of its first day to the end of its last."""

    start: int
    length: int
    pause: Pause


@dataclass(frozen=True)
class Month:
    """A month's first day and where it begins, for the scale."""

    at: int
    on: date


@dataclass(frozen=True, kw_only=True)
class Schedule:
    """All rows of a book over the same stretch of days; ``whole`` is where the end of the last spread may fall."""

    first_on: date
    n_days: int
    today_at: int
    final_at: int | None
    months: tuple[Month, ...]
    rows: tuple[Row, ...]
    whole: Band | None
    rests: tuple[Rest, ...] = ()


def schedule_of(statement: Statement, outlook: Outlook | None = None, final_on: date | None = None) -> Schedule:
    """Lay out a statement, and a forecast if there is one, over time."""
    lines: dict[int, list[PassageLine]] = {}
    for line in statement.lines:
        lines.setdefault(line.spread.spread, []).append(line)
    ends = {told.spread: (told.p50_on, told.p80_on) for told in outlook.spreads} if outlook else {}
    whole = [(outlook.p50_on, outlook.p80_on)] if outlook and outlook.spreads else []
    first_on, last_on = _stretch(statement, [on for pair in (*ends.values(), *whole) for on in pair], final_on)
    rows = tuple(
        Row(
            spread=spread,
            label=theirs[0].spread.label,
            bars=tuple(
                _bar(turn, line.stage, first_on) for line in theirs for turn in line.turns if turn.calendar_days
            ),
            marks=tuple(mark for line in theirs for mark in _marks(line, first_on)),
            band=_band(*ends[spread], first_on) if spread in ends else None,
            now=_now(theirs, statement.as_of),
        )
        for spread, theirs in lines.items()
    )
    return Schedule(
        first_on=first_on,
        n_days=(last_on - first_on).days + 1,
        today_at=(statement.as_of - first_on).days,
        final_at=(final_on - first_on).days if final_on else None,
        months=_months(first_on, last_on),
        rows=rows,
        whole=_band(*whole[0], first_on) if whole else None,
        rests=tuple(_rest(pause, first_on) for pause in statement.pauses),
    )


def _rest(pause: Pause, first_on: date) -> Rest:
    return Rest((pause.first - first_on).days, pause.as_range.n_days, pause)


def _stretch(statement: Statement, ends: Sequence[date], final_on: date | None) -> tuple[date, date]:
    days = [statement.as_of, *ends, *([final_on] if final_on else [])]
    days += [on for pause in statement.pauses for on in (pause.first, pause.last)]
    for line in statement.lines:
        days += [on for on in (line.due.planned_on, line.due.current_on) if on]
        days += [on for turn in line.turns for on in (turn.from_on, turn.until_on)]
    margin = timedelta(_MARGIN_DAYS)
    return min(days) - margin, max(days) + margin


def _bar(turn: Turn, stage: str, first_on: date) -> Bar:
    return Bar(
        stage=stage,
        side=turn.side,
        # The day of receipt is the giver's: the receiver's bar begins when it ends.
        start=(turn.from_on - first_on).days + 1,
        length=turn.calendar_days,
        late_length=_late_length(turn),
        from_on=turn.from_on,
        until_on=turn.until_on,
        working=turn.working,
        late=turn.late,
        is_open=turn.is_open,
    )


def _late_length(turn: Turn) -> int:
    if not turn.late or turn.due_on is None:
        return 0
    return min((turn.until_on - turn.due_on).days, turn.calendar_days)


def _now(theirs: Sequence[PassageLine], as_of: date) -> Now | None:
    """Say which stage a spread is at, with whom, and until when."""
    over = are_passed_over([line.state for line in theirs])
    waiting = (line for line, is_over in zip(theirs, over, strict=True) if not is_over and line.state not in _DONE)
    line = next(waiting, None)
    if line is None:
        return None
    turn = line.turns[-1] if line.turns and line.turns[-1].is_open else None
    # What the printer makes, the publisher hands in.
    maker = Side.PUBLISHER if line.stage in PRINTERS_STAGES else Side.ILLUSTRATOR
    side = turn.side if turn else maker
    due_on = turn.due_on if turn and side == Side.PUBLISHER else line.due.current_on
    return Now(line.stage, side, due_on, due_on is not None and due_on < as_of)


def _marks(line: PassageLine, first_on: date) -> list[DateMark]:
    due, is_met = line.due, line.state in _DONE
    marks = []
    if due.planned_on:
        marks.append(
            DateMark(
                stage=line.stage,
                at=(due.planned_on - first_on).days,
                on=due.planned_on,
                is_planned=True,
                is_met=is_met,
            )
        )
    if due.current_on and due.current_on != due.planned_on:
        marks.append(
            DateMark(
                stage=line.stage,
                at=(due.current_on - first_on).days,
                on=due.current_on,
                is_planned=False,
                is_met=is_met,
            )
        )
    return marks


def _band(p50_on: date, p80_on: date, first_on: date) -> Band:
    return Band((p50_on - first_on).days, (p80_on - p50_on).days + 1, p50_on, p80_on)


def _months(first_on: date, last_on: date) -> tuple[Month, ...]:
    months = []
    on = first_on.replace(day=1)
    while on <= last_on:
        if on >= first_on:
            months.append(Month((on - first_on).days, on))
        on = (on + timedelta(32)).replace(day=1)
    return tuple(months)
