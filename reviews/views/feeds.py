"""The calendar of due dates, and its link."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseGone
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_POST, require_safe

from reviews.actions import feeds
from reviews.pages.calendar_feed import CalendarStopped, calendar_of
from reviews.pages.calendar_text import etag_of
from reviews.views.signed_in import SignedInRequest

STOPPED = "This calendar was stopped, or given a new address. Its owner finds the one that works on their own page.\n"


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, secret: str) -> HttpResponse:
    """Answer without a session: calendars cannot sign in. The secret in the address is the key."""
    try:
        text = calendar_of(secret, timezone.now())
    except CalendarStopped:
        return HttpResponseGone(STOPPED, content_type="text/plain; charset=utf-8")
    response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response["ETag"] = etag_of(text)
    response["Cache-Control"] = "private, no-cache"
    response["Content-Disposition"] = 'inline; filename="due-dates.ics"'
    answered = get_conditional_response(request, etag=response["ETag"], response=response)
    assert answered is not None, "it is given one"
    return answered


@require_POST
def new_calendar_link(request: SignedInRequest) -> HttpResponse:
    feeds.make_calendar_link(request.user)
    messages.success(request, "Here is your new calendar address. One that you had before has stopped working.")
    return redirect("reviews:own-page")


@require_POST
def revoke_calendar_link(request: SignedInRequest) -> HttpResponse:
    if feeds.revoke_calendar_link(request.user):
        messages.success(request, "Your calendar address has stopped working.")
    return redirect("reviews:own-page")
