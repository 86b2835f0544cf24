"""The page for what failed: our fault, or something that is away for now. Never a trace."""

from __future__ import annotations

import sys

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string

from reviews.queries.outages import Away, what_is_away
from reviews.views.responses import wants_json

OUR_FAULT = (
    "It is our fault, not yours. What you did last may not have been kept: go back, look, and try once more. If it "
    "fails again, tell whoever runs this Roughproof what you were doing, and this number."
)
AWAY = {
    Away.DATABASE: "The database does not answer now.",
    Away.STORE: "The store of the pictures does not answer now.",
    Away.BROKER: "A part of this Roughproof does not answer now.",
    Away.MAIL: "The mail server does not answer now.",
    Away.ROOM: "There is no room left on the disk of this Roughproof.",
    Away.FILES: "A file of this Roughproof cannot be reached now.",
}
FOR_NOW = "{what} Nothing is wrong with what you sent; it was not kept. Try once more in a few minutes."
RETRY_SECONDS = 60


def failed(request: HttpRequest) -> HttpResponse:
    """Answer for an exception nobody caught: 503 where something is away for now, else 500."""
    problem = sys.exc_info()[1]
    away = what_is_away(problem) if problem is not None else None
    sentence = FOR_NOW.format(what=AWAY[away]) if away else OUR_FAULT
    status, number = 503 if away else 500, getattr(request, "number", "")
    if wants_json(request):
        response: HttpResponse = JsonResponse({"sentence": sentence, "number": number}, status=status)
    else:
        context = {"sentence": sentence, "number": number, "is_away": away is not None}
        response = HttpResponse(render_to_string("500.html", context), status=status)
    if away:
        response["Retry-After"] = str(RETRY_SECONDS)
    return response
