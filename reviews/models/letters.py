"""Letters, the answers in them, and the second voice."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.books import Book
from reviews.models.hand_ins import HandIn, Picture
from reviews.models.passages import Passage
from reviews.models.seats import Seat
from reviews.rules.letters import seen_mark
from reviews.rules.states import Answer


class Letter(models.Model):
    """What the art director sends; a draft until ``sent_at``."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="letters")
    number = models.PositiveSmallIntegerField(null=True, blank=True)
    words = models.TextField(blank=True)
    begun_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_because = models.CharField(max_length=300, blank=True)
    paper = models.CharField(max_length=200, blank=True)  # storage name of the PDF, once made

    class Meta:
        ordering = ["book", "number"]
        constraints = [
            models.UniqueConstraint(fields=["book"], condition=Q(sent_at=None), name="one_draft_letter"),
            models.UniqueConstraint(fields=["book", "number"], name="letter_number_once"),
            models.CheckConstraint(
                condition=Q(sent_at=None, number=None) | Q(sent_at__isnull=False, number__isnull=False),
                name="sent_letter_is_numbered",
            ),
            models.CheckConstraint(
                condition=Q(taken_back_at=None) | Q(sent_at__isnull=False), name="taken_back_was_sent"
            ),
        ]

    #: Known where ``queries.letters.last_letter`` found it.
    n_unanswered: int

    def __str__(self) -> str:
        return f"letter {self.number or '(draft)'}"

    @property
    def given_number(self) -> int:
        """Its number, once it is sent."""
        assert self.number is not None, "sent_letter_is_numbered"
        return self.number

    @property
    def seen_words(self) -> str:
        """Its opening lines as one mark: another tab's change shows by it."""
        return seen_mark(self.words)

    @property
    def sender(self) -> Seat:
        """Who sent it, once it is sent."""
        assert self.sent_by is not None
        return self.sent_by


class LetterAnswer(models.Model):
    """A letter's answer to one passage, about the hand-in that was looked at."""

    letter = models.ForeignKey(Letter, on_delete=models.PROTECT, related_name="answers")
    passage = models.ForeignKey(Passage, on_delete=models.PROTECT, related_name="answers")
    hand_in = models.ForeignKey(HandIn, on_delete=models.PROTECT, related_name="answers")
    picture = models.ForeignKey(Picture, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    answer = models.CharField(max_length=14, choices=[(a.value, a.value) for a in Answer])
    reopened = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["letter", "passage"], name="one_answer_per_letter")]

    def __str__(self) -> str:
        return self.answer


class Agreement(models.Model):
    """The second voice on one hand-in."""

    hand_in = models.ForeignKey(HandIn, on_delete=models.PROTECT, related_name="agreements")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    agrees = models.BooleanField()
    words = models.TextField(blank=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["hand_in", "seat"], name="one_agreement_per_seat")]

    def __str__(self) -> str:
        return "agreed" if self.agrees else "objected"
