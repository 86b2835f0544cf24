"""Which book's names for its stages are spoken now.

A book names its stages; whatever is said of them is said from many places that know a stage by its code alone. As with
a language or a time zone, the book that is taken up says which names hold until another is taken up: fetching a book
for somebody does (``queries.access``), and so do a deed, a mail, a paper. Where many books are told of at once, each is
taken up before it is told of.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextvars import ContextVar
from typing import Protocol

from reviews.rules.stage_names import name_of
from reviews.rules.states import in_a_sentence


class NamesStages(Protocol):
    """A book, as far as it names its stages."""

    @property
    def stage_names(self) -> Mapping[str, str]: ...


_spoken: ContextVar[Mapping[str, str] | None] = ContextVar("stage_names", default=None)


def speak_of(book: NamesStages | None) -> None:
    """Let a book's names hold from here on; None lets no book's."""
    _spoken.set(book.stage_names if book is not None else None)


def own_name(stage: str) -> str:
    """Give the spoken book's own name of a stage; nothing where it has none."""
    return (_spoken.get() or {}).get(stage, "")


def stage_name(stage: str) -> str:
    """Name a stage as the spoken book does."""
    return name_of(stage, _spoken.get() or {})


def where_named(spread: str, stage: str, own: Mapping[str, str] | None = None) -> str:
    """Name a spread at a stage: "Pages 4–5, rough sketch"; ``own`` are a book's names, else the spoken book's."""
    name = name_of(stage, own) if own is not None else stage_name(stage)
    return f"{spread}, {in_a_sentence(name)}"
