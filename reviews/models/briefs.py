"""Briefs: what the publisher asks of a spread or of the whole book, each version kept, and pictures to look at."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.books import Book, Spread
from reviews.models.seats import Seat
from reviews.rules.briefs import BriefLine, lines_of
from reviews.rules.states import PictureState


class Brief(models.Model):
    """One version of a brief; without a spread it is the book's. Never altered: a change is the next version.

    ``parts`` holds what is asked, by ``rules.briefs.BriefPart``. ``told_as``: the causes that a version is a change of,
    where it was written after a sketch it concerns was approved; else empty.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="briefs")
    spread = models.ForeignKey(Spread, null=True, blank=True, on_delete=models.PROTECT, related_name="briefs")
    version = models.PositiveSmallIntegerField()
    parts = models.JSONField()
    told_as = models.JSONField(default=list, blank=True)
    written_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    written_at = models.DateTimeField()

    class Meta:
        ordering = ["book", "spread", "version"]
        constraints = [
            models.UniqueConstraint(fields=["spread", "version"], name="brief_version_once"),
            models.UniqueConstraint(
                fields=["book", "version"], condition=Q(spread=None), name="book_brief_version_once"
            ),
        ]

    def __str__(self) -> str:
        return f"brief, version {self.version}"

    @property
    def lines(self) -> tuple[BriefLine, ...]:
        return lines_of(self.parts)


class Reference(models.Model):
    """A picture or a PDF that shows what a brief means: kept bit for bit, with a preview once it was read."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="references")
    spread = models.ForeignKey(Spread, null=True, blank=True, on_delete=models.PROTECT, related_name="references")
    file_name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64, db_index=True)
    n_bytes = models.BigIntegerField()
    state = models.CharField(max_length=8, choices=[(s.value, s.value) for s in PictureState])
    reason_code = models.CharField(max_length=40, blank=True)
    reason_values = models.JSONField(default=dict, blank=True)
    added_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["book", "spread", "pk"]

    def __str__(self) -> str:
        return self.file_name
