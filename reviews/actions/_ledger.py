"""Append to the ledger: importable from actions only."""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from datetime import datetime

from reviews.models import Book, LedgerEntry, Passage, Seat
from reviews.queries.held_rows import Held
from reviews.rules.chain import fingerprint
from reviews.rules.states import Deed, Sight

MACHINE_ROLE = "machine"
MACHINE_NAME = "The portal"
SALT_BYTES = 16


def append(
    book: Book,
    deed: Deed,
    *,
    at: datetime,
    seat: Seat | None,
    passage: Passage | None,
    sight: Sight,
    data: Mapping[str, object],
    held: Held,
) -> LedgerEntry:
    """Chain one entry to the book's last one. The caller holds the lock on the book's row."""
    last = LedgerEntry.objects.filter(book=book).order_by("-seq").only("seq", "sha256").first()
    entry = LedgerEntry(
        book=book,
        seq=last.seq + 1 if last else 1,
        at=at,
        deed=deed,
        seat=seat,
        role=seat.role if seat else MACHINE_ROLE,
        by=seat.person.name if seat else MACHINE_NAME,
        passage=passage,
        sight=sight,
        data=json.loads(json.dumps(data)),
        # Without something nobody can guess, whoever sees the fingerprints before and after could try out what stands
        # between: what the other side did, and when.
        rows={"salt": secrets.token_hex(SALT_BYTES), "held": held},
        previous=last.sha256 if last else "",
    )
    entry.sha256 = fingerprint(
        book=book.pk,
        entry=entry.as_entry(),
        seat=entry.seat_id,
        sight=entry.sight,
        previous=entry.previous,
        rows=entry.rows,
    )
    entry.save(force_insert=True)
    return entry
