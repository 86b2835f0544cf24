"""Stage plans and page layout: those that stand, and what a plan would come to before it does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Count, Q

from reviews.models import Book, HandIn, Person, Seat, Spread, Stage, StagePlan
from reviews.pages.wording.names import gate_words, stage_words
from reviews.press import pages
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.pages import Piece, PieceKind
from reviews.press.refused import CannotPrint
from reviews.queries.access import NotThere, get_book
from reviews.queries.page_changes import BookPages
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.plans import PlannedStage, due_dates_backward, due_dates_forward, latest_start
from reviews.rules.repagination import MOVABLE
from reviews.rules.states import Deed, Gate, Refused


@dataclass(frozen=True)
class PlanRow:
    """A plan with its stages; ``begun`` are the kinds of stage for which something was drawn."""

    plan: StagePlan
    stages: list[Stage]
    begun: frozenset[str]
    n_spreads: int


@dataclass(frozen=True, kw_only=True)
class LaidSpread:
    """A spread in the layout, and what may be done to its pages."""

    spread: Spread
    is_begun: bool
    may_split: bool
    join_with: Spread | None
    #: The places it can go to: those of its shape.
    places: list[Spread]
    #: The cover and the endpapers belong to the binding.
    may_drop: bool


@dataclass(frozen=True)
class DatedStage:
    name: str
    gate_words: str
    due_on: date
    answer_on: date | None
    rounds: int


@dataclass(frozen=True)
class Preview:
    """What a book would be laid out as, and when each stage would be due."""

    pieces: list[Piece]
    plans: list[tuple[str, list[DatedStage]]] = field(default_factory=list)


def plans_of(book: Book) -> list[PlanRow]:
    """List a book's stage plans, the inside first (2 queries)."""
    begun: dict[int, set[str]] = {}
    for plan_id, kind in (
        HandIn.objects.filter(passage__book=book)
        .order_by()
        .values_list("passage__stage__plan_id", "passage__stage__kind")
        .distinct()
    ):
        begun.setdefault(plan_id, set()).add(kind)
    rows: dict[int, PlanRow] = {}
    lying = Count("plan__spreads", filter=Q(plan__spreads__removed_at=None))
    stages = Stage.objects.filter(plan__book=book).select_related("plan").annotate(n_spreads=lying)
    for stage in stages.order_by("plan__covers", "plan_id", "position"):
        plan_begun = frozenset(begun.get(stage.plan_id, ()))
        blank = PlanRow(stage.plan, [], plan_begun, stage.n_spreads)
        rows.setdefault(stage.plan_id, blank).stages.append(stage)
    return list(rows.values())


def get_plan(person: Person, plan_id: int, *, deed: Deed) -> tuple[StagePlan, Seat]:
    """Fetch a stage plan for a deed (2 queries)."""
    plan = StagePlan.objects.filter(pk=plan_id).first()
    if plan is None:
        raise NotThere
    plan.book, seat = get_book(person, plan.book_id, deed=deed)
    return plan, seat


def get_spread(person: Person, spread_id: int, *, deed: Deed | None = None) -> tuple[Spread, Seat]:
    """Fetch a spread of the layout that stands, for a deed or for its print geometry (2 queries)."""
    spread = Spread.objects.filter(pk=spread_id, removed_at=None).first()
    if spread is None:
        raise NotThere
    spread.book, seat = get_book(person, spread.book_id, thing="geometry", deed=deed)
    return spread, seat


def layout_of(laid_out: BookPages) -> list[LaidSpread]:
    """List the spreads in page order and say which openings can be split or joined (1 query)."""
    book, spreads = laid_out.book, laid_out.live
    begun = set(
        HandIn.objects.filter(passage__book=book).order_by().values_list("passage__spread_id", flat=True).distinct()
    )
    laid = []
    for spread, after in zip(spreads, [*spreads[1:], None], strict=True):
        is_begun = spread.pk in begun
        may_join = after is not None and not is_begun and after.pk not in begun and _joins(spread, after, book)
        laid.append(
            LaidSpread(
                spread=spread,
                is_begun=is_begun,
                may_split=spread.kind == PieceKind.OPENING and not is_begun,
                join_with=after if may_join else None,
                places=_places(spread, spreads),
                may_drop=spread.kind in MOVABLE,
            )
        )
    return laid


def _places(spread: Spread, spreads: Sequence[Spread]) -> list[Spread]:
    if spread.kind not in MOVABLE:
        return []
    return [other for other in spreads if other.kind == spread.kind and other.pk != spread.pk]


def _joins(left: Spread, right: Spread, book: Book) -> bool:
    try:
        pages.join(left.as_piece(), right.as_piece(), book.n_pages, first_is_left=book.first_is_left)
    except CannotPrint:
        return False
    return True


def preview(
    *,
    n_pages: int,
    binding: BindingKind,
    ends: EndsKind,
    inside: Sequence[PlannedStage],
    cover: Sequence[PlannedStage],
    start_on: date,
    final_on: date | None,
    places: Sequence[str],
) -> Preview:
    """Show the spreads and dates that a new book would have; raises Refused where it cannot be (no query)."""
    try:
        pieces = pages.lay_out(n_pages, binding, ends)
    except CannotPrint as problem:
        raise Refused(problem.code, **problem.values) from problem
    dated = [
        (name, _dated(stages, start_on, final_on, places)) for name, stages in (("Inside", inside), ("Cover", cover))
    ]
    return Preview(pieces, dated)


def _dated(
    stages: Sequence[PlannedStage], start_on: date, final_on: date | None, places: Sequence[str]
) -> list[DatedStage]:
    calendar = working_calendar(places)
    if final_on is None:
        days = due_dates_forward(start_on, stages, calendar)
    else:
        start = latest_start(final_on, stages, calendar)
        if start < start_on:
            raise Refused("final-date-too-soon", start=start)
        days = due_dates_backward(final_on, stages, calendar)
    return [
        DatedStage(
            name=stage_words(stage.kind),
            gate_words=gate_words(stage.gate),
            due_on=day,
            answer_on=add_working_days(day, stage.answer_days, calendar) if stage.gate == Gate.ANSWERS else None,
            rounds=stage.rounds,
        )
        for stage, day in zip(stages, days, strict=True)
    ]
