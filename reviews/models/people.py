"""People: an address, a name, a password or none."""

from __future__ import annotations

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac

from reviews.rules.mailing import MailChoice


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, username: str | None) -> Person:
        # Addresses are stored in lower case; people type them as they like.
        return self.get(email=(username or "").strip().lower())


class Person(AbstractBaseUser):
    """Somebody who can sign in; rights come from seats on books, never from the person."""

    email = models.EmailField(max_length=254, unique=True)
    name = models.CharField(max_length=120)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField()
    # Sees how the portal runs: work that waits, room on the disk. No book opens by it.
    runs_portal = models.BooleanField(default=False)
    mail = models.CharField(
        max_length=8, choices=[(c.value, c.value) for c in MailChoice], default=MailChoice.AT_ONCE.value
    )
    # Where the clock hangs by which this person reads plain times; empty: by that of the book.
    zone = models.CharField(max_length=64, blank=True, default="")
    # The last morning whose mail was put together, where the person's first book counts its days.
    reminded_on = models.DateField(null=True, blank=True)

    objects = PersonManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"

    class Meta:
        constraints = [models.UniqueConstraint(Lower("email"), name="person_email_once")]

    def __str__(self) -> str:
        return self.name

    @property
    def stop_secret(self) -> str:
        """The word in the link that stops this person's mail: signed, so that nobody can stop another's."""
        mac = salted_hmac("roughproof.stop-mail", str(self.pk), algorithm="sha256")
        return f"{self.pk}-{mac.hexdigest()}"
