"""Sessions in the database, each with whose it is and where it began: a person can see them and end them.

The person comes with the session's row: who is signed in costs a page no query beside the one for the session.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY, get_user
from django.contrib.auth.middleware import AuthenticationMiddleware
from django.contrib.auth.models import AnonymousUser
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from django.utils.dateparse import parse_datetime
from django.utils.functional import SimpleLazyObject

from reviews.models import LiveSession, Person

if TYPE_CHECKING:
    _Store = DatabaseStore[LiveSession]
else:
    _Store = DatabaseStore

#: Under this name a session's own data say where it began; the columns repeat it for the list.
BEGAN = "_began"


class SessionStore(_Store):
    """Django's own, on a table with a few columns more."""

    #: Of the row as it was loaded: when it was last in use, and whose it is. None of a session without a row.
    seen_at: datetime | None = None
    person: Person | None = None

    @classmethod
    def get_model_class(cls) -> type[LiveSession]:
        return LiveSession

    def create_model_instance(self, data: dict[str, Any]) -> LiveSession:
        row = super().create_model_instance(data)
        began = data.get(BEGAN, {})
        row.person_id = int(data[SESSION_KEY]) if SESSION_KEY in data else None
        row.address, row.browser = began.get("address", ""), began.get("browser", "")
        row.began_at = parse_datetime(began["at"]) if "at" in began else None
        row.seen_at = timezone.now()
        return row

    def _get_session_from_db(self) -> LiveSession | None:
        """Load the row as Django does, and the person with it."""
        self.seen_at = self.person = None
        live = LiveSession.objects.select_related("person").filter(expire_date__gt=timezone.now())
        try:
            row = live.get(session_key=self.session_key)
        except LiveSession.DoesNotExist:
            self._session_key = None
            return None
        self.seen_at, self.person = row.seen_at, row.person
        return row


def who_is_in(request: HttpRequest) -> Person | AnonymousUser:
    """Tell who is signed in, by the row that came with the session where all is as it should be; else ask Django."""
    data = request.session
    number, way, proof = (data.get(key, "") for key in (SESSION_KEY, BACKEND_SESSION_KEY, HASH_SESSION_KEY))
    person: Person | None = getattr(data, "person", None)
    if (
        person is not None
        and person.is_active
        and number == str(person.pk)
        and way in settings.AUTHENTICATION_BACKENDS
        and constant_time_compare(proof, person.get_session_auth_hash())
    ):
        return person
    return get_user(request)


class KnowWhoIsIn(AuthenticationMiddleware):
    """Django's own, but for the query that it makes for each request's person."""

    def process_request(self, request: HttpRequest) -> None:
        super().process_request(request)
        request.user = SimpleLazyObject(lambda: who_is_in(request))  # type: ignore[assignment]
