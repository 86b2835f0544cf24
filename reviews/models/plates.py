"""Plates of special finishes: what each is for, which version of the art it lies on, and what was measured on it."""

from __future__ import annotations

from django.db import models

from reviews.models.hand_ins import Picture
from reviews.models.seats import Seat
from reviews.press.finish import Finish, PlateWay


class PlateTold(models.Model):
    """What somebody told of a plate. ``art`` is the version of the art it was made for; ``metal`` how foil looks.

    A plate is a picture of its own, or a spot channel of the art's file: then ``channel`` says which of those beyond
    the colours, counted from 0, ``channel_name`` what the file calls it, and ``picture`` and ``art`` are the same.
    """

    picture = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="plates_told")
    channel = models.PositiveSmallIntegerField(null=True, blank=True)
    channel_name = models.CharField(max_length=80, blank=True)
    art = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="+")
    finish = models.CharField(max_length=20, choices=[(one.value, one.value) for one in Finish])
    way = models.CharField(max_length=20, choices=[(one.value, one.value) for one in PlateWay])
    metal = models.CharField(max_length=20, blank=True)
    told_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    told_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["picture"], condition=models.Q(channel=None), name="plate_told_once"),
            models.UniqueConstraint(fields=["picture", "channel"], name="spot_plate_told_once"),
        ]

    def __str__(self) -> str:
        return f"{self.finish} on {self.picture}"


class PlateCheck(models.Model):
    """One plate measured against one version of the art. ``result`` is None until measured.

    ``laid`` says how both lie on the page and where it folds, and which spot channel the plate is, as
    ``queries.plates`` writes it. Named by content, as
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
