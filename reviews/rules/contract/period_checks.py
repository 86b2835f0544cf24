"""Refuse days and silences that nobody could keep or count by."""

from __future__ import annotations

from collections.abc import Sequence

from reviews.rules.contract.fees import check_days
from reviews.rules.contract.periods import StageDays, StageSilence
from reviews.rules.contract.plans import rank_of
from reviews.rules.states import Refused, StageKind


def check_periods(stages: Sequence[StageDays], silences: Sequence[StageSilence], silence: int | None) -> None:
    """Refuse the days of stages that cannot be kept; ``silence`` is the general one, in working days.

    Raises
    ------
    Refused
        with one of the codes of ``pages/wording/term_refusals.py``.
    """
    if not stages:
        raise Refused("terms-without-stages")
    if silence is not None:
        check_days(silence, "negative-days-silence")
    _check_fixed(stages)
    own = _silences(silences, {(line.part, line.stage) for line in stages})
    seen: set[tuple[str, str]] = set()
    for line in stages:
        stage = known_stage(line.stage)
        if (line.part, line.stage) in seen:
            raise Refused("terms-stage-twice", stage=stage)
        seen.add((line.part, line.stage))
        for days in (line.hand_in_days, line.redo_days):
            check_days(days or 0, "negative-days-hand-in", at_stage=stage)
        for days in (line.answer_days, line.second_look_days):
            check_days(days or 0, "negative-days-answer", at_stage=stage)
        _check_silence(line, own.get((line.part, line.stage)) or own.get(("", line.stage)), silence, stage)


def _check_fixed(stages: Sequence[StageDays]) -> None:
    """Refuse fixed dates that run backwards, within a stage and from one to a later one of the same spreads.

    Stages of one rank are told nothing of each other: which comes first is the book's own affair.
    """
    told = [
        (line.part, known_stage(line.stage), day) for line in stages for day in (line.hand_in_on, line.answer_on) if day
    ]
    for n, (part, stage, day) in enumerate(told):
        for m, (other, earlier, before) in enumerate(told):
            is_before = rank_of(earlier) < rank_of(stage) or (earlier == stage and m < n)
            if part == other and is_before and day < before:
                raise Refused("fixed-dates-backwards", day=day, at_stage=stage, start=before, stage=earlier)


def _check_silence(line: StageDays, own: StageSilence | None, general: int | None, stage: StageKind) -> None:
    silence = own or StageSilence(line.stage, general)
    # Working days and calendar days are not held against each other; silence never comes before the last day anyhow.
    if silence.days is not None and silence.unit == line.unit and silence.days < line.answer_days:
        raise Refused("silence-too-short", days=silence.days, answer_days=line.answer_days, stage=stage)


def _silences(silences: Sequence[StageSilence], named: set[tuple[str, str]]) -> dict[tuple[str, str], StageSilence]:
    found: dict[tuple[str, str], StageSilence] = {}
    for line in silences:
        stage, key = known_stage(line.stage), (line.part, line.stage)
        if key not in named and ("", line.stage) not in named:
            raise Refused("silence-without-days", stage=stage)
        if key in found:
            raise Refused("terms-stage-twice", stage=stage)
        check_days(line.days or 0, "negative-days-silence")
        found[key] = line
    return found


def known_stage(stage: str) -> StageKind:
    """Read a stage, or refuse one that does not exist."""
    try:
        return StageKind(stage)
    except ValueError as unknown:
        raise Refused("unknown-stage", stage=stage) from unknown
