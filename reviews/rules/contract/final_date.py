"""The day by which a book's art must be approved, as it stood at any moment of the past."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from reviews.rules.entries import Entry
from reviews.rules.payload_shapes import ChangeBookData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed


def final_on_at(entries: Iterable[Entry], final_on: date | None, until: datetime) -> date | None:
    """Give the date that held just before `until`, from the one that holds now.

    What the ledger says of later changes is taken back; of a book whose date never changed nothing is said.
    """
    changes = sorted((entry for entry in entries if entry.deed == Deed.CHANGE_BOOK), key=lambda entry: entry.seq)
    told = [payload_of(entry, ChangeBookData)["changed"] for entry in changes if entry.at >= until]
    later = [changed["final_on"] for changed in told if "final_on" in changed]
    if not later:
        return final_on
    before = later[0]["from"]
    return date.fromisoformat(before) if before else None
