"""A press of a button counts once, also where its answer was lost and it is pressed again.

The view's middleware names the press before the deed runs; the deed writes it down in its own transaction. So either
both hold or neither does, whatever dies in between, and the same press again finds itself answered.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256

from django.db import IntegrityError, transaction
from django.utils import timezone

from reviews.models import KeyedPress

KEPT_FOR = timedelta(days=7)


class PressedBefore(Exception):
    """This very press did its deed already; its answer may have been lost."""


@dataclass
class Pressing:
    """The press under way in this request."""

    person_id: int
    key: str
    # One press may be several deeds (ten files in one form): the first of them stands for all.
    did: bool = False


_pressing: ContextVar[Pressing | None] = ContextVar("pressing", default=None)


@contextmanager
def press_named(pressing: Pressing | None) -> Iterator[None]:
    """Let the deeds inside belong to one press."""
    token = _pressing.set(pressing)
    try:
        yield
    finally:
        _pressing.reset(token)


@contextmanager
def part_of_press(number: int) -> Iterator[None]:
    """Let the deeds inside be one part of the press under way, claimed by itself: the file of a form, counted from 0.

    A press of several deeds that are not one transaction may come to an end in its middle. Pressed again, each part
    says for itself whether it was done.
    """
    pressing = _pressing.get()
    if pressing is None or number == 0:  # the first part bears the name of the whole: its answer is the kept one
        yield
        return
    with press_named(Pressing(pressing.person_id, sha256(f"{pressing.key}\0{number}".encode()).hexdigest())):
        yield


def refuse_repeated() -> None:
    """Raise PressedBefore where the press under way did its deed already; write nothing down."""
    pressing = _pressing.get()
    if pressing is None or pressing.did:
        return
    if KeyedPress.objects.filter(person=pressing.person_id, key=pressing.key).exists():
        raise PressedBefore


def claim_press() -> None:
    """Write down the press under way in the deed's own transaction; raise PressedBefore where it stands already."""
    refuse_repeated()
    pressing = _pressing.get()
    if pressing is None or pressing.did:
        return
    try:
        with transaction.atomic():
            KeyedPress.objects.create(person_id=pressing.person_id, key=pressing.key, at=timezone.now())
    except IntegrityError as problem:
        raise PressedBefore from problem  # The same press twice at the same moment.
    transaction.on_commit(lambda: setattr(pressing, "did", True))


def keep_answer(pressing: Pressing, *, status: int, location: str, body: str) -> None:
    """Keep what a press was answered, for whoever did not get it."""
    KeyedPress.objects.filter(person=pressing.person_id, key=pressing.key).update(
        status=status, location=location[:2000], body=body
    )


def forget_old_presses() -> int:
    """Delete presses so old that nobody is still waiting for their answer; say how many."""
    return KeyedPress.objects.filter(at__lt=timezone.now() - KEPT_FOR).delete()[0]
