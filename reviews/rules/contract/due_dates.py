"""Due dates: planned, moved for reasons that are kept, and told in time.

A planned date comes from the stage plan. It moves when somebody moves it with a reason, when a letter asks
for changes, when the stage opens too late to keep it, and, if the terms say so, by each working day the
publisher was late.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal, NamedTuple

from reviews.rules.contract.days import ONE_DAY, add_working_days, on_or_after, on_or_before, working_days_between
from reviews.rules.contract.periods import DayUnit
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.timeline import MOVED_BY_LATENESS, OPENS, Event, PassageStory, Story
from reviews.rules.contract.turn import Turn
from reviews.rules.contract.turns import all_turns
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Answer, Deed, Gate, PassageState, Refused, Side

Why = Literal["moved", "publisher-late", "changes-asked", "opened-late", "terms"]


class _Cause(NamedTuple):
    """One thing that moves a date: ``to`` a day, or by that many working days of the illustrator from ``on``'s terms.

    ``said`` is the reason somebody gave, or the stage at which the publisher was late; ``runs`` says that its last
    ledger line is still to come. ``by`` moved it, ``told`` is what the line says of whose proposal it was.
    """

    on: date
    seq: int
    why: Why
    to: date | int
    said: str = ""
    runs: bool = False
    late: int = 0
    by: str = ""
    told: Mapping[str, Any] = {}

    @property
    def order(self) -> tuple[bool, int, bool]:
        """Give its place in the ledger, never its deemed day: a date agreed after a weekend letter answers that letter.

        The date at the opening holds the late days before it already, so those of the same entry come first.
        """
        return self.runs, self.seq, self.why == "opened-late"


#: Which of a passage's two dates somebody moves.
HAND_IN, ANSWER = "hand-in", "answer"

#: No contract gives one spread longer, all its stages and answers together; our own bound, far beyond practice.
MOST_YEARS_A_SPREAD = 5

_DONE = (PassageState.APPROVED, PassageState.PASSED)


@dataclass(frozen=True, kw_only=True)
class Move:
    """One reason why a date is not the planned one any more; `seq` is the ledger line behind it.

    `reason` is what a person gave for it, `stage` and `late` where and by how many working days an answer was late.
    `by` moved it on the day `on`; `proposed_by` is who proposed it. `is_one_sided` says that nobody of the other side
    agreed, though it may have cost that side time: so it was before dates were agreed on. `forgives` says that the
    days late until then were forgiven with it.
    """

    seq: int
    why: Why
    from_on: date
    to_on: date
    reason: str = ""
    stage: str = ""
    late: int = 0
    on: date | None = None
    by: str = ""
    proposed_by: str = ""
    is_one_sided: bool = False
    forgives: bool = False


@dataclass(frozen=True, kw_only=True)
class DueDate:
    """When a passage is to be handed in: as planned, as it stands, and why that differs.

    `met_on` is the day as which the first hand-in counts that came, once it has; `late` its working days after the date
    that held, and those before another was agreed, known as soon as it is handed in; `forgiven` are those that the
    other side forgave then.
    """

    passage: int
    planned_on: date | None
    current_on: date | None
    answer_on: date | None
    moves: tuple[Move, ...]
    met_on: date | None
    late: int
    entries: tuple[int, ...]
    forgiven: int = 0


@dataclass(frozen=True, kw_only=True)
class CannotMeet:
    """A spread that can no longer be done by the final date, even if everybody keeps every day from now on.

    `since_on` is the first day on which that was so; where it was so when the turn that runs was given, that day, be it
    before work starts. Both sides are told on it.
    """

    spread: int
    label: str
    final_on: date
    earliest_on: date
    since_on: date
    waits_for: Side
    entries: tuple[int, ...] = ()


def due_dates_of(
    story: Story, receipts: Receipts, turns: Mapping[int, Sequence[Turn]], as_of: date
) -> dict[int, DueDate]:
    """Work out every passage's date and the reasons it moved."""
    lateness = _publisher_lateness(story, receipts.terms, turns)
    return {
        passage_story.passage: _due_date(passage_story, receipts, lateness, turns, as_of, story.terms_entries)
        for passage_story in story.in_order()
    }


def dates_after(story: Story, receipts: Receipts, ends_on: date) -> dict[int, date | None]:
    """Give every passage's date as it stands once the turns that run have ended on a day, late ones included."""
    found = due_dates_of(story, receipts, all_turns(story, receipts, ends_on), ends_on)
    return {passage: due.current_on for passage, due in found.items()}


def _publisher_lateness(
    story: Story, terms: TermsHistory, turns: Mapping[int, Sequence[Turn]]
) -> dict[int, list[tuple[PassageStory, Turn]]]:
    """Collect by spread the publisher's late turns that the terms let move dates, in the order they began."""
    found: dict[int, list[tuple[PassageStory, Turn]]] = {}
    for passage_story in story.in_order():
        for turn in turns[passage_story.passage]:
            moves = terms.numbered(turn.version).publisher_late_moves
            if turn.side == Side.PUBLISHER and turn.late and moves:
                found.setdefault(passage_story.spread.spread, []).append((passage_story, turn))
    for late in found.values():
        late.sort(key=lambda pair: (pair[1].from_on, pair[0].position))
    return found


def _due_date(
    story: PassageStory,
    receipts: Receipts,
    lateness: Mapping[int, Sequence[tuple[PassageStory, Turn]]],
    turns: Mapping[int, Sequence[Turn]],
    as_of: date,
    entered: Mapping[int, int],
) -> DueDate:
    mine = turns[story.passage]
    handed = _first_that_came(mine)
    moves = _moves(story, receipts, lateness.get(story.spread.spread, ()), handed, as_of)
    moves += _by_terms(story, mine, moves, entered)
    current = moves[-1].to_on if moves else story.planned_on
    answering = mine[-1] if mine and mine[-1].is_open and mine[-1].side == Side.PUBLISHER else None
    first = handed or next((turn for turn in reversed(mine) if turn.side == Side.ILLUSTRATOR), None)
    counts_on = handed.ends_on if handed else None
    return DueDate(
        passage=story.passage,
        planned_on=story.planned_on,
        current_on=current,
        answer_on=answering.due_on if answering else None,
        moves=tuple(moves),
        met_on=counts_on if counts_on and counts_on <= as_of else None,
        late=first.late if first else 0,
        forgiven=first.forgiven if first else 0,
        entries=tuple(sorted({story.laid_out_by, *(move.seq for move in moves), *(handed.entries if handed else ())})),
    )


def _by_terms(
    story: PassageStory, turns: Sequence[Turn], moves: Sequence[Move], entered: Mapping[int, int]
) -> list[Move]:
    """Tell where terms entered after a turn began give it another date; ``entered`` has the line of each version."""
    turn = turns[-1] if turns and turns[-1].is_open and turns[-1].side == Side.ILLUSTRATOR else None
    stands = moves[-1].to_on if moves else story.planned_on
    if turn is None or turn.due_on is None or stands is None or turn.due_on == stands:
        return []
    seq = entered.get(turn.version, 0)
    return [Move(seq=seq, why="terms", from_on=stands, to_on=turn.due_on)] if seq > turn.entries[0] else []


def _first_that_came(turns: Sequence[Turn]) -> Turn | None:
    """Find the illustrator's turn that ended with a hand-in that stood: one taken back has not come."""
    for turn, *later in (turns[n:] for n in range(len(turns))):
        if turn.side == Side.ILLUSTRATOR and not turn.is_open and not any(after.resumes for after in later[1:2]):
            return turn
    return None


def _moves(
    story: PassageStory,
    receipts: Receipts,
    late_turns: Sequence[tuple[PassageStory, Turn]],
    handed: Turn | None,
    as_of: date,
) -> list[Move]:
    if story.planned_on is None:
        return []
    causes = [cause for event in story.events if (cause := _cause(event, story.passage, receipts)) is not None]
    # What was being drawn already is moved by the late answer's own entry, for all to read.
    opened = story.events[0].seq if story.events else None
    for earlier, turn in late_turns:
        before = opened is None or turn.entries[0] < opened
        if earlier.position < story.position and before and (handed is None or turn.from_on <= handed.until_on):
            late = _Cause(
                on=turn.until_on,
                seq=turn.entries[-1],
                why="publisher-late",
                to=turn.late,
                said=earlier.stage,
                runs=turn.is_open,
            )
            causes.append(late)
    causes.sort(key=lambda cause: cause.order)
    return _applied(story.planned_on, causes, receipts.terms)


def _cause(event: Event, passage: int, receipts: Receipts) -> _Cause | None:
    data, on = event.data, receipts.written_on(event)
    if event.deed == Deed.MOVE_DUE_DATE and data.get("which", "hand-in") == "hand-in":
        to, said = date.fromisoformat(data["to"]), str(data.get("reason", ""))
        return _Cause(on=on, seq=event.seq, why="moved", to=to, said=said, by=event.by, told=data)
    if event.deed == Deed.SEND_LETTER and data.get("answer") == Answer.ASK and data.get("due_on"):
        return _Cause(on=on, seq=event.seq, why="changes-asked", to=date.fromisoformat(data["due_on"]))
    if event.deed == MOVED_BY_LATENESS:
        to, late, stage = date.fromisoformat(data["due_on"]), data["late_by"], data["late_at"]
        return _Cause(on=on, seq=event.seq, why="publisher-late", to=to, said=stage, late=late)
    if event.deed == OPENS and str(passage) in data.get("dues", {}):
        # The ledger gives the date the stage had when it opened: the planned one, or its own days where that is later.
        due_on = date.fromisoformat(data["dues"][str(passage)])
        on = receipts.day(event, Side.ILLUSTRATOR)
        return _Cause(on=on, seq=event.seq, why="opened-late", to=due_on)
    return None


def _applied(
    planned_on: date,
    causes: Sequence[_Cause],
    terms: TermsHistory,
) -> list[Move]:
    """Apply what the story tells: what was sent after the cut-off moves dates at once, though it counts from later."""
    moves: list[Move] = []
    now = planned_on
    for on, seq, why, to, said, _, late, by, told in causes:
        if isinstance(to, int):
            late = to
            to = add_working_days(now, to, terms.on(on).calendar_of(Side.ILLUSTRATOR))
        if to != now and not (why == "opened-late" and to < now):
            stage, reason = (said, "") if why == "publisher-late" else ("", said)
            moves.append(
                Move(
                    seq=seq, why=why, from_on=now, to_on=to, reason=reason, stage=stage, late=late, on=on, by=by,
                    proposed_by=(told.get("proposed") or {}).get("by", ""),
                    is_one_sided=why == "moved" and "proposed" not in told,
                    forgives=bool(told.get("forgives")),
                )
            )  # fmt: skip
            now = to
    return moves


def cannot_meet(
    story: Story,
    terms: Terms,
    turns: Mapping[int, Sequence[Turn]],
    final_on: date,
    today: date,
) -> list[CannotMeet]:
    """Name every spread that cannot be done by the final date any more, from the day on which that became
    so."""
    found = (_cannot(left, terms, turns[left[0].passage], final_on, today) for left in _left_to_do(story))
    return [told for told in found if told is not None]


def check_end(story: Story, terms: Terms, today: date) -> None:
    """Refuse terms by whose days a spread would end so late that only a slip of the finger can mean it.

    Terms that merely miss the book's last day are entered: they are what both sides signed, perhaps on a book that is
    late already, and what cannot be met is told to both on the same day. Only the version that is being entered is
    judged, so that one entered earlier can always be mended by the next.

    Raises
    ------
    Refused
        ``terms-end-far-off``
    """
    begins_on = max(today, terms.from_on)
    for left in _left_to_do(story):
        ends_on = _walked(
            begins_on, [step for passage_story in left for step in _steps_left(passage_story, terms, None)], terms
        )
        if ends_on.year - begins_on.year > MOST_YEARS_A_SPREAD:
            label, most = left[0].spread.label, MOST_YEARS_A_SPREAD
            raise Refused("terms-end-far-off", spread=label, begins_on=begins_on, ends_on=ends_on, most=most)


def _left_to_do(story: Story) -> Iterable[list[PassageStory]]:
    """Gather by spread the passages that are not done yet, in order."""
    spreads: dict[int, list[PassageStory]] = {}
    for passage_story in story.in_order():
        if passage_story.state not in _DONE:
            spreads.setdefault(passage_story.spread.spread, []).append(passage_story)
    return spreads.values()


class _Step(NamedTuple):
    """Days of a side that a spread still takes; negative ones lead back."""

    side: Side
    n_days: int
    unit: DayUnit = DayUnit.WORKING


def _cannot(
    left: Sequence[PassageStory], terms: Terms, own: Sequence[Turn], final_on: date, today: date
) -> CannotMeet | None:
    first = left[0]
    held = own[-1] if own and own[-1].is_open else None
    # What the printer makes, the publisher hands in.
    maker = Side.PUBLISHER if first.stage in PRINTERS_STAGES else Side.ILLUSTRATOR
    from_on, waits_for = (held.from_on, held.side) if held else (today, maker)
    calendar = terms.calendar_of(waits_for)
    allowed = (held.allowed or 0) if held else 0
    # Nobody can be hurried below the days the terms give; only the days of the turn that runs are partly
    # spent.
    rest = [step for story in left for step in _steps_left(story, terms, held if story is first else None)]
    spent = max(0, working_days_between(from_on, today, calendar))
    earliest = _walked(max(today, from_on), [_Step(waits_for, max(0, allowed - spent)), *rest], terms)
    # What arrives on a day on which the printer is closed arrives too late for it.
    printed_on = on_or_before(final_on, terms.printer_calendar) if terms.printer_calendar else final_on
    last_on = on_or_before(printed_on, terms.calendar_of(rest[-1].side if rest else waits_for))
    if earliest <= last_on:
        return None
    last_chance = _walked(last_on, [step._replace(n_days=-step.n_days) for step in reversed(rest)], terms)
    in_time_at_first = _walked(from_on, [_Step(waits_for, allowed), *rest], terms) <= last_on
    given_on = min(from_on, _given_on(first, held, terms)) if held else from_on
    since_on = on_or_after(last_chance + ONE_DAY, calendar) if in_time_at_first else given_on
    return CannotMeet(
        spread=first.spread.spread,
        label=first.spread.label,
        final_on=last_on,
        earliest_on=earliest,
        since_on=min(since_on, today),
        waits_for=waits_for,
        entries=tuple(sorted({story.laid_out_by for story in left} | set(held.entries if held else ()))),
    )


def _given_on(story: PassageStory, held: Turn, terms: Terms) -> date:
    """Name the day on which the turn that runs was given: a book may be laid out long before work starts."""
    began = next(event for event in story.events if event.seq == held.entries[0])
    return terms.day_rule.local_date(began.at)


def _walked(day: date, steps: Iterable[_Step], terms: Terms) -> date:
    """Step from a day through the days of each side, by its own calendar."""
    for side, n_days, unit in steps:
        calendar = terms.calendar_of(side)
        if n_days and unit == DayUnit.WORKING:
            day = add_working_days(day, n_days, calendar)
        elif n_days:
            reached = day + timedelta(n_days)
            day = on_or_after(reached, calendar) if n_days > 0 else on_or_before(reached, calendar)
    return day


def _steps_left(story: PassageStory, terms: Terms, held: Turn | None) -> list[_Step]:
    """List the days a passage still takes after the turn that runs, if one does."""
    line = terms.days_for(story.spread.part, story.stage)
    if line is None:
        return []
    is_again = any(event.data.get("answer") == Answer.ASK for event in story.events)
    n_days = line.days_for(Side.PUBLISHER, is_again=is_again) if story.gate == Gate.ANSWERS else 0
    answers = [_Step(Side.PUBLISHER, n_days, line.unit)]
    if held is None:
        return [_Step(Side.ILLUSTRATOR, line.hand_in_days, line.unit), *answers]
    return answers if held.side == Side.ILLUSTRATOR else []
