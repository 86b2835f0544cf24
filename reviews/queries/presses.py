"""Presses that were answered."""

from __future__ import annotations

from typing import Protocol

from reviews.models import KeyedPress


class Named(Protocol):
    """Whose press, and which."""

    person_id: int
    key: str


def answer_of(pressing: Named | None) -> KeyedPress | None:
    """Find what a press was answered (1 query); None where its first answer is still being made."""
    if pressing is None:
        return None
    return KeyedPress.objects.filter(person=pressing.person_id, key=pressing.key).exclude(status=0).first()
