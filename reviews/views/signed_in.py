"""What a view that asks for a sign-in may rely on, and what whoever is not signed in is answered."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseBase, JsonResponse

from reviews.models import Person
from reviews.views.responses import came_from, wants_json

SIGNED_OUT = "You are signed out. Sign in again, then send this once more."


class SignedInRequest(HttpRequest):
    """A request as it reaches a view that is not ``login_not_required``: middleware has sent strangers to the sign-in.

    For annotations only: at run time it is Django's own request.
    """

    user: Person


class AskForSignIn(LoginRequiredMiddleware):
    """Lead strangers to the sign-in: a script by a sentence, a form by way of the page it stood on.

    An address that only takes what is posted would answer the one who comes back from the sign-in with an error.
    """

    # Django's own only ever leads on, and a script that is led on takes the sign-in page for its answer.
    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponseBase:
        if wants_json(request):
            return JsonResponse({"sentence": SIGNED_OUT, "signed_out": True}, status=401)
        if request.method == "POST":
            return redirect_to_login(came_from(request), settings.LOGIN_URL)
        return super().handle_no_permission(request, view_func)
