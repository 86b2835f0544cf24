"""Photographed and scanned proofs held against the final art, once per pair of contents and print width."""

from __future__ import annotations

from django.db import models


class SeenProof(models.Model):
    """One photograph against one version of the art. ``result`` is None until it is made.

    Named by content, as a comparison is: it is reached only through a picture that its reader may see.
    """

    sha256 = models.CharField(max_length=64)
    art_sha256 = models.CharField(max_length=64)
    width_um = models.PositiveIntegerField(help_text="Print width of the art in micrometres.")
    method = models.CharField(max_length=40)
    result = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["sha256", "art_sha256", "width_um", "method"], name="seen_proof_once"),
        ]

    def __str__(self) -> str:
        return f"{self.sha256[:8]} beside {self.art_sha256[:8]}"
