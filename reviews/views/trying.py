"""Trying a password or a code: counted, logged, and resting after too many that were wrong."""

from __future__ import annotations

import logging
import secrets

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from reviews.actions.attempts import attempt_succeeded, begin_attempt, name_of
from reviews.models import Attempt
from reviews.queries.people import number_of
from reviews.rules.attempts import REST, Trying

log = logging.getLogger(__name__)

#: A browser in which a person came in keeps a signed word of it: strangers' guesses do not count against it.
PLACE_COOKIE = f"{settings.COOKIE_PREFIX}roughproof_place"
_SALT = "roughproof.place"
_PLACE_SECONDS = 180 * 24 * 3600


def attempt(request: HttpRequest, kind: Trying, email: str) -> Attempt | None:
    """Count a try that is about to be judged; None where trying rests."""
    tried = begin_attempt(kind, email, address=came_from_address(request), place=_recognised(request, email))
    if tried is None:
        log.warning("Refused without judging: %s of %s from %s rests.", kind, whose(email), came_from_address(request))
    return tried


def was_wrong(request: HttpRequest, kind: Trying, email: str) -> None:
    """Write a wrong try into the log."""
    log.warning("Wrong: %s of %s from %s.", kind, whose(email), came_from_address(request))


def was_right(request: HttpRequest, tried: Attempt, email: str) -> None:
    """Forgive the wrong ones before, and write the right one into the log."""
    attempt_succeeded(tried)
    log.info("Right: %s of %s from %s.", tried.kind, whose(email), came_from_address(request))


def recognise_again(request: HttpRequest, response: HttpResponse, email: str) -> HttpResponse:
    """Leave the word in this browser by which it is recognised as one of the person's own."""
    word = signing.dumps([name_of(email)[:16], _recognised(request, email) or secrets.token_hex(16)], salt=_SALT)
    response.set_cookie(
        PLACE_COOKIE, word, max_age=_PLACE_SECONDS, secure=settings.HTTPS, httponly=True, samesite="Lax"
    )
    return response


def resting(request: HttpRequest) -> HttpResponse:
    """Say that trying rests, in the same words whoever is meant and whatever was counted."""
    minutes = int(REST.total_seconds()) // 60
    return render(request, "429.html", {"minutes": minutes}, status=429)


def came_from_address(request: HttpRequest) -> str:
    """Give the visitor's address, as the trusted proxy tells it where there is one."""
    return request.META.get("REMOTE_ADDR", "")


def whose(email: str) -> str:
    """Name whom a try was for in the log. What was typed is not written down where it is no account: it may be a
    password in the wrong field.
    """
    number = number_of(email)
    return f"person {number}" if number else "no account"


def _recognised(request: HttpRequest, email: str) -> str:
    try:
        name, place = signing.loads(request.COOKIES.get(PLACE_COOKIE, ""), salt=_SALT, max_age=_PLACE_SECONDS)
    except (signing.BadSignature, ValueError, TypeError):
        return ""
    return str(place)[:32] if name == name_of(email)[:16] else ""
