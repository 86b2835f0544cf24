"""The statement: the account of rounds, days, dates and money of a book on one day.

Every figure names the ledger entries that made it, so that anybody can count again. The statement of a
past day is
worked out from the entries up to that day and the terms that held then, and never changes afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from reviews.rules.contract.distinct_days import DistinctDays, count_dates
from reviews.rules.contract.due_dates import DueDate, due_dates_of
from reviews.rules.contract.final_date import final_on_at
from reviews.rules.contract.money import MoneyAccount, account
from reviews.rules.contract.out_of_reach import CannotMeet, cannot_meet
from reviews.rules.contract.pauses import Pause, in_force
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds import RoundCounts, RoundSum, count_under
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.timeline import PassageStory, SpreadFacts, tell
from reviews.rules.contract.turn import Turn
from reviews.rules.contract.turn_sums import DaySum, PersonDays, add_sums, add_up, by_person
from reviews.rules.contract.turns import all_turns
from reviews.rules.entries import Entry
from reviews.rules.states import PassageState


@dataclass(frozen=True, kw_only=True)
class PassageLine:
    """Everything the statement says about one passage; ``dropped_at`` where its spread is out of the book."""

    passage: int
    spread: SpreadFacts
    stage: str
    state: PassageState
    rounds: RoundSum
    days: DaySum
    due: DueDate
    turns: tuple[Turn, ...]
    dropped_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Statement:
    """The account of a book at the end of one day.

    ``lines`` are the passages of the book, ``dropped`` those of dropped spreads: nothing is due of them any more, and
    what was used on them is in every sum.
    """

    as_of: date
    terms: Terms
    versions: tuple[Terms, ...]
    n_entries: int
    last_seq: int
    lines: tuple[PassageLine, ...]
    rounds: RoundCounts
    days_by_stage: Mapping[str, DaySum]
    days_by_person: Mapping[tuple[str, str], PersonDays]
    days: DaySum
    distinct: DistinctDays
    money: MoneyAccount
    cannot_meet: tuple[CannotMeet, ...]
    pauses: tuple[Pause, ...] = ()
    dropped: tuple[PassageLine, ...] = ()

    @property
    def every_line(self) -> tuple[PassageLine, ...]:
        """List the lines behind the sums."""
        return (*self.lines, *self.dropped)

    @property
    def pause_now(self) -> Pause | None:
        """Find the pause in which the day of the account falls."""
        return next((pause for pause in self.pauses if pause.first <= self.as_of <= pause.last), None)


def draw_up(
    entries: Iterable[Entry],
    terms: TermsHistory,
    as_of: date,
    spreads: Mapping[int, SpreadFacts] | None = None,
    *,
    final_on: date | None = None,
) -> Statement:
    """Draw up the account of a book at the end of a day, in the time zone of its terms."""
    known = terms.known_on(as_of)
    entries = list(entries)
    ends = known.on(as_of).day_rule.end_of(as_of)
    story = tell(entries, spreads, until=ends)
    final_on = final_on_at(entries, final_on, ends)
    receipts = Receipts(known, story.told_by, story.pauses)
    now = receipts.counted(known.on(as_of))
    turns = all_turns(story, receipts, as_of)
    rounds = count_under(story, receipts, as_of)
    due = due_dates_of(story, receipts, turns, as_of)
    lines, dropped = (_lines(some, rounds, turns, due) for some in (story.in_order(), story.dropped()))
    by_stage = _by_stage((*lines, *dropped))
    told = [turn for line in (*lines, *dropped) for turn in line.turns]
    return Statement(
        as_of=as_of,
        terms=now,
        versions=known.versions,
        n_entries=story.n_entries,
        last_seq=story.last_seq,
        lines=lines,
        dropped=dropped,
        rounds=rounds,
        days_by_stage=by_stage,
        days_by_person=by_person(told),
        days=add_sums(by_stage.values()),
        distinct=count_dates(told, receipts.terms),
        pauses=in_force(story.pauses),
        # Money is paid while the work rests: a pause puts off no payment.
        money=account(story, known, turns, rounds.rounds, as_of),
        cannot_meet=tuple(cannot_meet(story, now, turns, final_on, as_of)) if final_on else (),
    )


def _lines(
    stories: Sequence[PassageStory],
    rounds: RoundCounts,
    turns: Mapping[int, Sequence[Turn]],
    due: Mapping[int, DueDate],
) -> tuple[PassageLine, ...]:
    return tuple(
        PassageLine(
            passage=passage_story.passage,
            spread=passage_story.spread,
            stage=passage_story.stage,
            state=passage_story.state,
            rounds=rounds.passages[passage_story.passage],
            days=add_up(turns[passage_story.passage]),
            due=due[passage_story.passage],
            turns=tuple(turns[passage_story.passage]),
            dropped_at=_dropped_at(passage_story),
        )
        for passage_story in stories
    )


def _dropped_at(passage_story: PassageStory) -> datetime | None:
    return passage_story.away[-1][0] if passage_story.is_dropped else None


def _by_stage(lines: Sequence[PassageLine]) -> dict[str, DaySum]:
    stages: dict[str, list[DaySum]] = {}
    for line in lines:
        stages.setdefault(line.stage, []).append(line.days)
    return {stage: add_sums(theirs) for stage, theirs in stages.items()}
