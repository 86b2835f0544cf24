"""An agreement on a pause, read off its ledger line."""

from __future__ import annotations

from datetime import date

from reviews.rules.agreement_payloads import AgreePauseData
from reviews.rules.contract.pauses import PauseWord
from reviews.rules.entries import Entry
from reviews.rules.payloads import payload_of
from reviews.rules.states import Side


def word_of(entry: Entry) -> PauseWord:
    """Read what both sides agreed on."""
    data = payload_of(entry, AgreePauseData)
    return PauseWord(
        pause=data["pause"],
        seq=entry.seq,
        first=date.fromisoformat(data["first"]),
        last=date.fromisoformat(data["last"]) if data["last"] else None,
        reason=data["reason"],
        by=entry.by,
        proposed_by=data["proposed"]["by"],
        at=entry.at,
        forgives=tuple(Side(side) for side in data["forgives"]),
    )
