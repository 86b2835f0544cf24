"""The ledger: append-only, one hash chain per book.

The database itself refuses update and delete (triggers in migration 0002); the guards here only
give the refusal earlier and in clearer words.
"""

from __future__ import annotations

from typing import Any, NoReturn

from django.db import models
from django.db.models import Q

from reviews.models.books import Book
from reviews.models.passages import Passage
from reviews.models.seats import Seat
from reviews.rules.entries import Entry
from reviews.rules.mailing import NoticeKind
from reviews.rules.states import Deed, Sight


class LedgerIsKept(Exception):
    """Somebody tried to change what happened."""


class LedgerQuerySet(models.QuerySet["LedgerEntry"]):
    def update(self, **kwargs: Any) -> NoReturn:
        raise LedgerIsKept("Ledger entries are never changed.")

    def delete(self) -> NoReturn:
        raise LedgerIsKept("Ledger entries are never deleted.")


class LedgerEntry(models.Model):
    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="entries")
    seq = models.PositiveIntegerField()
    at = models.DateTimeField()
    deed = models.CharField(max_length=24, choices=[(d.value, d.value) for d in Deed])
    seat = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=14)
    by = models.CharField(max_length=120)
    passage = models.ForeignKey(Passage, null=True, blank=True, on_delete=models.PROTECT, related_name="entries")
    sight = models.CharField(max_length=12, choices=[(s.value, s.value) for s in Sight])
    data = models.JSONField(default=dict)
    # What the rows say that this deed wrote, as ``queries.held_rows`` writes it; None in entries of the first form,
    # which held no words. It is part of the fingerprint, and of nothing that one side shows the other.
    rows = models.JSONField(null=True)
    previous = models.CharField(max_length=64, blank=True)
    sha256 = models.CharField(max_length=64)

    objects = LedgerQuerySet.as_manager()

    class Meta:
        ordering = ["book", "seq"]
        constraints = [models.UniqueConstraint(fields=["book", "seq"], name="ledger_seq_once")]
        indexes = [models.Index(fields=["book", "deed"], name="ledger_book_deed")]

    def __str__(self) -> str:
        return f"{self.seq} {self.deed}"

    def as_entry(self) -> Entry:
        return Entry(
            seq=self.seq,
            at=self.at,
            deed=self.deed,
            role=self.role,
            by=self.by,
            passage=self.passage_id,
            data=self.data,
        )


class Notice(models.Model):
    """One thing one person is to be written about: its ``cause`` is unique, so nobody is told twice.

    What happened has its ``entry``; a due date or a date that cannot be met has its ``book`` and what is
    ``told``, a code and its values. ``waits`` says that it goes with a digest and not in a mail of its own.
    """

    entry = models.ForeignKey(LedgerEntry, null=True, blank=True, on_delete=models.PROTECT, related_name="notices")
    person = models.ForeignKey("reviews.Person", on_delete=models.PROTECT, related_name="notices")
    kind = models.CharField(
        max_length=12, choices=[(k.value, k.value) for k in NoticeKind], default=NoticeKind.HAPPENED.value
    )
    cause = models.CharField(max_length=160)
    book = models.ForeignKey(Book, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    passage = models.ForeignKey(Passage, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    told = models.JSONField(default=dict, blank=True)
    waits = models.BooleanField(default=False)
    digest = models.ForeignKey(
        "reviews.Digest", null=True, blank=True, on_delete=models.PROTECT, related_name="notices"
    )
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["entry", "person"], name="told_once"),
            models.UniqueConstraint(fields=["person", "cause"], name="told_once_per_cause"),
            models.CheckConstraint(
                condition=Q(entry__isnull=False, book=None) | Q(entry=None, book__isnull=False),
                name="notice_is_about_one_book",
            ),
        ]
        indexes = [
            models.Index(fields=["person"], condition=Q(waits=True, digest=None, sent_at=None), name="notice_waiting"),
        ]

    def __str__(self) -> str:
        return f"notice {self.pk}"

    @property
    def about(self) -> Book:
        """The book; needs ``entry__book`` or ``book`` joined."""
        book = self.entry.book if self.entry is not None else self.book
        assert book is not None, "notice_is_about_one_book"
        return book
