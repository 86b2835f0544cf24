"""Time stamps by a service outside: that a line of the ledger stood at a certain moment, said by somebody else."""

from __future__ import annotations

from django.db import models

from reviews.models.ledger import LedgerEntry


class TimeStamp(models.Model):
    """What a service answered (RFC 3161) about one entry: ``answer`` is its whole response, ``at`` the time in it.

    What was stamped are the 64 digits of the entry's fingerprint, as a text.
    """

    entry = models.OneToOneField(LedgerEntry, on_delete=models.PROTECT, related_name="time_stamp")
    answer = models.BinaryField()
    at = models.DateTimeField()
    service = models.CharField(max_length=300)

    def __str__(self) -> str:
        return f"time stamp of entry {self.entry_id}"
