"""What was invoiced and paid, and the hours told for changes: each as the two sides have said it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.books import Book
from reviews.models.letters import LetterAnswer
from reviews.models.seats import Seat
from reviews.rules.contract.currencies import MOST_DECIMALS
from reviews.rules.contract.fees import Money


class InvoiceQuerySet(models.QuerySet["Invoice"]):
    def standing(self) -> InvoiceQuerySet:
        """Leave out those that were taken back."""
        return self.filter(withdrawn_at=None)


class Invoice(models.Model):
    """One invoice, told by the illustrator's side; ``name`` is the instalment it is for, empty for extra fees.

    The publisher says that it was paid, the illustrator's side that the money came: only that settles it.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="invoices")
    number = models.CharField(max_length=60)
    name = models.CharField(max_length=60, blank=True)
    words = models.CharField(max_length=200, blank=True)
    amount = models.DecimalField(max_digits=10 + MOST_DECIMALS, decimal_places=MOST_DECIMALS)
    currency = models.CharField(max_length=3)
    on = models.DateField()
    told_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    told_at = models.DateTimeField()
    paid_on = models.DateField(null=True, blank=True)
    paid_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    received_on = models.DateField(null=True, blank=True)
    received_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_because = models.CharField(max_length=300, blank=True)

    objects = InvoiceQuerySet.as_manager()

    class Meta:
        ordering = ["book", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["book", "number"], condition=Q(withdrawn_at=None), name="invoice_number_once"
            ),
            models.CheckConstraint(condition=Q(amount__gt=0), name="invoice_is_for_something"),
            models.CheckConstraint(
                condition=Q(withdrawn_at=None) | Q(paid_on=None, received_on=None), name="settled_invoice_stands"
            ),
            models.CheckConstraint(
                condition=Q(paid_on=None, paid_by=None) | Q(paid_on__isnull=False, paid_by__isnull=False),
                name="invoice_paid_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(received_on=None, received_by=None)
                | Q(received_on__isnull=False, received_by__isnull=False),
                name="invoice_received_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"invoice {self.number}"

    @property
    def money(self) -> Money:
        """Give its amount."""
        return Money(self.amount, self.currency)


class RoundHours(models.Model):
    """Hours that one round by the hour took: told by the illustrator's side, and counted once the publisher agrees."""

    answer = models.OneToOneField(LetterAnswer, on_delete=models.PROTECT, related_name="hours")
    hours = models.DecimalField(max_digits=6, decimal_places=2)
    told_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    told_at = models.DateTimeField()
    agreed_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    agreed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(hours__gt=0), name="hours_are_some"),
            models.CheckConstraint(
                condition=Q(agreed_at=None, agreed_by=None) | Q(agreed_at__isnull=False, agreed_by__isnull=False),
                name="hours_agreed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hours} hours"
