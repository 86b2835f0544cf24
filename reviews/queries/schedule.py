"""The schedule of a book: one picture of all passages over time, and the same as rows of a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from reviews.queries.reckoning import Reckoning
from reviews.rules.due_dates import CannotMeet, Move
from reviews.rules.outlook import Outlook
from reviews.rules.schedule import Bar, Mark, Month, Row, Schedule, schedule
from reviews.rules.statement import PassageLine
from reviews.rules.states import STATE_WORDS, Role
from reviews.rules.terms import stage_words

#: Sizes in the picture's own units, which are CSS pixels at full size.
HEAD, ROW, BAR, NAMES = 46, 60, 15, 132
_BAR_AT, _MARK_AT, _LETTER = 18, 42, 6.6
#: Units for a day: the most at which the whole stretch stands on a laptop's screen, and never less than two.
_SCALES, _WIDEST = (14, 10, 8, 6, 5, 4, 3, 2), 1230


@dataclass(frozen=True)
class DrawnBar:
    """One turn as a rectangle; ``label`` stays empty where there is no room for the stage's name."""

    bar: Bar
    x: int
    y: int
    width: int
    label: str

    @property
    def late_y(self) -> int:
        return self.y + BAR - 1


@dataclass(frozen=True)
class DrawnMark:
    """One due date as a small square on its corner."""

    mark: Mark
    x: int
    y: int
    label: str

    @property
    def points(self) -> str:
        x, y, r = self.x, self.y, 5
        return f"{x},{y - r} {x + r},{y} {x},{y + r} {x - r},{y}"


@dataclass(frozen=True)
class DrawnMove:
    """A line from a planned date to the one that holds now."""

    x1: int
    x2: int
    y: int


@dataclass(frozen=True)
class DrawnBand:
    """Where a spread may end: a rectangle from the likely day to the safe one."""

    x: int
    y: int
    width: int
    words: str


@dataclass(frozen=True)
class DrawnRow:
    """One spread over time."""

    label: str
    y: int
    bars: tuple[DrawnBar, ...]
    marks: tuple[DrawnMark, ...]
    moves: tuple[DrawnMove, ...]
    band: DrawnBand | None

    @property
    def name_y(self) -> int:
        return self.y + 34

    @property
    def bottom(self) -> int:
        return self.y + ROW


@dataclass(frozen=True)
class Picture:
    """The whole schedule in whole units, so that a template has nothing to work out."""

    width: int
    height: int
    today_x: int
    final_x: int | None
    months: tuple[tuple[int, str], ...]
    rows: tuple[DrawnRow, ...]
    bar_height: int = BAR
    head: int = HEAD
    names_width: int = NAMES

    @property
    def final_label_left(self) -> bool:
        """Say whether the last date's label has to stand left of its line, at the picture's edge."""
        return self.final_x is not None and self.width - self.final_x < 120


@dataclass(frozen=True)
class TableLine:
    """One passage in the table: the same as its part of the picture, in words."""

    passage: int
    stage: str
    planned_on: date | None
    due_on: date | None
    moves: tuple[Move, ...]
    had: tuple[str, ...]
    late: int
    stands: str


@dataclass(frozen=True)
class TableSpread:
    """One spread's passages in the table."""

    label: str
    lines: tuple[TableLine, ...]
    band_words: str


@dataclass(frozen=True)
class SchedulePage:
    """What the schedule's page shows."""

    picture: Picture
    spreads: tuple[TableSpread, ...]
    cannot_meet: tuple[CannotMeet, ...]
    today: date
    first_on: date


def schedule_page(reckoned: Reckoning, role: Role, outlook: Outlook | None) -> SchedulePage:
    """Lay out the schedule as a role sees it (no query)."""
    drawn = reckoned.seen_by(role)
    laid = schedule(drawn, outlook, reckoned.target_on)
    return SchedulePage(
        _picture(laid), tuple(_spreads(laid, drawn.lines)), drawn.cannot_meet, reckoned.today, laid.first_on
    )


def _picture(laid: Schedule) -> Picture:
    scale = next((scale for scale in _SCALES if laid.n_days * scale <= _WIDEST), _SCALES[-1])
    return Picture(
        laid.n_days * scale,
        HEAD + ROW * len(laid.rows) + 8,
        laid.today_at * scale + scale,
        None if laid.final_at is None else laid.final_at * scale + scale,
        tuple((month.at * scale, _month_name(month, scale)) for month in laid.months),
        tuple(_row(row, HEAD + ROW * n, scale) for n, row in enumerate(laid.rows)),
    )


def _month_name(month: Month, scale: int) -> str:
    """Shorten a month's name where the whole one would run into the next."""
    name, _, year = month.words.partition(" ")
    return month.words if len(month.words) * _LETTER < 28 * scale else f"{name[:3]} {year}"


def _row(row: Row, y: int, scale: int) -> DrawnRow:
    now = {mark.stage: mark for mark in row.marks if not mark.is_planned}
    moves = tuple(
        DrawnMove(*sorted((_at(mark, scale), _at(now[mark.stage], scale))), y + _MARK_AT)
        for mark in row.marks
        if mark.is_planned and mark.stage in now
    )
    band = row.band
    return DrawnRow(
        row.label,
        y,
        tuple(_bars(row.bars, y, scale)),
        tuple(_marks(row.marks, y, scale)),
        moves,
        band and DrawnBand(band.start * scale, y + _BAR_AT, max(4, band.length * scale), f"{row.label}: {band.words}"),
    )


def _bars(bars: Sequence[Bar], y: int, scale: int) -> Iterator[DrawnBar]:
    """Draw the turns; a stage is named where it begins, if its name fits before the next stage's."""
    starts = [n for n, bar in enumerate(bars) if n == 0 or bar.stage != bars[n - 1].stage]
    for n, bar in enumerate(bars):
        label = ""
        if n in starts:
            following = next((bars[k].start for k in starts if k > n), None)
            words = stage_words(bar.stage)
            room = None if following is None else (following - bar.start) * scale
            label = words if room is None or room >= len(words) * _LETTER else ""
        yield DrawnBar(bar, bar.start * scale, y + _BAR_AT, max(2, bar.length * scale), label)


def _marks(marks: Sequence[Mark], y: int, scale: int) -> Iterator[DrawnMark]:
    """Draw the due dates; those to come name their stage underneath, where no bar does so yet."""
    last_of = {mark.stage: mark for mark in marks if not mark.is_met}
    named: dict[Mark, tuple[float, float]] = {}
    # A date that moved is the one to be read first, so it takes its room before the planned ones.
    for mark in sorted(last_of.values(), key=lambda mark: (mark.is_planned, mark.at)):
        half = len(stage_words(mark.stage)) * _LETTER / 2 + 2
        left, right = _at(mark, scale) - half, _at(mark, scale) + half
        if all(right <= taken_left or left >= taken_right for taken_left, taken_right in named.values()):
            named[mark] = (left, right)
    for mark in marks:
        yield DrawnMark(mark, _at(mark, scale), y + _MARK_AT, stage_words(mark.stage) if mark in named else "")


def _at(mark: Mark, scale: int) -> int:
    # A date is over at its end, where the bar of whoever kept it ends too.
    return mark.at * scale + scale


def _spreads(laid: Schedule, lines: Sequence[PassageLine]) -> Iterator[TableSpread]:
    for row in laid.rows:
        theirs = [line for line in lines if line.spread.spread == row.spread]
        had: dict[str, list[str]] = {}
        for bar in row.bars:
            had.setdefault(bar.stage, []).append(bar.words.partition(": ")[2])
        yield TableSpread(
            row.label,
            tuple(_table_line(line, tuple(had.get(line.stage, ()))) for line in theirs),
            row.band.words if row.band else "",
        )


def _table_line(line: PassageLine, had: tuple[str, ...]) -> TableLine:
    return TableLine(
        line.passage,
        stage_words(line.stage),
        line.due.planned_on,
        line.due.current_on,
        line.due.moves,
        had,
        line.due.late,
        STATE_WORDS[line.state],
    )
