"""The hash chain of a ledger: what each entry's fingerprint covers, and how a break shows."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC
from enum import StrEnum
from typing import Any

from reviews.rules.entries import Entry


@dataclass(frozen=True, kw_only=True)
class Link:
    """One stored entry with the fields that only the chain needs."""

    entry: Entry
    seat: int | None
    sight: str
    previous: str
    sha256: str
    rows: Mapping[str, Any] | None = None


class BreakKind(StrEnum):
    """How a break shows: an entry lacks, does not follow the one before, or was changed."""

    MISSING = "missing"
    UNLINKED = "unlinked"
    CHANGED = "changed"


@dataclass(frozen=True)
class Break:
    """Where the chain does not hold: at which entry, how it shows, and which entry ``about`` it is."""

    seq: int
    why: BreakKind
    about: int


def fingerprint(
    *, book: int, entry: Entry, seat: int | None, sight: str, previous: str, rows: Mapping[str, Any] | None = None
) -> str:
    """Hash an entry together with the hash of the one before it (SHA-256 over canonical JSON).

    Entries of the first form hold no ``rows``; their hash covers none, so that they still verify, and rows taken from
    a later entry change its hash.
    """
    body = [
        previous,
        book,
        entry.seq,
        entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
        entry.deed,
        seat,
        entry.role,
        entry.by,
        entry.passage,
        sight,
        entry.data,
    ]
    if rows is not None:
        body.append(rows)
    text = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def breaks(book: int, links: Iterable[Link]) -> Iterator[Break]:
    """Walk a book's chain in stored order and name every place where it was tampered with."""
    previous, expected_seq = "", 1
    for link in links:
        seq = link.entry.seq
        if seq != expected_seq:
            yield Break(seq, BreakKind.MISSING, expected_seq)
        if link.previous != previous:
            yield Break(seq, BreakKind.UNLINKED, seq)
        if link.sha256 != fingerprint(
            book=book, entry=link.entry, seat=link.seat, sight=link.sight, previous=link.previous, rows=link.rows
        ):
            yield Break(seq, BreakKind.CHANGED, seq)
        previous, expected_seq = link.sha256, seq + 1
