"""An original between being kept and being named by a row: the sweep must not take it for a left-over meanwhile."""

from __future__ import annotations

from django.db import connection

from reviews import storage


def hold_original(sha256: str) -> bool:
    """Keep an original from being cleared away until the transaction ends, and say whether it stands.

    Called inside the transaction that writes its row, and inside the one that clears it away: one comes after the
    other. SQLite lets one transaction write at a time anyhow (1 statement on PostgreSQL, none on SQLite).
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [sha256])
    return storage.is_content_name(sha256) and storage.exists(storage.original_name(sha256))
