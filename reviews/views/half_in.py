"""Between the password and the second step: whose password was right, for ten minutes."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from reviews.models import Person
from reviews.queries.people import person_still_the_same

_HALF_IN = "half_in"
_HALF_IN_SECONDS = 10 * 60


def ask_for_code(request: HttpRequest, person: Person, on_the_way_to: str) -> HttpResponse:
    """Remember that the password was right, under a new session, and ask for the second step."""
    request.session.cycle_key()
    request.session[_HALF_IN] = {
        "person": person.pk,
        "password": person.get_session_auth_hash(),
        "at": timezone.now().timestamp(),
        "next": on_the_way_to,
    }
    return redirect("reviews:sign-in-code")


def half_in(request: HttpRequest) -> Person | None:
    """Find whose password was right a moment ago."""
    held = request.session.get(_HALF_IN)
    if not held or timezone.now().timestamp() - held["at"] > _HALF_IN_SECONDS:
        return None
    return person_still_the_same(held["person"], held["password"])


def wholly_in(request: HttpRequest) -> str:
    """Forget the half way, and name the page that was asked for."""
    return request.session.pop(_HALF_IN)["next"]
