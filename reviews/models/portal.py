"""What the portal keeps about itself: presses it has answered, and how it stands."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class KeyedPress(models.Model):
    """One press of a button that did something, by the key its form carried.

    Written in the transaction of the deed, so that a press repeated after a lost answer finds it and does nothing.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    # Made of the form's own key, the address and what was filled in: other words are another press.
    key = models.CharField(max_length=64)
    at = models.DateTimeField()
    # The answer that may have been lost; 0 until it is known.
    status = models.PositiveSmallIntegerField(default=0)
    location = models.CharField(max_length=2000, blank=True)
    body = models.TextField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "key"], name="press_counts_once")]

    def __str__(self) -> str:
        return f"a press at {self.at:%Y-%m-%d %H:%M}"


class PortalFact(models.Model):
    """One fact about how the portal runs, by name: when a process was last seen, what a machine's clock did."""

    name = models.CharField(max_length=80, unique=True)
    at = models.DateTimeField()
    data = models.JSONField(default=dict)

    def __str__(self) -> str:
        return self.name
