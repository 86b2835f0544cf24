"""Pictures made from other pictures of the same draft: sheets joined into one, or the ink of a scan alone."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.hand_ins import HandIn, Picture
from reviews.rules.derived import DerivedState, Making, Pencil


class Derivation(models.Model):
    """One picture that the illustrator asked to be made from sheets of a draft, and what became of it.

    ``picture`` is what was made. While it is looked at, or when it was dropped, it stands outside the hand-in like any
    picture that was taken out; once kept it stands in it and its sheets outside. ``recipe`` names the sheets by hash.
    ``options`` says which page, or how it is turned and cut (``rules.derived``).
    """

    hand_in = models.ForeignKey(HandIn, on_delete=models.PROTECT, related_name="derivations")
    making = models.CharField(max_length=4, choices=[(m.value, m.value) for m in Making])
    pencil = models.CharField(max_length=6, blank=True, choices=[(p.value, p.value) for p in Pencil])
    state = models.CharField(max_length=7, choices=[(s.value, s.value) for s in DerivedState])
    picture = models.OneToOneField(Picture, null=True, blank=True, on_delete=models.PROTECT, related_name="derivation")
    options = models.JSONField(default=dict, blank=True)
    recipe = models.JSONField(default=dict, blank=True)
    reason_code = models.CharField(max_length=40, blank=True)
    reason_values = models.JSONField(default=dict, blank=True)
    asked_at = models.DateTimeField()

    class Meta:
        ordering = ["hand_in", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["made", "kept", "dropped"], picture__isnull=False)
                | Q(state__in=["asked", "failed", "dropped"], picture__isnull=True),
                name="derivation_has_what_it_made",
            ),
            models.CheckConstraint(
                condition=~Q(state="failed") | ~Q(reason_code=""), name="derivation_failed_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.making} ({self.state})"


class Sheet(models.Model):
    """One picture that a derivation is made from. ``set_aside``: keeping the result took it out of the hand-in."""

    derivation = models.ForeignKey(Derivation, on_delete=models.PROTECT, related_name="sheets")
    picture = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="sheet_of")
    position = models.PositiveSmallIntegerField()
    set_aside = models.BooleanField(default=False)

    class Meta:
        ordering = ["derivation", "position"]
        constraints = [
            models.UniqueConstraint(fields=["derivation", "picture"], name="sheet_once_per_derivation"),
            models.UniqueConstraint(fields=["derivation", "position"], name="sheet_position_once"),
        ]

    def __str__(self) -> str:
        return f"sheet {self.position}"
