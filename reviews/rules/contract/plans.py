"""Ready stage plans, and the dates that follow from them.

The three plans are common practice, a place to start from; every figure in them can be edited and
the signed contract decides.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.days import add_working_days, on_or_before
from reviews.rules.states import Gate, Refused, StageKind

#: No book is planned longer; a year with a slip of the finger in it mostly lies beyond.
MOST_YEARS = 20


@dataclass(frozen=True, kw_only=True)
class PlannedStage:
    """One step of a stage plan; days are working days, ``group`` names stages that share rounds."""

    kind: StageKind
    gate: Gate
    hand_in_days: int
    answer_days: int
    rounds: int
    group: str = ""
    two_voices: bool = False


@dataclass(frozen=True)
class ReadyPlan:
    code: str
    stages: tuple[PlannedStage, ...]


_ANSWERS, _SHOWN, _HIDDEN = Gate.ANSWERS, Gate.SHOWN, Gate.HIDDEN

READY_PLANS = {
    plan.code: plan
    for plan in (
        ReadyPlan(
            "two-looks",
            (
                PlannedStage(kind=StageKind.IDEAS, gate=_HIDDEN, hand_in_days=10, answer_days=0, rounds=0),
                PlannedStage(
                    kind=StageKind.SKETCH, gate=_ANSWERS, hand_in_days=20, answer_days=10, rounds=2, two_voices=True
                ),
                PlannedStage(kind=StageKind.LINE, gate=_HIDDEN, hand_in_days=10, answer_days=0, rounds=0),
                PlannedStage(kind=StageKind.COLOUR, gate=_ANSWERS, hand_in_days=30, answer_days=10, rounds=1),
            ),
        ),
        ReadyPlan(
            "every-stage",
            (
                PlannedStage(kind=StageKind.IDEAS, gate=_ANSWERS, hand_in_days=10, answer_days=5, rounds=1),
                PlannedStage(
                    kind=StageKind.SKETCH, gate=_ANSWERS, hand_in_days=15, answer_days=10, rounds=2, two_voices=True
                ),
                PlannedStage(
                    kind=StageKind.LINE, gate=_ANSWERS, hand_in_days=10, answer_days=5, rounds=1, group="line and ink"
                ),
                PlannedStage(
                    kind=StageKind.INK, gate=_SHOWN, hand_in_days=10, answer_days=0, rounds=1, group="line and ink"
                ),
                PlannedStage(kind=StageKind.COLOUR, gate=_ANSWERS, hand_in_days=20, answer_days=10, rounds=1),
                PlannedStage(kind=StageKind.PROOF, gate=_ANSWERS, hand_in_days=10, answer_days=10, rounds=1),
            ),
        ),
        ReadyPlan(
            "cover",
            (
                PlannedStage(kind=StageKind.IDEAS, gate=_ANSWERS, hand_in_days=10, answer_days=10, rounds=1),
                PlannedStage(
                    kind=StageKind.SKETCH, gate=_ANSWERS, hand_in_days=10, answer_days=10, rounds=2, two_voices=True
                ),
                PlannedStage(kind=StageKind.LINE, gate=_SHOWN, hand_in_days=10, answer_days=0, rounds=0),
                PlannedStage(kind=StageKind.COLOUR, gate=_ANSWERS, hand_in_days=15, answer_days=10, rounds=1),
                PlannedStage(kind=StageKind.FINISH, gate=_ANSWERS, hand_in_days=5, answer_days=5, rounds=1),
                PlannedStage(kind=StageKind.PROOF, gate=_ANSWERS, hand_in_days=10, answer_days=10, rounds=1),
            ),
        ),
    )
}


def check_plan(stages: Sequence[PlannedStage]) -> None:
    """Refuse a plan that nobody could follow.

    Raises
    ------
    Refused
        ``empty-plan``, ``stage-twice``, ``stage-order``, ``bad-days``, ``bad-rounds`` or ``nobody-answers``.
    """
    if not stages:
        raise Refused("empty-plan")
    kinds = [stage.kind for stage in stages]
    if len(set(kinds)) < len(kinds):
        raise Refused("stage-twice")
    _check_order(kinds)
    for stage in stages:
        if not 0 <= stage.hand_in_days <= 400 or not 0 <= stage.answer_days <= 400:
            raise Refused("bad-days")
        if not 0 <= stage.rounds <= 20:
            raise Refused("bad-rounds")
    if all(stage.gate != Gate.ANSWERS for stage in stages):
        raise Refused("nobody-answers")


#: What comes before what. Stages of one rank follow each other as the book says: colour before line, if it likes.
_RANKS = (
    {StageKind.IDEAS},
    {StageKind.SKETCH},
    {StageKind.FULL_SKETCH},
    {StageKind.LINE, StageKind.INK, StageKind.FLATS, StageKind.COLOUR, StageKind.FINISH},
    {StageKind.PROOF},
    {StageKind.GATHERED},
)


def rank_of(kind: StageKind) -> int:
    """Say how early a stage comes in any book; those of one rank come in the book's own order."""
    return next(n for n, rank in enumerate(_RANKS) if kind in rank)


def place_of(stage: str, position: int) -> tuple[int, int, int]:
    """Give a key by which the stages of a plan stand in order.

    Older entries do not tell how a stage that came in moved those after it, so the order of the trade comes before the
    position that was told, and settles where two were told the same.
    """
    kind = StageKind(stage)
    return rank_of(kind), position, list(StageKind).index(kind)


def _check_order(kinds: Sequence[StageKind]) -> None:
    """Refuse an order in which a stage comes before what it is made from.

    Versions are compared with the approved sketch, a finish is a plate for art that is there, a proof is printed
    from all of it, and F&Gs are of the run that the proof was for. What is drawn between sketch and proof is in the
    book's own order.
    """
    ranks = [rank_of(kind) for kind in kinds]
    drawn = [kind for kind in kinds if kind in _RANKS[3]]
    if ranks != sorted(ranks) or (len(drawn) > 1 and drawn[0] == StageKind.FINISH):
        raise Refused("stage-order")


def check_places(before: Sequence[StageKind], after: Sequence[StageKind], opened: Collection[str]) -> None:
    """Refuse another order of stages of which one has opened on any spread: what was opened keeps its place."""
    stays = [kind for kind in before if kind in after]
    now = [kind for kind in after if kind in before]
    for n, one in enumerate(stays):
        for other in stays[n + 1 :]:
            if (one in opened or other in opened) and now.index(one) > now.index(other):
                raise Refused("order-opened", stage=one if one in opened else other)


def check_reach(*days: date | None, today: date) -> None:
    """Refuse a day that only a slip of the finger can mean: the calendars end somewhere, and so does patience."""
    for on in days:
        if on is not None and abs(on.year - today.year) > MOST_YEARS:
            raise Refused("day-far-off", day=on, most=MOST_YEARS)


def due_dates_forward(
    start_on: date, stages: Sequence[PlannedStage], calendar: Calendar, answering: Calendar | None = None
) -> list[date]:
    """Give each stage its hand-in date, counting on from ``start_on`` through hand-in and answer days.

    ``answering`` is the publisher's calendar, where it is not the illustrator's.
    """
    dates, day = [], start_on
    for stage in stages:
        due_on = add_working_days(day, stage.hand_in_days, calendar)
        dates.append(due_on)
        day = add_working_days(due_on, _answer_days(stage), answering or calendar)
    return dates


def due_dates_backward(
    final_on: date, stages: Sequence[PlannedStage], calendar: Calendar, answering: Calendar | None = None
) -> list[date]:
    """Give each stage its hand-in date so that the last answer is there on ``final_on``."""
    dates: list[date] = []
    day = final_on
    for stage in reversed(stages):
        # A day on which the publisher may answer can be closed for the illustrator; the hand-in is due before it.
        due_on = on_or_before(add_working_days(day, -_answer_days(stage), answering or calendar), calendar)
        dates.append(due_on)
        day = add_working_days(due_on, -stage.hand_in_days, calendar)
    return dates[::-1]


def latest_start(
    final_on: date, stages: Sequence[PlannedStage], calendar: Calendar, answering: Calendar | None = None
) -> date:
    """Name the last day on which work can start if the plan is to end on ``final_on``."""
    first_on = due_dates_backward(final_on, stages, calendar, answering)[0]
    return add_working_days(first_on, -stages[0].hand_in_days, calendar)


def _answer_days(stage: PlannedStage) -> int:
    return stage.answer_days if stage.gate == Gate.ANSWERS else 0
