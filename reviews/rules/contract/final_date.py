"""The day by which a book's art must be approved, as it stood at any moment of the past."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from reviews.rules.entries import Entry
from reviews.rules.states import Deed


def final_on_at(entries: Iterable[Entry], final_on: date | None, until: datetime) -> date | None:
    """Give the date that held just before `until`, from the one that holds now.

    What the ledger says of later changes is taken back; of a book whose date never changed nothing is said.
    """
    later = [
        entry for entry in entries
        if entry.deed == Deed.CHANGE_BOOK and entry.at >= until and "final_on" in entry.data["changed"]
    ]  # fmt: skip
    if not later:
        return final_on
    before = min(later, key=lambda entry: entry.seq).data["changed"]["final_on"]["from"]
    return date.fromisoformat(before) if before else None
