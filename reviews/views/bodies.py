"""No body is read that is too long for its sender, its address or the disk."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from reviews.pages.wording.refusals import sentence_for
from reviews.uploads import too_much
from reviews.views.responses import answer


class LimitBodies:
    """Middleware: refuse by the announced length, before a form or a file is read.

    A body without a length is none for Django; `serve` has measured it by then and gives it one.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        length = request.META.get("CONTENT_LENGTH") or "0"
        n_bytes = int(length) if length.isascii() and length.isdecimal() and len(length) < 19 else 0
        # Whoever sends little is not even looked up.
        if n_bytes > settings.MAX_ANONYMOUS_BYTES:
            refused = too_much(request.path_info, n_bytes, signed_in=request.user.is_authenticated)
            if refused:
                return answer(request, sentence_for(refused.why), status=refused.status)
        return self.get_response(request)
