"""Which clock the plain times of a page are told by: the reader's own, or that of the book they read.

Whoever has told their time zone reads in it what was written, sent or used when; others read it where the book is
counted. A date that the count uses is told where the book is counted, whoever reads.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Protocol
from zoneinfo import ZoneInfo

from django.utils import timezone


class IsCounted(Protocol):
    """A book, as far as it is counted in a time zone."""

    @property
    def zone(self) -> str: ...


_follows: ContextVar[bool] = ContextVar("follows_the_books_clock", default=False)


@contextmanager
def reading_in(zone: str) -> Iterator[None]:
    """Tell plain times in a reader's zone while a page is made; without one, in that of the book it takes up."""
    token = _follows.set(not zone)
    try:
        with timezone.override(ZoneInfo(zone) if zone else None):
            yield
    finally:
        _follows.reset(token)


def take_up(book: IsCounted) -> None:
    """Tell plain times where a book is counted, if the reader has told no zone. Outside a page nothing changes."""
    if _follows.get():
        timezone.activate(ZoneInfo(book.zone))
