"""The schedule as one picture: shares of its width across, whole CSS pixels down.

The picture is as wide as the page. Bars and marks stretch with it, words do not: which of them are shown is worked out
for three widths, and the style sheet shows the set for the room there is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from reviews.pages.wording.names import stage_words
from reviews.pages.wording.pauses import pause_words
from reviews.pages.wording.schedule import band_words, both_days, now_words
from reviews.rules.schedule import Bar, DateMark, Month, Row, Schedule
from reviews.rules.schedule_labels import LETTER_PX, Label, LabelLine, Wanted

#: Sizes in CSS pixels.
HEAD, ROW, BAR, NAMES = 56, 60, 15, 132
_BAR_AT, _MARK_AT, _ABOVE, _BELOW = 18, 42, 13, 57
#: The narrowest picture, without the column of names, for each set of words; schedule.css has the same figures.
#: On a phone only the first words of a row are shown.
WIDE_PX, NARROW_PX, PHONE_PX = 1060.0, 620.0, 280.0


@dataclass(frozen=True, kw_only=True)
class Word:
    """Words in the picture; ``is_roomy`` are shown in a wide one only."""

    words: str
    x: str
    dx: int
    y: int
    anchor: str
    is_roomy: bool


@dataclass(frozen=True, kw_only=True)
class DrawnBar:
    """One turn as a rectangle, and the part of it that was late."""

    bar: Bar
    x: str
    y: int
    width: str
    late_x: str
    late_width: str

    @property
    def late_y(self) -> int:
        return self.y + BAR - 1


@dataclass(frozen=True)
class DrawnMark:
    """One due date as a small square on its corner."""

    mark: DateMark
    x: str
    y: int


@dataclass(frozen=True)
class DrawnMove:
    """A line from a planned date to the one that holds now."""

    x1: str
    x2: str
    y: int


@dataclass(frozen=True)
class DrawnBand:
    """Where something may end: a rectangle from the likely day to the safe one."""

    x: str
    y: int
    width: str
    words: str
    short_words: str


@dataclass(frozen=True, kw_only=True)
class DrawnRow:
    """One spread over time, or the whole book."""

    label: str
    y: int
    bars: tuple[DrawnBar, ...]
    marks: tuple[DrawnMark, ...]
    moves: tuple[DrawnMove, ...]
    band: DrawnBand | None
    words: tuple[Word, ...]
    now_words: str

    @property
    def name_y(self) -> int:
        return self.y + 34

    @property
    def above_y(self) -> int:
        return self.y + _ABOVE

    @property
    def below_y(self) -> int:
        return self.y + _BELOW


@dataclass(frozen=True)
class DrawnLine:
    """A day as an upright line; its name stands on the side where there is room."""

    x: str
    dx: int
    anchor: str


@dataclass(frozen=True)
class Months:
    """The scale for one width: (where, words)."""

    kind: str
    names: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class DrawnRest:
    """A pause as an upright stripe behind all rows, with its words."""

    x: str
    width: str
    words: str


@dataclass(frozen=True, kw_only=True)
class ScheduleDrawing:
    """The whole schedule, so that a template has nothing to work out."""

    height: int
    today: DrawnLine
    final: DrawnLine | None
    month_lines: tuple[str, ...]
    months: tuple[Months, ...]
    rows: tuple[DrawnRow, ...]
    rests: tuple[DrawnRest, ...] = ()
    bar_height: int = BAR
    names_width: int = NAMES


def picture_of(laid: Schedule) -> ScheduleDrawing:
    """Draw a schedule."""
    lines_at = [(at + 1) / laid.n_days for at in (laid.today_at, laid.final_at) if at is not None]
    rows = (
        (Row(spread=0, label=_("The whole book"), bars=(), marks=(), band=laid.whole, now=None), *laid.rows)
        if laid.whole
        else laid.rows
    )
    drawn = tuple(_row(row, HEAD + ROW * n, laid.n_days, lines_at) for n, row in enumerate(rows))
    return ScheduleDrawing(
        height=HEAD + ROW * len(rows) + 8,
        today=_today(lines_at),
        final=_final(lines_at[1]) if len(lines_at) > 1 else None,
        month_lines=tuple(_share(month.at / laid.n_days) for month in laid.months),
        months=tuple(_months(laid.months, laid.n_days, *kind) for kind in _KINDS),
        rows=drawn,
        rests=tuple(
            DrawnRest(
                _share(rest.start / laid.n_days),
                _share(rest.length / laid.n_days),
                _("Paused {words}").format(words=pause_words(rest.pause)),
            )
            for rest in laid.rests
        ),
    )


_KINDS = (("wide", WIDE_PX), ("narrow", NARROW_PX), ("phone", PHONE_PX))


def _months(months: Sequence[Month], n_days: int, kind: str, width_px: float) -> Months:
    """Name the months in full, or else shortly, or else only every second, third, … of them."""
    spelled = [(date_format(month.on, "F Y"), date_format(month.on, "M Y")) for month in months]
    each_px = 28 * width_px / n_days
    is_full = all(len(full) * LETTER_PX < each_px for full, _ in spelled)
    step = 1 if is_full else max(1, -(-int(8 * LETTER_PX + 6) // max(1, int(each_px))))
    names = (
        (_share(month.at / n_days), full if is_full else short)
        for month, (full, short) in list(zip(months, spelled, strict=True))[::step]
        # One letter more than it has: words of wide letters ran a pixel out of the picture.
        if month.at / n_days * width_px + (1 + len(full if is_full else short)) * LETTER_PX < width_px
    )
    return Months(kind, tuple(names))


def _today(lines_at: Sequence[float]) -> DrawnLine:
    today, final = lines_at[0], lines_at[1] if len(lines_at) > 1 else None
    to_the_left = today > 0.5 if final is None else final > today
    if today * PHONE_PX < 40:
        to_the_left = False
    if (1 - today) * PHONE_PX < 40:
        to_the_left = True
    return _line(today, to_the_left)


def _final(final: float) -> DrawnLine:
    return _line(final, final > 0.5)


def _line(at: float, to_the_left: bool) -> DrawnLine:
    return DrawnLine(_share(at), -5 if to_the_left else 5, "end" if to_the_left else "start")


def _move(planned: float, now: float, y: int) -> DrawnMove:
    return DrawnMove(_share(min(planned, now)), _share(max(planned, now)), y)


def _row(row: Row, y: int, n_days: int, lines_at: Sequence[float]) -> DrawnRow:
    now = {mark.stage: mark for mark in row.marks if not mark.is_planned}
    moves = tuple(
        _move(_at(mark, n_days), _at(now[mark.stage], n_days), y + _MARK_AT)
        for mark in row.marks
        if mark.is_planned and mark.stage in now
    )
    return DrawnRow(
        label=row.label,
        y=y,
        bars=tuple(_bar(bar, y, n_days) for bar in row.bars),
        marks=tuple(DrawnMark(mark, _share(_at(mark, n_days)), y + _MARK_AT) for mark in row.marks),
        moves=moves,
        band=_band(row, y, n_days) if row.band else None,
        words=(
            *_words(_stages(row.bars, n_days), y + _ABOVE, lines_at),
            *_words(_days(row, n_days), y + _BELOW, lines_at),
        ),
        now_words=now_words(row.now) if row.spread else "",
    )


def _bar(bar: Bar, y: int, n_days: int) -> DrawnBar:
    late_from = bar.start + bar.length - bar.late_length
    return DrawnBar(
        bar=bar,
        x=_share(bar.start / n_days),
        y=y + _BAR_AT,
        width=_share(bar.length / n_days),
        late_x=_share(late_from / n_days),
        late_width=_share(bar.late_length / n_days) if bar.late_length else "",
    )


def _band(row: Row, y: int, n_days: int) -> DrawnBand:
    band = row.band
    assert band is not None
    return DrawnBand(
        _share(band.start / n_days),
        y + _BAR_AT,
        _share(band.length / n_days),
        f"{row.label}: {band_words(band)}",
        both_days(band),
    )


def _words(wanted: Sequence[Wanted], y: int, lines_at: Sequence[float]) -> Iterator[Word]:
    """Place words for a narrow picture, then those that a wide one has room for beside them."""
    narrow = LabelLine(NARROW_PX, lines_at).place(wanted)
    wide = LabelLine(WIDE_PX, lines_at)
    for label in narrow:
        wide.take(label)
    placed = {label.key for label in narrow}
    for label in narrow:
        yield _word(label, y, is_roomy=False)
    for label in wide.place(one for one in wanted if one.key not in placed):
        yield _word(label, y, is_roomy=True)


def _word(label: Label, y: int, *, is_roomy: bool) -> Word:
    return Word(words=label.words, x=_share(label.at), dx=label.shift_px, y=y, anchor=label.anchor, is_roomy=is_roomy)


def _stages(bars: Sequence[Bar], n_days: int) -> list[Wanted]:
    """Name each stage where its first bar begins, as far as the next stage's."""
    starts = [bar for n, bar in enumerate(bars) if n == 0 or bar.stage != bars[n - 1].stage]
    ends = [*(bar.start for bar in starts), n_days][1:]
    return [
        Wanted(
            key=f"{n} {bar.stage}",
            words=stage_words(bar.stage),
            at=bar.start / n_days,
            anchor="start",
            until=end / n_days,
        )
        for n, (bar, end) in enumerate(zip(starts, ends, strict=True))
    ]


def _days(row: Row, n_days: int) -> list[Wanted]:
    """Name what is due and not done, and the days of the band; a date that moved comes before the planned ones."""
    band = row.band
    middle = (band.start + band.length / 2) / n_days if band else 0
    ends = [Wanted(key="band", words=both_days(band), at=middle, anchor="middle", is_loose=True)] if band else []
    last_of = {mark.stage: mark for mark in row.marks if not mark.is_met}
    due = sorted(last_of.values(), key=lambda mark: (mark.is_planned, mark.at))
    return [
        *ends,
        *(Wanted(key=mark.stage, words=stage_words(mark.stage), at=_at(mark, n_days), anchor="middle") for mark in due),
    ]


def _at(mark: DateMark, n_days: int) -> float:
    # A date is over at its end, where the bar of whoever kept it ends too.
    return (mark.at + 1) / n_days


def _share(share: float) -> str:
    """Write a share of the width as SVG reads it."""
    return f"{share * 100:.3f}%"
