"""The schedule of a book: one picture of all passages over time, and the same as rows of a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from reviews.pages.schedule_drawing import ScheduleDrawing, picture_of
from reviews.pages.wording.names import stage_words, state_words
from reviews.pages.wording.outlook import OutlookPoint, chances, points, verdict_words
from reviews.pages.wording.schedule import band_words, had_words
from reviews.queries.reckoning import Reckoning
from reviews.rules.contract.due_dates import Move
from reviews.rules.contract.out_of_reach import CannotMeet
from reviews.rules.contract.statement import PassageLine
from reviews.rules.forecast.outlook_text import Told
from reviews.rules.schedule import Schedule, schedule_of
from reviews.rules.states import Role


@dataclass(frozen=True, kw_only=True)
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


@dataclass(frozen=True, kw_only=True)
class SchedulePage:
    """What the schedule's page shows; ``chances`` and ``points`` are the forecast's, if there is one."""

    picture: ScheduleDrawing
    spreads: tuple[TableSpread, ...]
    cannot_meet: tuple[CannotMeet, ...]
    today: date
    first_on: date
    final_name: str
    final_on: date | None
    chances: str
    points: tuple[OutlookPoint, ...]
    is_ahead: bool
    verdict: str


def schedule_page(reckoned: Reckoning, role: Role, told: Told | None) -> SchedulePage:
    """Lay out the schedule as a role sees it (no query)."""
    statement, outlook = reckoned.seen_by(role), told.outlook if told else None
    laid = schedule_of(statement, outlook, reckoned.target_on)
    ahead = outlook if outlook and outlook.spreads else None
    final_name = "contract date" if reckoned.book.final_on else "last day of the plan"
    return SchedulePage(
        picture=picture_of(laid),
        spreads=tuple(_spreads(laid, statement.lines)),
        cannot_meet=statement.cannot_meet,
        today=reckoned.today,
        first_on=laid.first_on,
        final_name=final_name,
        final_on=reckoned.target_on,
        chances=chances(ahead.chance) if ahead and ahead.has_cases and ahead.chance is not None else "",
        # What an agent or an illustrator takes away from here must not be an argument for one side alone.
        points=points(ahead, told.what_ifs, f"the {final_name}", both_sides=role in (Role.ILLUSTRATOR, Role.AGENT))
        if told and ahead
        else (),
        is_ahead=ahead is not None,
        verdict=verdict_words(ahead) if ahead else "",
    )


def _spreads(laid: Schedule, lines: Sequence[PassageLine]) -> Iterator[TableSpread]:
    for row in laid.rows:
        theirs = [line for line in lines if line.spread.spread == row.spread]
        had: dict[str, list[str]] = {}
        for bar in row.bars:
            had.setdefault(bar.stage, []).append(had_words(bar))
        yield TableSpread(
            row.label,
            tuple(_table_line(line, tuple(had.get(line.stage, ()))) for line in theirs),
            band_words(row.band) if row.band else "",
        )


def _table_line(line: PassageLine, had: tuple[str, ...]) -> TableLine:
    return TableLine(
        passage=line.passage,
        stage=stage_words(line.stage),
        planned_on=line.due.planned_on,
        due_on=line.due.current_on,
        moves=line.due.moves,
        had=had,
        late=line.due.late,
        stands=state_words(line.state),
    )
