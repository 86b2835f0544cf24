"""Where a person is signed in: the idle limit, and ending a session from one's own page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from reviews.actions import sessions
from reviews.views.signed_in import SignedInRequest

#: When a session was last in use is written down this exactly, not at every click.
_SEEN_WITHIN = timedelta(minutes=5)
#: What a page asks by itself (static/js/news) says so: a screen left open is not somebody who looks in.
_BY_ITSELF = "clock"


class EndIdle:
    """Middleware: sign out whoever has not looked in for long; nobody watches a screen left open for days."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if settings.SESSION_COOKIE_NAME in request.COOKIES and request.user.is_authenticated:
            seen, now = request.session.seen_at, timezone.now()  # type: ignore[attr-defined]  # portal.sessions
            # A guest came by a link that works once: signed out, they could not come back.
            if seen and now - seen > timedelta(seconds=settings.IDLE_SECONDS) and request.user.has_usable_password():
                logout(request)
                hours = settings.IDLE_SECONDS // 3600
                messages.info(request, f"You were away for more than {hours} hours, so you are signed out here.")
            elif seen and now - seen > _SEEN_WITHIN and not is_by_itself(request):
                sessions.session_seen(request.session.session_key or "")
        return self.get_response(request)


def is_by_itself(request: HttpRequest) -> bool:
    """Say whether a page asks by itself, with nobody who pressed anything."""
    return request.headers.get("X-Read-By") == _BY_ITSELF


@require_POST
def end_session(request: SignedInRequest) -> HttpResponse:
    if sessions.end_session(request.user, request.POST.get("which", "")):
        messages.success(request, "That browser is signed out.")
    else:
        messages.info(request, "That browser is signed out already.")
    return redirect("reviews:own-page")


@require_POST
def end_other_sessions(request: SignedInRequest) -> HttpResponse:
    ended = sessions.end_sessions(request.user, but=request.session.session_key)
    if ended:
        messages.success(request, "You are signed out everywhere but here.")
    else:
        messages.info(request, "You are signed in nowhere else.")
    return redirect("reviews:own-page")
