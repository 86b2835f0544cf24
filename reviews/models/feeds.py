"""Links to a person's calendar of due dates."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.crypto import salted_hmac


class CalendarLink(models.Model):
    """One secret address of a person's due dates, until it is revoked.

    As with invitations, the secret is an HMAC of ``seed`` under the portal's own key: whoever reads the database
    alone cannot make the link.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="calendar_links")
    seed = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person"], condition=Q(revoked_at=None), name="one_live_calendar_link"),
        ]

    def __str__(self) -> str:
        return f"calendar link {self.pk}"

    @property
    def secret(self) -> str:
        """The word in the address: the row's number, and 256 bits nobody can guess."""
        mac = salted_hmac("roughproof.calendar", f"{self.pk}:{self.seed}", algorithm="sha256")
        return f"{self.pk}-{mac.hexdigest()}"

    @property
    def person_key(self) -> str:
        """Name the person inside event identifiers without telling who it is; a new link keeps it."""
        return salted_hmac("roughproof.calendar-person", str(self.person_id), algorithm="sha256").hexdigest()
