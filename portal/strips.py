"""What just happened is told once, and only to a page that somebody sees."""

from __future__ import annotations

from typing import Any

from django.contrib.messages.context_processors import messages as all_waiting
from django.http import HttpRequest


def strips(request: HttpRequest) -> dict[str, Any]:
    """The sentences that wait for this person, but none for a page that a script reads for its parts.

    A page that draws them takes them away. A script that asks again while its page is being left would be answered
    between the press and the page after it, and the person would never read what the press did.
    """
    if request.headers.get("X-Read-By") in ("script", "clock"):
        return {}
    return all_waiting(request)
