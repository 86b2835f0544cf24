"""Middleware: a press repeated after a lost answer gets that answer, and does nothing a second time.

Every posting form carries a key of its own beside its CSRF token (`templatetags/press.py`); scripts send theirs in a
header or a field (`static/js/posting.js`). A press is that key with the address and what was filled in: a form that is
sent again with other words, as after the browser's Back, is another press.
"""

from __future__ import annotations

import hashlib
import logging
import re
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect

from reviews.actions.presses import PressedBefore, Pressing, keep_answer, press_named
from reviews.queries.presses import answer_of
from reviews.views.responses import came_from, is_refused, wants_json

log = logging.getLogger(__name__)

FIELD, HEADER, CSRF_HEADER = "press", "X-Press", "X-CSRFToken"
#: A form whose words the browser keeps until it hears that they arrived (static/js/typed).
KEPT_HERE, ARRIVED_SECONDS = "kept_here", 600
PRESS_NAME = re.compile(r"[\w-]{8,64}")
UNFILLED = {FIELD, KEPT_HERE, "csrfmiddlewaretoken"}
MOST_BODY = 20_000
DONE_BEFORE = "This arrived the first time and is kept; it was not done twice."


class AnswerOnce:
    """Name the press of a request to the deeds in it, keep its answer, and give it again to the same press."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        pressing = _pressing_of(request)
        with press_named(pressing):
            response = self.get_response(request)
        if pressing is not None and pressing.did and response.status_code < 400:
            _keep(pressing, response)
        if pressing is not None and _has_arrived(request, pressing, response):
            _tell_arrived(request, response)
        return response

    def process_exception(self, request: HttpRequest, problem: Exception) -> HttpResponse | None:
        if not isinstance(problem, PressedBefore):
            return None
        kept = answer_of(_pressing_of(request))
        request.is_pressed_before = True  # type: ignore[attr-defined]  # ours, for this middleware alone
        if wants_json(request):
            if kept and kept.body:
                return HttpResponse(kept.body, content_type="application/json", status=kept.status)
            return JsonResponse({"sentence": DONE_BEFORE, "is_repeated": True})
        messages.info(request, DONE_BEFORE)
        return redirect(kept.location if kept and kept.location else came_from(request))


def _pressing_of(request: HttpRequest) -> Pressing | None:
    """Read which press this is; nothing where no form named one, or nobody is signed in.

    The CSRF check further out has read the form by now unless a header spared it that: then a header names the press
    too, and the body, which may be a picture of 500 MB, is left to the view.
    """
    if request.method != "POST" or not request.user.is_authenticated:
        return None
    named = request.headers.get(HEADER, "")
    if named:
        return Pressing(request.user.pk, _digest([named, request.path]))
    if CSRF_HEADER in request.headers:
        return None
    named = request.POST.get(FIELD, "")
    return Pressing(request.user.pk, _digest([named, request.path, *_filled_in(request)])) if named else None


def _has_arrived(request: HttpRequest, pressing: Pressing, response: HttpResponse) -> bool:
    """Say whether what was filled in is kept: its deed is done, or the view led on without a refusal."""
    if response.status_code >= 400:
        return False
    if pressing.did or getattr(request, "is_pressed_before", False):
        return True
    return 300 <= response.status_code < 400 and not is_refused(request)


def _tell_arrived(request: HttpRequest, response: HttpResponse) -> None:
    press = request.POST.get(FIELD, "") if request.POST.get(KEPT_HERE) else ""
    if PRESS_NAME.fullmatch(press):
        # Read and taken away by the next page's script, which then forgets the words; it is no secret.
        response.set_cookie(
            f"kept-{press}", "1", max_age=ARRIVED_SECONDS, samesite="Lax", secure=request.is_secure(), path="/"
        )


def _filled_in(request: HttpRequest) -> list[str]:
    fields: list[Any] = [(name, values) for name, values in sorted(request.POST.lists()) if name not in UNFILLED]
    files = [(name, [(one.name, one.size) for one in found]) for name, found in sorted(request.FILES.lists())]
    return [repr(fields), repr(files)]


def _digest(parts: list[str]) -> str:
    return hashlib.sha256("\0".join(parts).encode("utf-8", "surrogatepass")).hexdigest()


def _keep(pressing: Pressing, response: HttpResponse) -> None:
    is_json = response.headers.get("Content-Type", "").startswith("application/json") and not response.streaming
    body = response.content.decode() if is_json and len(response.content) <= MOST_BODY else ""
    try:
        keep_answer(pressing, status=response.status_code, location=response.headers.get("Location", ""), body=body)
    except DatabaseError as problem:
        # The deed holds, and so does its press: only its answer would be told in general words.
        log.warning("The answer to a press could not be kept: %s", problem)
