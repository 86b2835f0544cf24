"""Votes among the options of an idea, and the ballots given in them."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from reviews.models.hand_ins import HandIn, Picture
from reviews.models.passages import Passage
from reviews.models.seats import Seat


class OptionVote(models.Model):
    """A vote among the pictures of one hand-in. ``options`` are their numbers, as they stood when it was opened.

    ``seed`` makes the order in which each person is shown the options. ``decider`` decides once it is closed.
    """

    passage = models.ForeignKey(Passage, on_delete=models.PROTECT, related_name="votes")
    hand_in = models.ForeignKey(HandIn, on_delete=models.PROTECT, related_name="+")
    options = models.JSONField()
    words = models.CharField(max_length=300, blank=True)
    seed = models.CharField(max_length=64)
    until = models.DateField(null=True, blank=True)
    decider = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    opened_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    opened_at = models.DateTimeField()
    closed_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    chosen = models.ForeignKey(Picture, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    reasons = models.TextField(blank=True)
    decided_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    decided_at = models.DateTimeField(null=True, blank=True)

    #: Not kept: how many ballots a list of votes counts.
    n_given: int

    class Meta:
        ordering = ["opened_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["passage"], condition=Q(closed_at=None), name="one_open_vote"),
            models.CheckConstraint(
                condition=Q(decided_at=None) | Q(closed_at__isnull=False), name="closed_then_decided"
            ),
        ]

    def __str__(self) -> str:
        return f"vote {self.pk}"


class VoteBallot(models.Model):
    """One person's order of the options; ``seal`` is what the ledger holds of it before the vote is closed.

    By person and not by seat: who is let in a second time has voted all the same.
    """

    vote = models.ForeignKey(OptionVote, on_delete=models.PROTECT, related_name="ballots")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    ranks = models.JSONField()
    salt = models.CharField(max_length=64)
    seal = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        ordering = ["vote", "at", "pk"]
        constraints = [models.UniqueConstraint(fields=["vote", "person"], name="one_ballot_per_person")]

    def __str__(self) -> str:
        return f"ballot {self.pk}"
