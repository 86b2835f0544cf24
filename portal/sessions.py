"""Sessions in the database, each with whose it is and where it began: a person can see them and end them."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from reviews.models import LiveSession

if TYPE_CHECKING:
    _Store = DatabaseStore[LiveSession]
else:
    _Store = DatabaseStore

#: Under this name a session's own data say where it began; the columns repeat it for the list.
BEGAN = "_began"


class SessionStore(_Store):
    """Django's own, on a table with a few columns more."""

    seen_at: datetime | None = None

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
        # Kept from the one query that loads the session anyway: the idle limit costs none of its own.
        row: LiveSession | None = super()._get_session_from_db()  # type: ignore[misc]  # not in the stubs
        self.seen_at = row.seen_at if row else None
        return row
