"""The contract's terms, version by version, and the agent's consent to go beyond them.

A version is written once and never changed; the ledger entry that made it carries the same text under
its hash, so that neither can drift from the other unseen.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.books import Book
from reviews.models.ledger import LedgerEntry
from reviews.models.letters import Letter
from reviews.models.passages import Passage
from reviews.models.seats import Seat
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.terms_text import terms_from_text


class TermsVersionQuerySet(models.QuerySet["TermsVersion"]):
    def that_let_silence_approve(self) -> TermsVersionQuerySet:
        """Keep those by which silence may approve: at every stage, or at those that are named."""
        return self.filter(~Q(text__silence_approves_after=None) | Q(text__silences__0__isnull=False))


class TermsVersion(models.Model):
    """One version of a book's terms: ``text`` as ``rules.terms_text`` writes it.

    ``house_remark`` is the publisher's own (an order number, a budget line) and stands in no ledger entry.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="terms_versions")
    number = models.PositiveSmallIntegerField()
    from_on = models.DateField()
    text = models.JSONField()
    house_remark = models.TextField(blank=True)
    entry = models.OneToOneField(LedgerEntry, on_delete=models.PROTECT, related_name="terms_version")
    # Where one side entered it alone, before terms were agreed on: the line in which the other confirmed it.
    confirmation = models.OneToOneField(
        LedgerEntry, null=True, blank=True, on_delete=models.PROTECT, related_name="confirmed_terms"
    )

    objects = TermsVersionQuerySet.as_manager()

    class Meta:
        ordering = ["book", "number"]
        constraints = [
            models.UniqueConstraint(fields=["book", "number"], name="terms_version_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="terms_version_from_one"),
        ]

    def __str__(self) -> str:
        return f"terms {self.number}"

    @property
    def is_one_sided(self) -> bool:
        """Say whether nobody of the other side has agreed to it; needs its entry joined."""
        return "proposed" not in self.entry.data and self.confirmation_id is None

    def as_terms(self) -> Terms:
        """Copy into the rules' frozen form."""
        return terms_from_text(self.text)


class OverConsentQuerySet(models.QuerySet["OverConsent"]):
    def open(self) -> OverConsentQuerySet:
        """Keep those that a letter may still use: neither used, nor declined, nor withdrawn."""
        return self.filter(used_by=None, ended_at=None)


class OverConsent(models.Model):
    """One passage, one round beyond the fee: asked for by the art director, given by the agent, used by a letter.

    It may end without a letter: declined before it was given, or withdrawn after.
    """

    passage = models.ForeignKey(Passage, on_delete=models.PROTECT, related_name="over_consents")
    words = models.TextField(blank=True)
    asked_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    given_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    given_at = models.DateTimeField(null=True, blank=True)
    used_by = models.ForeignKey(Letter, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    ended_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_words = models.TextField(blank=True)

    objects = OverConsentQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["passage"], condition=Q(used_by=None, ended_at=None), name="one_open_consent"
            ),
            models.CheckConstraint(condition=Q(used_by=None) | Q(ended_at=None), name="used_or_ended"),
            models.CheckConstraint(
                condition=Q(ended_at=None, ended_by=None)
                | Q(ended_at__isnull=False, ended_by__isnull=False) & ~Q(ended_words=""),
                name="ended_by_somebody_with_words",
            ),
            models.CheckConstraint(
                condition=Q(given_at=None, given_by=None) | Q(given_at__isnull=False, given_by__isnull=False),
                name="consent_given_by_somebody",
            ),
            models.CheckConstraint(condition=Q(used_by=None) | Q(given_at__isnull=False), name="used_was_given"),
        ]

    def __str__(self) -> str:
        return f"consent {self.pk}"

    @property
    def is_given(self) -> bool:
        """Say whether a letter may use it."""
        return self.given_at is not None and self.ended_at is None
