"""A request begins with no book taken up: no names of stages and no clock are left over from the one before it."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from reviews.models.clocks import reading_in
from reviews.models.stage_names import speak_of


class NoBookYet:
    """Middleware: a thread answers one request after another, each about books of its own."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        speak_of(None)
        with reading_in(getattr(request.user, "zone", "")):
            return self.get_response(request)
