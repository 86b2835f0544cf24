"""How a book is printed, and a printer's figures kept under a name for the next book."""

from __future__ import annotations

from django.db import models

from reviews.models.books import Book
from reviews.models.seats import Seat


class PrintSetUp(models.Model):
    """What was told of a book's printing beyond its trim, bleed and binding, which stand on the book itself.

    ``figures`` and ``paper`` are as ``press.set_up_text`` writes them. A book without a row has starting values.
    """

    book = models.OneToOneField(Book, on_delete=models.PROTECT, related_name="print_set_up")
    printer = models.CharField(max_length=80, blank=True)
    figures = models.JSONField(default=dict, blank=True)
    paper = models.JSONField(null=True, blank=True)
    has_jacket = models.BooleanField(default=False)
    set_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"print set-up of {self.book}"


class KeptPrinter(models.Model):
    """A printer's figures under a name, kept on one book and offered on others to those who sit on both."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="kept_printers")
    name = models.CharField(max_length=80)
    figures = models.JSONField(default=dict, blank=True)
    kept_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    kept_at = models.DateTimeField()

    class Meta:
        ordering = ["-kept_at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["book", "name"], name="printer_kept_once_per_book")]

    def __str__(self) -> str:
        return self.name
