"""Hand-ins and their pictures."""

from __future__ import annotations

from typing import Any, TypedDict

from django.db import models
from django.db.models import Q

from reviews.models.passages import Passage
from reviews.models.seats import Seat
from reviews.rules.states import HandInState, PictureState


class WrittenAnswer(TypedDict):
    """An answer in a letter that is not sent: which, and which picture of several it chooses."""

    answer: str
    picture_id: int | None


class HandIn(models.Model):
    """A delivery for one passage: a draft until it is handed in, then numbered and unchangeable."""

    passage = models.ForeignKey(Passage, on_delete=models.PROTECT, related_name="hand_ins")
    by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=10, choices=[(s.value, s.value) for s in HandInState])
    number = models.PositiveSmallIntegerField(null=True, blank=True)
    cover_note = models.TextField(blank=True)
    started_at = models.DateTimeField()
    handed_in_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_because = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["passage", "number"]
        constraints = [
            models.UniqueConstraint(fields=["passage", "number"], name="hand_in_number_once"),
            models.UniqueConstraint(fields=["passage"], condition=Q(state="draft"), name="one_draft_per_passage"),
            models.CheckConstraint(
                condition=Q(state__in=["draft", "left"], number=None)
                | (~Q(state__in=["draft", "left"]) & Q(number__isnull=False)),
                name="handed_in_is_numbered",
            ),
        ]

    #: Known on the review table only: whether its reader said that they looked at it.
    has_looked: bool
    #: The same of its reader's seat: whether it lay open there before.
    lay_open: bool
    #: Known there for who writes the letter: the answer it has in the letter being written.
    written: WrittenAnswer | None = None

    def __str__(self) -> str:
        return f"hand-in {self.number or '(draft)'}"

    @property
    def given_number(self) -> int:
        """Its number, once it is handed in."""
        assert self.number is not None, "handed_in_is_numbered"
        return self.number


class Picture(models.Model):
    """One file of a hand-in, kept bit for bit and named by its SHA-256.

    ``reason_code`` and ``reason_values`` say why it could not be read, if so.
    ``facts`` holds what the engine read (kind, mode, bits, ppi, profile, pages, tile index);
    sizes are of the upright picture in pixels. ``removed_at``: not among what is handed in, because it was taken out,
    because a picture made from it stands there instead, or because it was made from others and not kept.
    """

    hand_in = models.ForeignKey(HandIn, on_delete=models.PROTECT, related_name="pictures")
    position = models.PositiveSmallIntegerField()
    file_name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64, db_index=True)
    n_bytes = models.BigIntegerField()
    state = models.CharField(max_length=8, choices=[(s.value, s.value) for s in PictureState])
    reason_code = models.CharField(max_length=40, blank=True)
    reason_values = models.JSONField(default=dict, blank=True)
    has_preview = models.BooleanField(default=False)
    width_px = models.PositiveIntegerField(null=True, blank=True)
    height_px = models.PositiveIntegerField(null=True, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)

    #: Not kept: the option marks (a model above this one) that the review table shows to who looks.
    seen_marks: list[Any]

    class Meta:
        ordering = ["hand_in", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="ready") | (Q(width_px__gt=0) & Q(height_px__gt=0)), name="ready_has_size"
            ),
        ]

    def __str__(self) -> str:
        return self.file_name


class OpenedTable(models.Model):
    """Somebody of the publisher's side had this hand-in open on the table."""

    hand_in = models.ForeignKey(HandIn, on_delete=models.PROTECT, related_name="opened")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["hand_in", "seat"], name="opened_once_per_seat")]

    def __str__(self) -> str:
        return f"{self.seat} opened {self.hand_in}"
