"""How this Roughproof runs: the operator's page, and its few buttons."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.jobs import begin_all_again
from reviews.actions.standing import accept_clock
from reviews.notices.running import store_faults, store_line, wrong_lines
from reviews.queries.access import NotThere
from reviews.queries.running import running_now
from reviews.views.signed_in import SignedInRequest


def for_operators(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let in who runs the portal; to anybody else there is no such page."""

    @wraps(view)
    def guarded(request: SignedInRequest, *args: object, **kwargs: object) -> HttpResponse:
        if not request.user.runs_portal:
            raise NotThere
        return view(request, *args, **kwargs)

    return guarded


@require_GET
@never_cache
@for_operators
def running(request: HttpRequest) -> HttpResponse:
    now = running_now(timezone.now())
    context = {
        "running": now,
        "wrong": wrong_lines(now),
        "store_line": store_line(now.store),
        "store_faults": store_faults(now.store),
        "version": settings.VERSION,
        "is_house": settings.HOUSE,
        "crumbs": [{"label": "How it runs", "url": ""}],
    }
    return render(request, "reviews/running/running.html", context)


@require_POST
@for_operators
def all_again(request: HttpRequest) -> HttpResponse:
    n_begun = begin_all_again()
    told = f"{n_begun} piece{'' if n_begun == 1 else 's'} of work begun again." if n_begun else "Nothing was given up."
    messages.success(request, told)
    return redirect("reviews:running")


@require_POST
@for_operators
def clock_is_right(request: HttpRequest) -> HttpResponse:
    accept_clock()
    messages.success(request, "The clock is taken as right from now on; silence counts again.")
    return redirect("reviews:running")
