"""What `backup` and `restore` share: what a backup says of itself, and which names may stand in it."""

from __future__ import annotations

import hashlib
import hmac
import re
from typing import Any

from django.conf import settings
from django.utils import timezone

from reviews.queries.snapshots import Snapshot

FORMAT = 1
MODE_WORDS = {"embedded": "embedded mode", "house": "house mode"}
PICTURES = "pictures/"
MAIL = "mail/"
KEY = "secret.key"
# Anything else in a backup was not written by us; no part may begin with a dot, so none leads out of its folder.
_NAME = re.compile(r"(?:pictures|mail|tables)(?:/[A-Za-z0-9_][A-Za-z0-9_.@-]*)+|database\.sqlite3|secret\.key")
_BY_HASH = re.compile(r"(?:originals|papers)/[0-9a-f]{2}/([0-9a-f]{64})(?:\.pdf)?")


def head_of(snapshot: Snapshot) -> dict[str, Any]:
    """Say what a backup is of."""
    return {
        "roughproof_backup": FORMAT,
        "mode": settings.MODE,
        "made_at": timezone.now().isoformat(timespec="seconds"),
        "migrations": [list(each) for each in snapshot.migrations],
        "columns": snapshot.columns,
        "key_mark": key_mark(settings.SECRET_KEY),
    }


def key_mark(key: str) -> str:
    """Give a word that tells whether two secret keys are the same, and nothing else about them."""
    return hmac.new(key.encode(), b"which key was this backup made under", hashlib.sha256).hexdigest()[:16]


def is_a_name(name: str) -> bool:
    """Say whether a member's name is one that a backup may have."""
    return _NAME.fullmatch(name) is not None


def hash_named_by(stored_name: str) -> str:
    """Give the SHA-256 that a stored file's own name promises, or nothing where it promises none."""
    found = _BY_HASH.fullmatch(stored_name)
    return found[1] if found else ""


def counted(n: int, one: str) -> str:
    """Write a number of things."""
    return f"{n} {one}{'' if n == 1 else 's'}"
