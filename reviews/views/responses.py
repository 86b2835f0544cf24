"""Every refusal becomes a sentence: on a page, or in JSON where a script asked."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme

from reviews.pages.wording.refusals import REFUSALS, sentence_for
from reviews.queries.access import NotAllowed, NotThere
from reviews.rules.states import Refused

log = logging.getLogger(__name__)

#: The largest number a row can have, in SQLite and PostgreSQL alike.
LARGEST_NUMBER = 2**63 - 1
NOT_THERE = "Nothing was found at this address. It may be wrong, or your seat on that book may have ended."


class SayWhy:
    """Middleware: turn refusals that views let through into answers people can use.

    A stranger gets 404 (nothing leaks), a member without the right 403, a rule that says no 409 for
    scripts and a message on the page they came from for people.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: object, args: object, kwargs: dict) -> HttpResponse | None:
        # No row has such a number, and the databases refuse to be asked for it with an error.
        if any(isinstance(value, int) and value > LARGEST_NUMBER for value in kwargs.values()):
            return answer(request, NOT_THERE, status=404)
        return None

    def process_exception(self, request: HttpRequest, problem: Exception) -> HttpResponse | None:
        if isinstance(problem, NotThere | NotAllowed | Refused):
            log_refusal(request, problem)
        if isinstance(problem, NotThere):
            return answer(request, NOT_THERE, status=404)
        if isinstance(problem, NotAllowed):
            return answer(request, str(REFUSALS["not-yours"]), status=403)
        if isinstance(problem, Refused):
            status = 403 if problem.code == "not-yours" else 409
            if wants_json(request):
                # Of two tabs the second is shown what the first one wrote, and by which mark to write over it.
                now = {name: problem.values[name] for name in ("said", "seen") if name in problem.values}
                return JsonResponse({"sentence": sentence_for(problem), **now}, status=status)
            if request.method != "POST" and "dropped" in problem.values:
                return redirect("reviews:dropped-spread", problem.values["dropped"])
            if request.method != "POST":
                return answer(request, sentence_for(problem), status=status)
            if status == 403:
                return answer(request, sentence_for(problem), status=status)
            if "seen" in problem.values and "X-In-Place" not in request.headers:
                return both_versions(request, problem)
            say_refused(request, sentence_for(problem))
            return redirect(came_from(request))
        return None


class KeptNowhere:
    """Middleware: pages of books are kept by no cache and no browser, unless a view says what may be kept.

    Else the back button of a shared machine shows a letter after its reader signed out.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response


def log_refusal(request: HttpRequest, problem: object) -> None:
    """Write who was refused what into the log: never the address itself, which may hold the secret of a link."""
    match = request.resolver_match
    numbers = {word: value for word, value in match.kwargs.items() if isinstance(value, int)} if match else {}
    log.warning(
        "Refused: %s %s %s to person %s from %s (%s).", request.method, match.url_name if match else "nowhere", numbers,
        getattr(request.user, "pk", None) if hasattr(request, "user") else None, request.META.get("REMOTE_ADDR", ""),
        getattr(problem, "code", "") or type(problem).__name__,
    )  # fmt: skip


def not_our_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form that came without the proof that our page made it."""
    log_refusal(request, Refused("not-our-form"))
    return render(request, "403_csrf.html", status=403)


def say_refused(request: HttpRequest, sentence: str) -> None:
    """Say on the next page why nothing was kept; what was filled in has not arrived then (views/pressed.py)."""
    request.was_refused = True  # type: ignore[attr-defined]  # ours, for the way out through the middleware
    messages.error(request, sentence)


def is_refused(request: HttpRequest) -> bool:
    """Say whether this request was refused in a sentence on the next page."""
    return getattr(request, "was_refused", False)


def wants_json(request: HttpRequest) -> bool:
    return "application/json" in request.headers.get("Accept", "")


def answer(request: HttpRequest, sentence: str, *, status: int) -> HttpResponse:
    """Say one sentence with a status, as JSON or as a page."""
    if wants_json(request):
        return JsonResponse({"sentence": sentence}, status=status)
    # A member's refusal and a stranger's have their own page; anything else uses the plain one.
    template = {403: "403.html", 404: "404.html"}.get(status, "409.html")
    return render(request, template, {"sentence": sentence}, status=status)


def done(request: HttpRequest, sentence: str, *, undo: str = "", **data: Any) -> HttpResponse:
    """Confirm a deed: JSON for a page's script, a message on the page they came from otherwise."""
    if wants_json(request):
        return JsonResponse({"sentence": sentence, **data})
    messages.success(request, sentence, extra_tags=undo)
    return redirect(came_from(request))


#: What is filled in by a person where something newer may stand; all else of a form goes along as it is.
_WORDS = ("letter_words", "words")
#: What belongs to one press or one page alone.
_OF_THE_PRESS = frozenset({"csrfmiddlewaretoken", "press", "kept_here", "seen", "back"})


def both_versions(request: HttpRequest, problem: Refused) -> HttpResponse:
    """Show what stands now beside what was typed over an older text, with a form that keeps the latter after all."""
    name = next((name for name in _WORDS if name in request.POST), "words")
    rest = [(key, value) for key, value in request.POST.items() if key != name and key not in _OF_THE_PRESS]
    request.was_refused = True  # type: ignore[attr-defined]  # as in say_refused
    context = {
        "sentence": sentence_for(problem),
        "now": problem.values["said"],
        "name": name,
        "own": request.POST.get(name, ""),
        "seen": problem.values["seen"],
        "rest": rest,
        "back": came_from(request),
    }
    return render(request, "reviews/both_versions.html", context, status=409)


def came_from(request: HttpRequest) -> str:
    """Name the page to go back to: the one posted from, if it is ours."""
    back = request.POST.get("back") or request.headers.get("Referer", "")
    if url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}, require_https=request.is_secure()):
        parts = urlsplit(back)
        # A path of ours: two slashes at its front would name another host, and none would name no page.
        if parts.path.startswith("/") and not parts.path.startswith("//"):
            return parts.path + (f"?{parts.query}" if parts.query else "")
    return "/"
