"""Change the page layout and the stage plan of a book that is under way."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import asdict
from typing import Any

from django.db.models import F

from reviews.actions._deed import Act, deed_on
from reviews.actions._opening import open_passage, opened
from reviews.actions._text_along import take_text_along
from reviews.actions.books import fixed_or_planned, laid_out, make_passages, stage_row
from reviews.models import HandIn, Passage, Seat, Spread, Stage, StagePlan
from reviews.press import pages
from reviews.press.refused import CannotPrint
from reviews.queries.terms import part_for, terms_on
from reviews.rules.contract.fixed_dates import fixed_on
from reviews.rules.contract.plans import PlannedStage, check_places, check_plan, due_dates_forward
from reviews.rules.payload_shapes import LayOutData, RestatedDate, StageWasNow
from reviews.rules.plan_payloads import ChangePlanData
from reviews.rules.states import Deed, PassageState, Refused, Role, Side, StageKind

# New positions are written beyond the old ones first: each position may stand only once at any moment.
_ASIDE = 1000


def split_spread(spread_id: int, *, actor: Seat) -> list[Spread]:
    """Make two single pages of an opening that nobody has begun to draw."""
    with deed_on(Spread, spread_id, Deed.LAY_OUT, actor) as act:
        old = _untouched(spread_id, act)
        try:
            left, right = pages.split(old.as_piece())
        except CannotPrint as problem:
            raise Refused(problem.code, **problem.values) from problem
        return _replace([old], [left, right], act)


def join_spreads(left_id: int, right_id: int, *, actor: Seat) -> list[Spread]:
    """Make one opening of two facing single pages that nobody has begun to draw."""
    with deed_on(Spread, left_id, Deed.LAY_OUT, actor) as act:
        left, right = _untouched(left_id, act), _untouched(right_id, act)
        try:
            joined = pages.join(
                left.as_piece(), right.as_piece(), act.book.n_pages, first_is_left=act.book.first_is_left
            )
        except CannotPrint as problem:
            raise Refused(problem.code, **problem.values) from problem
        return _replace([left, right], [joined], act)


def change_plan(plan_id: int, stages: Sequence[PlannedStage], *, actor: Seat) -> StagePlan:
    """Replace a plan's stages. Stages that have begun anywhere keep their place and their gate, and cannot go."""
    check_plan(stages)
    with deed_on(StagePlan, plan_id, Deed.CHANGE_PLAN, actor) as act:
        plan = StagePlan.objects.get(pk=plan_id, book=act.book)
        old = {stage.kind: stage for stage in plan.stages.all()}
        act.holds(*old.values())
        places = _places_now(plan, old, stages)
        closes = _take_out([stage for kind, stage in old.items() if kind not in {s.kind for s in stages}], act)
        gates = _new_gates(old, stages)
        before = {kind: stage.as_planned() for kind, stage in old.items()}
        changed: list[StageWasNow] = [
            {"was": _plain(before.get(planned.kind)), "now": asdict(planned)} for planned in stages
        ]
        _write_stages(plan, old, stages)
        restated = _keep_dates(plan, places, act) if places else []
        came, opens = _add_passages(plan, act)
        # What opened is told once for the whole book: among the new passages, and among those that were there.
        laid = laid_out(came) | opened(opens)
        payload = ChangePlanData(plan=plan.name, changed=changed, **laid, closes=closes, gates=gates)
        if places or {kind: stage.position for kind, stage in old.items()} != _positions(plan, old):
            positions = Passage.objects.filter(stage__plan=plan).values_list("pk", "stage__position")
            payload |= {"positions": {str(pk): position for pk, position in positions}}
        if places:
            payload |= {"restated": restated}
        # Whether the editor's voice counts must not change without the editor knowing.
        voices = any(p.kind in before and p.two_voices != before[p.kind].two_voices for p in stages)
        act.holds(*plan.stages.all())
        act.record(payload, also_tell=frozenset({Role.EDITOR}) if voices else frozenset())
    return plan


def _plain(planned: PlannedStage | None) -> dict[str, Any] | None:
    return None if planned is None else asdict(planned)


def _untouched(spread_id: int, act: Act) -> Spread:
    spread = Spread.objects.select_related("plan").filter(pk=spread_id, removed_at=None).first()
    if spread is None or spread.book_id != act.book.pk:
        raise Refused("spread-elsewhere")
    if HandIn.objects.filter(passage__spread=spread).exists():
        raise Refused("spread-begun", spread=spread.label)
    return spread


def _replace(old: Sequence[Spread], new: Sequence[pages.Piece], act: Act) -> list[Spread]:
    gone = [pk for spread in old for pk in spread.passages.values_list("pk", flat=True)]
    for spread in old:
        spread.removed_at = act.now
        spread.save(update_fields=["removed_at"])
    live = Spread.objects.filter(book=act.book, removed_at=None)
    shift, start = len(new) - len(old), old[0].position
    live.filter(position__gt=start).update(position=F("position") + _ASIDE)
    live.filter(position__gt=start).update(position=F("position") - _ASIDE + shift)
    made = [
        Spread.objects.create(
            book=act.book,
            plan=old[0].plan,
            position=start + offset,
            kind=piece.kind,
            label=piece.label,
            first_page=piece.first_page,
            last_page=piece.last_page,
        )
        for offset, piece in enumerate(new)
    ]
    passages = [passage for spread in made for passage in make_passages(spread, act)]
    act.holds(*old, *Spread.objects.filter(book=act.book, removed_at=None))
    act.record(
        LayOutData(
            were=[spread.label for spread in old],
            are=[piece.label for piece in new],
            **laid_out(passages),
            closes=gone,
            texts=take_text_along(old, made, act),
        )
    )
    return made


def _take_out(stages: Sequence[Stage], act: Act) -> list[int]:
    gone: list[int] = []
    for stage in stages:
        begun = HandIn.objects.filter(passage__stage=stage).select_related("passage__spread").first()
        if begun is not None:
            raise Refused("stage-begun", stage=stage.kind, spread=begun.passage.spread.label)
        passages = Passage.objects.filter(stage=stage)
        gone += passages.values_list("pk", flat=True)
        if passages.filter(entries__isnull=False).exists():
            # A moved date left its line in the ledger, which must keep pointing at something.
            raise Refused("stage-dated", stage=stage.kind)
        passages.delete()
        stage.delete()
    return gone


def _places_now(plan: StagePlan, old: dict[str, Stage], stages: Sequence[PlannedStage]) -> list[str]:
    """Give the stages of before in their new order, where it is another; none where it is not."""
    before = [StageKind(stage.kind) for stage in sorted(old.values(), key=lambda stage: stage.position)]
    after = [planned.kind for planned in stages]
    now = [kind for kind in after if kind in before]
    if now == [kind for kind in before if kind in after]:
        return []
    begun = Passage.objects.filter(stage__plan=plan).exclude(state=PassageState.CLOSED)
    check_places(before, after, set(begun.values_list("stage__kind", flat=True)))
    return list(now)


def _positions(plan: StagePlan, of: Collection[str]) -> dict[str, int]:
    return dict(plan.stages.filter(kind__in=of).values_list("kind", "position"))


def _keep_dates(plan: StagePlan, places: Sequence[str], act: Act) -> list[RestatedDate]:
    """Let each place in the order keep its date, for stages that have not opened: no stage is due before the one that
    comes first."""
    rows = Passage.objects.with_places().filter(stage__plan=plan, stage__kind__in=places, state=PassageState.CLOSED)
    if (agreed := rows.filter(entries__deed=Deed.MOVE_DUE_DATE).first()) is not None:
        raise Refused("stage-dated", stage=agreed.stage.kind)
    by_spread: dict[int, list[Passage]] = {}
    held = terms_on(act.book, act.now)
    for passage in rows.filter(spread__removed_at=None).order_by("stage__position"):
        # A date that the terms name is the stage's own, wherever it stands.
        if held is None or fixed_on(held, part_for(passage.spread), passage.stage.kind, Side.ILLUSTRATOR) is None:
            by_spread.setdefault(passage.spread_id, []).append(passage)
    told = []
    for row in by_spread.values():
        for passage, due_on in zip(row, sorted(one.due_on for one in row), strict=True):
            if passage.due_on == due_on:
                continue
            was_on, passage.due_on = passage.due_on, due_on
            passage.save(update_fields=["due_on"])
            told.append(
                RestatedDate(
                    where=passage.where,
                    passage=passage.pk,
                    which="hand-in",
                    was_on=was_on.isoformat(),
                    due_on=due_on.isoformat(),
                )
            )
    return told


def _new_gates(old: dict[str, Stage], stages: Sequence[PlannedStage]) -> dict[str, str]:
    """Name the new gate of every passage whose stage changes it.

    What was drawn for a stage that stays in the studio must not come into view by a stroke of the plan.
    """
    gates: dict[str, str] = {}
    for planned in stages:
        stage = old.get(planned.kind)
        if stage is None or stage.gate == planned.gate:
            continue
        if HandIn.objects.filter(passage__stage=stage).exists():
            raise Refused("gate-begun", stage=stage.kind)
        gates |= {str(pk): planned.gate for pk in Passage.objects.filter(stage=stage).values_list("pk", flat=True)}
    return gates


def _write_stages(plan: StagePlan, old: dict[str, Stage], stages: Sequence[PlannedStage]) -> None:
    for position, planned in enumerate(stages, start=1):
        row = stage_row(plan, planned, position)
        if planned.kind in old:
            row.pk = old[planned.kind].pk
        row.save()


def _add_passages(plan: StagePlan, act: Act) -> tuple[list[Passage], list[Passage]]:
    stages = list(plan.stages.order_by("position"))
    calendars = [act.book.calendar_of(side, act.today) for side in Side]
    dates = due_dates_forward(act.today, [stage.as_planned() for stage in stages], *calendars)
    came: list[Passage] = []
    opens: list[Passage] = []
    for spread in plan.spreads.filter(removed_at=None).order_by("position"):
        there = {passage.stage_id: passage for passage in spread.passages.select_related("book", "stage")}
        for stage, due_on in zip(stages, fixed_or_planned(spread, stages, dates, act), strict=True):
            if stage.pk not in there:
                there[stage.pk] = Passage.objects.create(
                    book=act.book,
                    spread=spread,
                    stage=stage,
                    state=PassageState.CLOSED,
                    planned_on=due_on,
                    due_on=due_on,
                )
                came.append(there[stage.pk])
        opens += open_first_waiting([there[stage.pk] for stage in stages], act)
    return came, opens


def open_first_waiting(row: Sequence[Passage], act: Act) -> list[Passage]:
    """Open the first stage that is not done, unless work is already going on somewhere in the row."""
    done = {PassageState.APPROVED, PassageState.PASSED}
    busy = {PassageState.DRAWING, PassageState.ANSWERING}
    if any(passage.state in busy for passage in row):
        return []
    last_done = max((i for i, passage in enumerate(row) if passage.state in done), default=-1)
    for passage in row[last_done + 1 :]:
        if passage.state == PassageState.CLOSED:
            open_passage(passage, act.now)
            return [passage]
    return []
