"""What the door knows: where people are signed in, what was tried, and the second step that some ask for."""

from __future__ import annotations

import base64

from django.conf import settings
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models
from django.utils.crypto import salted_hmac

from reviews.rules.attempts import Trying


class LiveSession(AbstractBaseSession):
    """One browser in which somebody is signed in, until it ends; ``portal.sessions`` writes it."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.CASCADE, related_name="live_sessions"
    )
    address = models.CharField(max_length=45, blank=True)
    browser = models.CharField(max_length=200, blank=True)
    began_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField()

    @classmethod
    def get_session_store_class(cls) -> type:
        from django.utils.module_loading import import_string

        return import_string(f"{settings.SESSION_ENGINE}.SessionStore")

    @property
    def handle(self) -> str:
        """A name for the page: the key itself would let a reader of the page carry the session on."""
        return salted_hmac("roughproof.live-session", self.session_key, algorithm="sha256").hexdigest()[:32]


class Attempt(models.Model):
    """One try at a password or a code. The name is kept as an HMAC: people type passwords into the wrong field."""

    kind = models.CharField(max_length=8, choices=[(kind.value, kind.value) for kind in Trying])
    who = models.CharField(max_length=64)
    address = models.CharField(max_length=45, blank=True)
    # Which recognised browser it came from, or nothing.
    place = models.CharField(max_length=32, blank=True)
    at = models.DateTimeField(db_index=True)
    succeeded = models.BooleanField(default=False)

    class Meta:
        indexes = [
            models.Index(fields=["who", "at"], name="attempt_by_who"),
            models.Index(fields=["address", "at"], name="attempt_by_address"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.at}"


class SecondStep(models.Model):
    """A person's wish to be asked for a code of their telephone after the password.

    The secret is an HMAC of ``seed`` under the portal's own key: whoever reads the database alone cannot make codes.
    """

    person = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="second_step")
    seed = models.CharField(max_length=64)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    # A code is good for half a minute and taken once: this is the number of the last one.
    last_counter = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"second step of {self.person_id}"

    @property
    def secret(self) -> str:
        """The secret as authenticator apps take it."""
        mac = salted_hmac("roughproof.second-step", f"{self.person_id}:{self.seed}", algorithm="sha256")
        return base64.b32encode(mac.digest()[:20]).decode()


class RecoveryCode(models.Model):
    """A code for the day the telephone is lost; kept as an HMAC, used once."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="recovery_codes")
    mac = models.CharField(max_length=64)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "mac"], name="recovery_code_once")]

    def __str__(self) -> str:
        return f"recovery code of {self.person_id}"
