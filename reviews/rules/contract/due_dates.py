"""Due dates: planned, moved for reasons that are kept, and told in time.

A planned date comes from the stage plan. It moves when somebody moves it with a reason, when a letter asks
for changes, when the stage opens too late to keep it, and, if the terms say so, by each working day the
publisher was late.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import zip_longest
from typing import Any, Literal, NamedTuple

from reviews.rules.contract.days import (
    add_working_days,
)
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import TermsHistory
from reviews.rules.contract.timeline import (
    FIXED_BY_TERMS,
    MOVED_BY_LATENESS,
    OPENS,
    PAUSED,
    REORDERED,
    Event,
    PassageStory,
    Story,
)
from reviews.rules.contract.turn import Turn
from reviews.rules.contract.turn_dates import TurnDates
from reviews.rules.contract.turns import all_turns
from reviews.rules.states import Answer, Deed, Side

Why = Literal[
    "moved",
    "publisher-late",
    "changes-asked",
    "opened-late",
    "terms",
    "fixed",
    "freed",
    "paused",
    "brought-back",
    "reordered",
]


class _Cause(NamedTuple):
    """One thing that moves a date: ``to`` a day, or by that many working days of whoever makes it, by ``on``'s terms.

    ``to`` is None for a pause that moves what is not open yet.

    ``said`` is the reason somebody gave, or the stage at which the publisher was late; ``runs`` says that its last
    ledger line is still to come. ``by`` moved it, ``told`` is what the line says of whose proposal it was.
    """

    on: date
    seq: int
    why: Why
    to: date | int | None
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
        return self.runs, self.seq, self.why in ("opened-late", "brought-back")


#: Which of a passage's two dates somebody moves.
HAND_IN, ANSWER = "hand-in", "answer"


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


def due_dates_of(
    story: Story, receipts: Receipts, turns: Mapping[int, Sequence[Turn]], as_of: date
) -> dict[int, DueDate]:
    """Work out every passage's date and the reasons it moved."""
    lateness = _publisher_lateness(story, receipts.terms, turns)
    return {
        passage_story.passage: _due_date(passage_story, receipts, lateness, turns, as_of, story.terms_entries)
        for passage_story in story.everyone()
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
    for passage_story in story.everyone():
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
    """Tell where terms entered after a turn began give it another date; ``entered`` has the line of each version.

    A turn that goes on after a hand-in was taken back began with the one before it.
    """
    mine = [turn for turn in turns if turn.side == Side.ILLUSTRATOR]
    stands = moves[-1].to_on if moves else story.planned_on
    turn = mine[-1] if mine else None
    if turn is None or turn.due_on is None or stands is None or turn.due_on == stands:
        return []
    began = next((held for held in reversed(mine) if not held.resumes), turn)
    seq = entered.get(turn.version, 0)
    moved_since = not turn.is_open and any(move.seq > turn.entries[-1] for move in moves)
    if moved_since or seq <= began.entries[0]:
        return []
    return [Move(seq=seq, why="terms", from_on=stands, to_on=turn.due_on)]


def _first_that_came(turns: Sequence[Turn]) -> Turn | None:
    """Find the illustrator's turn that ended with a hand-in that stood: one taken back has not come."""
    mine = [turn for turn in turns if turn.side == Side.ILLUSTRATOR]
    for turn, after in zip_longest(mine, mine[1:]):
        if turn.is_given and not (after is not None and after.resumes):
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
    # What was being drawn already is moved by the late answer's own entry, for all to read; so is what opened while an
    # answer on a stage opened again was late already.
    opened = next((event.seq for event in story.events if event.deed == OPENS), None)
    for earlier, turn in late_turns:
        before = opened is None or (not turn.is_open and turn.entries[-1] <= opened)
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
    return _applied(story.planned_on, story.stage, causes, receipts)


_CAUSES = frozenset(
    {Deed.MOVE_DUE_DATE, Deed.SEND_LETTER, Deed.WITHDRAW_HAND_IN}
    | {MOVED_BY_LATENESS, OPENS, PAUSED, REORDERED, FIXED_BY_TERMS}
)


def _cause(event: Event, passage: int, receipts: Receipts) -> _Cause | None:
    data = event.data
    if event.deed not in _CAUSES:
        return None
    on = receipts.written_on(event)
    if event.deed == Deed.MOVE_DUE_DATE and data.get("which", "hand-in") == "hand-in":
        to, said = date.fromisoformat(data["to"]), str(data.get("reason", ""))
        return _Cause(on=on, seq=event.seq, why="moved", to=to, said=said, by=event.by, told=data)
    if event.deed == PAUSED and (data["was_closed"] or "hand_in_to" in data):
        moved_on = None if data["was_closed"] else date.fromisoformat(data["hand_in_to"])
        return _Cause(on=on, seq=event.seq, why="paused", to=moved_on, by=event.by)
    if event.deed == Deed.SEND_LETTER and data.get("answer") == Answer.ASK and data.get("due_on"):
        return _Cause(on=on, seq=event.seq, why="changes-asked", to=date.fromisoformat(data["due_on"]))
    if event.deed == FIXED_BY_TERMS and "hand_in_to" in data:
        why: Why = "freed" if data.get("is_freed") else "fixed"
        return _Cause(on=on, seq=event.seq, why=why, to=date.fromisoformat(data["hand_in_to"]))
    if event.deed == Deed.WITHDRAW_HAND_IN and "due_on" in data:
        return _Cause(on=on, seq=event.seq, why="brought-back", to=date.fromisoformat(data["due_on"]))
    if event.deed == MOVED_BY_LATENESS:
        to, late, stage = date.fromisoformat(data["due_on"]), data["late_by"], data["late_at"]
        return _Cause(on=on, seq=event.seq, why="publisher-late", to=to, said=stage, late=late)
    if event.deed == REORDERED:
        return _Cause(on=on, seq=event.seq, why="reordered", to=date.fromisoformat(data["hand_in_to"]))
    if event.deed == OPENS and str(passage) in data.get("dues", {}):
        # The ledger gives the date the stage had when it opened: the planned one, or its own days where that is later.
        due_on = date.fromisoformat(data["dues"][str(passage)])
        on = receipts.day(event, Side.ILLUSTRATOR)
        return _Cause(on=on, seq=event.seq, why="brought-back" if data.get("back") else "opened-late", to=due_on)
    return None


def _applied(planned_on: date, stage: str, causes: Sequence[_Cause], receipts: Receipts) -> list[Move]:
    """Apply what the story tells: what was sent after the cut-off moves dates at once, though it counts from later."""
    moves: list[Move] = []
    now = planned_on
    for on, seq, why, to, said, runs, late, by, told in causes:
        if to is None:
            to = TurnDates(receipts, Side.ILLUSTRATOR, receipts.terms.on(on), stage).moved(now, seq)
        elif isinstance(to, int):
            late = to
            held = receipts.terms.on(on)
            known = held if runs else receipts.known_at(held, seq)
            to = add_working_days(now, to, known.maker_calendar(stage))
        if to != now and not (why in ("opened-late", "brought-back") and to < now):
            at_stage, reason = (said, "") if why == "publisher-late" else ("", said)
            moves.append(
                Move(
                    seq=seq, why=why, from_on=now, to_on=to, reason=reason, stage=at_stage, late=late, on=on, by=by,
                    proposed_by=(told.get("proposed") or {}).get("by", ""),
                    is_one_sided=why == "moved" and "proposed" not in told,
                    forgives=bool(told.get("forgives")),
                )
            )  # fmt: skip
            now = to
    return moves
