"""Whether what the portal stands on answers now. Each raises or says no where it does not."""

from __future__ import annotations

import os
from pathlib import Path

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection

from reviews.queries.schema import schema_now


def database() -> bool:
    """Ask the database for a one."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        return bool(cursor.fetchone())


def tables() -> bool:
    """Say whether the tables are those of this version."""
    found = schema_now()
    return not found.missing and not found.unknown


def store() -> bool:
    """Say whether the store of the pictures answers, or its folder can be written to."""
    if settings.HOUSE:
        default_storage.bucket.meta.client.head_bucket(Bucket=default_storage.bucket.name)  # type: ignore[attr-defined]
        return True
    folder = Path(settings.MEDIA_ROOT)
    return folder.is_dir() and os.access(folder, os.R_OK | os.W_OK | os.X_OK)


def broker() -> bool:
    """Say whether the broker takes a connection; it must answer within its own time-outs."""
    from celery import current_app

    with current_app.connection_for_write() as link:
        link.ensure_connection(max_retries=1, interval_start=0, interval_step=0, interval_max=0, timeout=3)
        link.default_channel.client.ping()
    return True


def leave() -> None:
    """Close what this thread opened."""
    connection.close()
