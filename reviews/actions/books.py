"""Set up a book: its size, its stage plans, its spreads, its dates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db import transaction

from reviews.actions._deed import Act
from reviews.actions._opening import open_passage, opened
from reviews.actions.clock import moment
from reviews.actions.presses import claim_press
from reviews.models import Book, Passage, Person, Seat, Spread, Stage, StagePlan
from reviews.models.stage_names import speak_of
from reviews.press import pages
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.refused import CannotPrint
from reviews.queries.terms import part_for, terms_on
from reviews.rules.contract.fixed_dates import fixed_on
from reviews.rules.contract.plans import (
    PlannedStage,
    check_plan,
    check_reach,
    due_dates_backward,
    due_dates_forward,
    latest_start,
)
from reviews.rules.payload_shapes import (
    LaidOut,
    MakeBookData,
    PassageMade,
    SpreadMade,
)
from reviews.rules.stage_names import checked_names
from reviews.rules.states import Deed, PassageState, Refused, Role, Side, StageKind


@dataclass(frozen=True, kw_only=True)
class NewBook:
    """What is asked when a book is set up."""

    title: str
    n_pages: int
    trim_width_mm: Decimal
    trim_height_mm: Decimal
    binding: BindingKind
    ends: EndsKind
    inside: Sequence[PlannedStage]
    cover: Sequence[PlannedStage]
    start_on: date
    final_on: date | None = None
    bleed_mm: Decimal = Decimal(3)
    publisher: str = ""
    places: Sequence[str] = field(default_factory=tuple)
    zone: str = "UTC"
    role: Role = Role.ART_DIRECTOR
    stage_names: Mapping[str, str] = field(default_factory=dict)


def make_book(new: NewBook, *, actor: Person) -> Book:
    """Set up a book with its spreads and passages; the maker takes the first seat.

    Raises Refused for page counts, plans or dates that cannot be.
    """
    for stages in (new.inside, new.cover):
        check_plan(stages)
    check_reach(new.start_on, new.final_on, today=moment().date())
    try:
        pieces = pages.lay_out(new.n_pages, new.binding, new.ends)
    except CannotPrint as problem:
        raise Refused(problem.code, **problem.values) from problem
    names = checked_names({StageKind(k): name for k, name in new.stage_names.items()}, {}, opened=())
    with transaction.atomic(durable=True):
        claim_press()
        book = Book.objects.create(
            **{name: getattr(new, name) for name in _COPIED},
            places=list(new.places),
            stage_names=names,
            created_at=moment(),
        )
        speak_of(book)
        seat = Seat.objects.create(book=book, person=actor, role=new.role, since=book.created_at)
        act = Act(book, Deed.MAKE_BOOK, seat)
        plans = {is_cover: _make_plan(book, is_cover, stages) for is_cover, stages in _both(new)}
        spreads = [
            _make_spread(book, piece, position, plans[piece.kind == pages.PieceKind.COVER])
            for position, piece in enumerate(pieces, start=1)
        ]
        planned = [row for spread in spreads for row in make_passages(spread, act)]
        act.holds(book, seat, *plans.values(), *spreads, *Stage.objects.filter(plan__book=book))
        act.record(MakeBookData(title=book.title, n_pages=book.n_pages, **laid_out(planned)))
    return book


_COPIED = (
    "title",
    "publisher",
    "n_pages",
    "trim_width_mm",
    "trim_height_mm",
    "bleed_mm",
    "binding",
    "ends",
    "start_on",
    "final_on",
    "zone",
)


def _both(new: NewBook) -> tuple[tuple[bool, Sequence[PlannedStage]], ...]:
    return (False, new.inside), (True, new.cover)


def _make_plan(book: Book, is_cover: bool, stages: Sequence[PlannedStage]) -> StagePlan:
    plan = StagePlan.objects.create(book=book, name="Cover" if is_cover else "Inside", covers=is_cover)
    Stage.objects.bulk_create(stage_row(plan, stage, position) for position, stage in enumerate(stages, start=1))
    return plan


def stage_row(plan: StagePlan, planned: PlannedStage, position: int) -> Stage:
    return Stage(
        plan=plan,
        position=position,
        kind=planned.kind,
        gate=planned.gate,
        hand_in_days=planned.hand_in_days,
        answer_days=planned.answer_days,
        rounds=planned.rounds,
        group=planned.group.strip(),
        two_voices=planned.two_voices,
    )


def _make_spread(book: Book, piece: pages.Piece, position: int, plan: StagePlan) -> Spread:
    return Spread.objects.create(
        book=book,
        plan=plan,
        position=position,
        kind=piece.kind,
        label=piece.label,
        first_page=piece.first_page,
        last_page=piece.last_page,
    )


def make_passages(spread: Spread, act: Act) -> list[Passage]:
    """Make the passages of a spread from its plan, dated, the first one open."""
    book = act.book
    stages = list(spread.plan.stages.order_by("position"))
    planned = [stage.as_planned() for stage in stages]
    calendars = [book.calendar_of(side, act.today) for side in Side]
    if book.final_on is None:
        dates = due_dates_forward(book.start_on, planned, *calendars)
    else:
        start = latest_start(book.final_on, planned, *calendars)
        if start < book.start_on:
            raise Refused("final-date-too-soon", start=start)
        dates = due_dates_backward(book.final_on, planned, *calendars)
    dates = fixed_or_planned(spread, stages, dates, act)
    passages = [
        Passage.objects.create(
            book=book, spread=spread, stage=stage, state=PassageState.CLOSED, planned_on=due_on, due_on=due_on
        )
        for stage, due_on in zip(stages, dates, strict=True)
    ]
    open_passage(passages[0], act.now)
    return passages


def fixed_or_planned(spread: Spread, stages: Sequence[Stage], planned: Sequence[date], act: Act) -> list[date]:
    """Let the dates that the terms fix take the place of planned ones (1 query)."""
    held, part = terms_on(act.book, act.now), part_for(spread)
    if held is None:
        return list(planned)
    fixed = (fixed_on(held, part, stage.kind, Side.ILLUSTRATOR) for stage in stages)
    return [day or on for day, on in zip(fixed, planned, strict=True)]


def laid_out(passages: Sequence[Passage]) -> LaidOut:
    """Tell the ledger which passages came into being."""
    spreads = {passage.spread_id: passage.spread for passage in passages}
    return LaidOut(
        start_on=passages[0].book.start_on.isoformat() if passages else None,
        spreads=[
            SpreadMade(spread=s.pk, position=s.position, pages=[s.first_page, s.last_page]) for s in spreads.values()
        ],
        passages=[
            PassageMade(
                passage=passage.pk,
                spread=passage.spread_id,
                stage=passage.stage.kind,
                gate=passage.stage.gate,
                position=passage.stage.position,
                due_on=passage.due_on.isoformat(),
            )
            for passage in passages
        ],
        **opened([passage for passage in passages if passage.state == PassageState.DRAWING]),
    )
