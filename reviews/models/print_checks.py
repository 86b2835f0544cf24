"""What was measured on a picture's inks, once per content, print size and limit."""

from __future__ import annotations

from django.db import models


class InkCheck(models.Model):
    """The inks of one content at a print width, against a limit, by one method. ``result`` is None until measured.

    Named by content, as a comparison is: it is reached only through a picture that its reader may see.
    """

    sha256 = models.CharField(max_length=64)
    width_um = models.PositiveIntegerField(help_text="Print width in micrometres.")
    limit = models.FloatField(help_text="Total ink in per cent of 400.")
    method = models.CharField(max_length=40)
    result = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sha256", "width_um", "limit", "method"], name="inks_measured_once"),
        ]

    def __str__(self) -> str:
        return f"inks of {self.sha256[:8]}"
