"""Seats on a book, and the invitations that lead to them."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.crypto import salted_hmac

from reviews.models.books import Book
from reviews.rules.states import Role

_ROLE_CHOICES = [(role.value, role.value) for role in Role]


class Seat(models.Model):
    """A person's role on one book; ``passage`` narrows a guest to one cover meeting."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="seats")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="seats")
    role = models.CharField(max_length=14, choices=_ROLE_CHOICES)
    passage = models.ForeignKey("reviews.Passage", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    since = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    #: Of an agent's seat: whether it also proposes and accepts dates for the illustrator, who says so.
    answers_dates = models.BooleanField(default=False)

    #: Not kept: what the page of the seats finds out about each.
    may_be_ended: bool
    keeps_a_farewell: bool

    class Meta:
        constraints = [
            # One live seat each: a person with two roles on one book could answer themselves.
            models.UniqueConstraint(fields=["book", "person"], condition=Q(ended_at=None), name="one_live_seat"),
            models.CheckConstraint(
                condition=Q(role="guest", passage__isnull=False) | (~Q(role="guest") & Q(passage__isnull=True)),
                name="guest_has_one_passage",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.role}"


class ReadingAsk(models.Model):
    """One spread that an author or an expert reader is asked about, until that ends.

    An expert reader sees the spreads they are asked about and no others.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="reading_asks")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="reading_asks")
    spread = models.ForeignKey("reviews.Spread", on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=600)
    asked_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    #: Not kept: what a look-up counts of each.
    n_notes: int
    looked_at: int | None

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["seat", "spread"], condition=Q(ended_at=None), name="one_live_ask"),
        ]

    def __str__(self) -> str:
        return self.words[:60]


class Invitation(models.Model):
    """A seat on offer.

    The secret in its link is an HMAC of ``seed`` under the portal's own key: whoever reads the
    database alone cannot make the link, and the worker that writes the mail can.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="invitations")
    email = models.EmailField(max_length=254)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=14, choices=_ROLE_CHOICES)
    passage = models.ForeignKey("reviews.Passage", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    seed = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    # When its mail left; until then nobody has been asked.
    sent_at = models.DateTimeField(null=True, blank=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    #: Not kept: what the page of the seats finds out about each.
    has_expired: bool
    trouble: object | None
    may_be_revoked: bool
    shows_address: bool

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["book", "email"], condition=Q(used_at=None, revoked_at=None), name="one_open_invitation"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.role}"

    @property
    def secret(self) -> str:
        """The word in the invitation's link: the row's number, and 256 bits nobody can guess."""
        mac = salted_hmac("roughproof.invitation", f"{self.pk}:{self.seed}", algorithm="sha256")
        return f"{self.pk}-{mac.hexdigest()}"
