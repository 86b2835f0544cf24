"""What a view that asks for a sign-in may rely on."""

from __future__ import annotations

from django.http import HttpRequest

from reviews.models import Person


class SignedInRequest(HttpRequest):
    """A request as it reaches a view that is not ``login_not_required``: middleware has sent strangers to the sign-in.

    For annotations only: at run time it is Django's own request.
    """

    user: Person
