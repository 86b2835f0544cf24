"""Have printers' sheets looked at for their trim, and keep what was found."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from reviews import jobs
from reviews.models import Picture
from reviews.press.proof_sheet import SHEET_METHOD
from reviews.queries.proof_sheets import SHEET, sheets_not_looked_at


def ask_for_sheets_nobody_looked_at() -> int:
    """Have sheets looked at that were read before that was done; say how many (1 query where none)."""
    numbers = list(sheets_not_looked_at().values_list("pk", flat=True))
    for number in numbers:
        with transaction.atomic():
            jobs.enqueue(jobs.PROOF_SHEET, number, key=f"{jobs.PROOF_SHEET}:{number}:{SHEET_METHOD}")
    return len(numbers)


def keep_sheet(sha256: str, found: dict[str, Any]) -> None:
    """Write down where the trim is on every printer's picture of this content.

    No deed of anyone's and no ledger entry: the same file always gives the same, and nothing about the book changes.
    """
    with transaction.atomic():
        for picture in sheets_not_looked_at().filter(sha256=sha256).select_for_update(of=("self",)):
            Picture.objects.filter(pk=picture.pk).update(facts=picture.facts | {SHEET: found})
