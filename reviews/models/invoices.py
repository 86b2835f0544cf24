"""What was invoiced and paid, and the hours told for changes: each as the two sides have said it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.books import Book
from reviews.models.letters import LetterAnswer
from reviews.models.seats import Seat
from reviews.rules.contract.amounts import money_of
from reviews.rules.contract.currencies import MOST_DECIMALS
from reviews.rules.contract.fees import Money
from reviews.rules.states import Said


class InvoiceQuerySet(models.QuerySet["Invoice"]):
    def standing(self) -> InvoiceQuerySet:
        """Leave out those that were taken back."""
        return self.filter(withdrawn_at=None)


class Invoice(models.Model):
    """One invoice, told by the illustrator's side; ``name`` is the instalment it is for, empty for extra fees.

    What was paid of it stands in `Payment`.
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
        ]

    def __str__(self) -> str:
        return f"invoice {self.number}"

    @property
    def money(self) -> Money:
        """Give its amount."""
        return Money(self.amount, self.currency)


class PaymentQuerySet(models.QuerySet["Payment"]):
    def standing(self) -> PaymentQuerySet:
        """Leave out those that were taken back."""
        return self.filter(taken_back_at=None)


class Payment(models.Model):
    """One side's word that a sum of an invoice was paid, or came, in the invoice's currency.

    The publisher says that it was paid, the illustrator's side that the money came: only that settles anything.
    ``of_before`` marks those of books in which an invoice was told as paid whole or not at all.
    """

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="payments")
    said = models.CharField(max_length=8, choices=[(said.value, said.value) for said in Said])
    amount = models.DecimalField(max_digits=10 + MOST_DECIMALS, decimal_places=MOST_DECIMALS)
    on = models.DateField()
    told_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    told_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_because = models.CharField(max_length=300, blank=True)
    of_before = models.BooleanField(default=False)

    objects = PaymentQuerySet.as_manager()

    class Meta:
        ordering = ["invoice", "on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="payment_is_of_something"),
            models.CheckConstraint(condition=Q(said__in=[said.value for said in Said]), name="payment_is_said"),
        ]

    def __str__(self) -> str:
        return f"{self.said}: {self.amount} of invoice {self.invoice_id}"

    @property
    def money(self) -> Money:
        """Give its amount; the invoice has to be joined."""
        return money_of(self.amount, self.invoice.currency)


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
