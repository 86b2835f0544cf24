"""A book's stage plans and page layout."""

from __future__ import annotations

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import layout, repagination, stage_names
from reviews.actions import passed_over as opening
from reviews.forms.filled import filled_in
from reviews.forms.plans import PassedOverForm, PlanForm
from reviews.forms.repagination import MoveForm
from reviews.forms.stage_names import ReadyNamesForm, StageNamesForm
from reviews.models import Book, Seat
from reviews.pages.page_changes import pages_part
from reviews.pages.passed_over import changed_words, passed_over_rows
from reviews.pages.plans import PlanRow, get_plan, get_spread, layout_of, plans_of
from reviews.pages.wording.refusals import sentence_for
from reviews.pages.wording.stage_names import READY_NAME_WORDS
from reviews.queries.access import get_book
from reviews.queries.page_changes import pages_of
from reviews.rules import permits
from reviews.rules.repagination import Moving
from reviews.rules.states import Deed, Refused, Role
from reviews.views.signed_in import SignedInRequest


@require_GET
def plan(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="plan")
    return render(request, "reviews/plans/plan.html", _page(book, seat))


@require_POST
def change_plan(request: SignedInRequest, plan_id: int) -> HttpResponse:
    plan, seat = get_plan(request.user, plan_id, deed=Deed.CHANGE_PLAN)
    form = PlanForm(request.POST)
    if form.is_valid():
        try:
            layout.change_plan(plan.pk, form.planned, actor=seat)
        except Refused as refused:
            form.error = sentence_for(refused)
        else:
            messages.success(request, changed_words(plan))
            return redirect("reviews:plan", plan.book_id)
    page = _page(plan.book, seat, wrong=(plan.pk, form))
    return render(request, "reviews/plans/plan.html", page, status=422)


@require_POST
def open_passed_over(request: SignedInRequest, plan_id: int) -> HttpResponse:
    """Open a stage on spreads that passed it over."""
    plan, seat = get_plan(request.user, plan_id, deed=Deed.CHANGE_PLAN)
    given = filled_in(PassedOverForm(request.POST), "not-passed-over")
    came = opening.open_passed_over(plan.pk, given["stage"], spreads=given["spread"], actor=seat)
    where = "; ".join(passage.where for passage in came)
    messages.success(request, f"Open now: {where}. Each has the stage’s own days from today.")
    return redirect("reviews:plan", plan.book_id)


@require_POST
def name_stages(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.NAME_STAGES)
    form = _names_form(book, plans_of(book), request.POST)
    ready = ReadyNamesForm(request.POST)
    if "ready" in request.POST and ready.is_valid():
        opened = stage_names.opened_stages(book)
        wanted = {stage: name for stage, name in ready.wanted.items() if stage not in opened}
    elif form.is_valid():
        wanted = form.wanted
    else:
        return render(request, "reviews/plans/plan.html", _page(book, seat, names=form), status=422)
    try:
        stage_names.name_stages(book.pk, wanted, actor=seat)
    except Refused as refused:
        form.is_valid()
        form.add_error(None, sentence_for(refused))
        return render(request, "reviews/plans/plan.html", _page(book, seat, names=form), status=422)
    messages.success(request, "The stages are named. Every screen, mail and paper of this book uses these names.")
    return redirect("reviews:plan", book.pk)


def _names_form(book: Book, plans: Sequence[PlanRow], data: QueryDict | None = None) -> StageNamesForm:
    used = frozenset(stage.kind for row in plans for stage in row.stages)
    opened = stage_names.opened_stages(book)
    return StageNamesForm(data, own=book.stage_names, used=used, opened=opened)


@require_POST
def move_spread(request: SignedInRequest, spread_id: int) -> HttpResponse:
    spread, seat = get_spread(request.user, spread_id, deed=Deed.MOVE_SPREADS)
    given = filled_in(MoveForm(request.POST), "move-unreadable")
    slots = repagination.move_spread(spread.pk, given["to"], Moving(given["moving"]), given["reason"], actor=seat)
    told = f"{spread.label} is now {slots[spread.pk].label}, with its art, notes and dates. Both sides are being told."
    messages.success(request, told)
    return redirect("reviews:plan", spread.book_id)


@require_POST
def split_spread(request: SignedInRequest, spread_id: int) -> HttpResponse:
    spread, seat = get_spread(request.user, spread_id, deed=Deed.LAY_OUT)
    left, right = layout.split_spread(spread.pk, actor=seat)
    # The opposite deed is offered as the way back.
    messages.success(
        request,
        f"{spread.label} became {left.label} and {right.label}.",
        extra_tags=reverse("reviews:join-spreads", args=[left.pk, right.pk]),
    )
    return redirect("reviews:plan", spread.book_id)


@require_POST
def join_spreads(request: SignedInRequest, left_id: int, right_id: int) -> HttpResponse:
    left, seat = get_spread(request.user, left_id, deed=Deed.LAY_OUT)
    right, _ = get_spread(request.user, right_id, deed=Deed.LAY_OUT)
    (joined,) = layout.join_spreads(left.pk, right.pk, actor=seat)
    messages.success(
        request,
        f"{left.label} and {right.label} became {joined.label}.",
        extra_tags=reverse("reviews:split-spread", args=[joined.pk]),
    )
    return redirect("reviews:plan", left.book_id)


def _page(
    book: Book, seat: Seat, wrong: tuple[int, PlanForm] | None = None, names: StageNamesForm | None = None
) -> dict:
    """Gather the page; ``wrong`` is a plan's form that must be shown again with what is wrong in it."""
    role, plans, pages = Role(seat.role), plans_of(book), pages_of(book)
    return {
        "book": book,
        "seat": seat,
        "plans": _plan_rows(plans, wrong, may_edit=permits.may(role, Deed.CHANGE_PLAN)),
        "passed_over": passed_over_rows(book),
        "names": names or _names_form(book, plans),
        "may_name": permits.may(role, Deed.NAME_STAGES),
        "ready_names": READY_NAME_WORDS.items(),
        "layout": layout_of(pages),
        "part": pages_part(pages, seat),
        "may_move": permits.may(role, Deed.MOVE_SPREADS),
        "may_lay_out": permits.may(role, Deed.LAY_OUT),
        "sees_terms": permits.sees(role, "terms"),
        "may_change_book": permits.may(role, Deed.CHANGE_BOOK),
        "crumbs": [
            {"label": book.title, "url": reverse("reviews:book-map", args=[book.pk])},
            {"label": "Stages and pages", "url": ""},
        ],
        "caution": True,
    }


def _plan_rows(plans: Sequence[PlanRow], wrong: tuple[int, PlanForm] | None, *, may_edit: bool) -> list[dict]:
    rows = []
    for row in plans:
        form = PlanForm(stages=row.stages, begun=row.begun) if may_edit else None
        if wrong and wrong[0] == row.plan.pk:
            form = wrong[1]
            form.mark_begun(row.begun)
        rows.append({"row": row, "form": form, "is_open": bool(wrong and wrong[0] == row.plan.pk)})
    return rows
