"""Plates of special finishes: what each is for, which version of the art it lies on, and what was measured on it."""

from __future__ import annotations

from django.db import models

from reviews.models.hand_ins import Picture
from reviews.models.seats import Seat
from reviews.press.finish import Finish, PlateWay


class PlateTold(models.Model):
    """What somebody told of a plate. ``art`` is the version of the art it was made for; ``metal`` how foil looks."""

    picture = models.OneToOneField(Picture, on_delete=models.PROTECT, related_name="plate_told")
    art = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="+")
    finish = models.CharField(max_length=20, choices=[(one.value, one.value) for one in Finish])
    way = models.CharField(max_length=20, choices=[(one.value, one.value) for one in PlateWay])
    metal = models.CharField(max_length=20, blank=True)
    told_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    told_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.finish} on {self.picture}"


class PlateCheck(models.Model):
    """One plate measured against one version of the art. ``result`` is None until measured.

    ``laid`` says how both lie on the page and where it folds, as ``queries.plates`` writes it. Named by content, as
    inks are: it is reached only through a picture that its reader may see.
    """

    sha256 = models.CharField(max_length=64)
    art_sha256 = models.CharField(max_length=64)
    finish = models.CharField(max_length=20)
    laid = models.CharField(max_length=600)
    method = models.CharField(max_length=40)
    result = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sha256", "art_sha256", "finish", "laid", "method"], name="plate_measured_once"
            ),
        ]

    def __str__(self) -> str:
        return f"plate {self.sha256[:8]}"
