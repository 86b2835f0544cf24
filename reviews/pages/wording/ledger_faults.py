"""What is wrong with a book's ledger, for whoever checks it."""

from __future__ import annotations

from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reviews.rules.chain import Break
from reviews.rules.faults import LedgerFault

#: Longer words are shortened where a difference is named; enough is left to find them by.
MOST_SHOWN = 80

FAULTS: dict[str, Promise] = {
    "chain-missing": gettext_lazy("Entry {seq}: entry {about} is missing or out of order."),
    "chain-unlinked": gettext_lazy("Entry {seq}: entry {about} does not follow the entry before it."),
    "chain-changed": gettext_lazy("Entry {seq}: entry {about} was changed after it was written."),
    "no-sum": gettext_lazy(
        "The entries cannot be added up any more: one lacks or names what is not there ({problem})."
    ),
    "passage-only-stored": gettext_lazy("Passage {passage} is only in the stored rows."),
    "passage-only-told": gettext_lazy("Passage {passage} is only in the ledger."),
    "passage-differs": gettext_lazy("Passage {passage} is not where its ledger leaves it: {differences}."),
    "hand-in-untold": gettext_lazy("Hand-in {number} of passage {passage} has no entry in the ledger."),
    "hand-in-not-stored": gettext_lazy("Hand-in {number} of passage {passage} is in the ledger and is not stored."),
    "hand-in-pictures": gettext_lazy(
        "Hand-in {number} of passage {passage} does not hold the pictures it was handed in with."
    ),
    "letter-differs": gettext_lazy("The ledger tells of letter {told} where letter {stored} is stored."),
    "terms-differ": gettext_lazy("Version {number} of the terms is not the one its ledger entry carries."),
    "pauses-differ": gettext_lazy("The pauses that the book carries are not those its ledger tells of."),
    "calendars-differ": gettext_lazy("The calendars that the book carries are not those of its terms."),
    "row-gone": gettext_lazy("{kind} {number} is gone; entry {seq} names it."),
    "row-there-again": gettext_lazy("{kind} {number} is there again; entry {seq} removed it."),
    "row-unheld": gettext_lazy("{kind} {number} is in the rows, and no entry names it."),
    "row-differs": gettext_lazy(
        "{kind} {number}: {column} is {stored_value}, and entry {seq} of the ledger says {held_value}."
    ),
    "file-not-stored": gettext_lazy("The file of picture {picture}, {file}, is not in the store."),
    "file-size-differs": gettext_lazy(
        "The file of picture {picture}, {file}, has {size} bytes, and {n_bytes} were put in."
    ),
    "file-bytes-differ": gettext_lazy(
        "The file of picture {picture}, {file}, is not the one that was put in: its bytes have another fingerprint."
    ),
    "paper-not-stored": gettext_lazy("The PDF of letter {letter} is not in the store."),
    "paper-bytes-differ": gettext_lazy(
        "The PDF of letter {letter} is not the one that was made: its bytes have another fingerprint."
    ),
    "stamp-does-not-hold": gettext_lazy("The time stamp of entry {seq} does not hold: {problem}."),
    "stamp-other-time": gettext_lazy("The time stamp of entry {seq} tells another time than its row."),
}


def fault_words(fault: LedgerFault) -> str:
    """Tell one fault in a sentence."""
    return str(FAULTS[fault.code]).format(**{name: _said(name, value) for name, value in fault.values.items()})


def break_words(broken: Break) -> str:
    """Tell one place where the chain does not hold."""
    return str(FAULTS[f"chain-{broken.why}"]).format(seq=broken.seq, about=broken.about)


def _said(name: str, value: Any) -> Any:
    if name == "kind":
        return value.capitalize()
    if name.endswith("_value"):
        return _shown(value)
    if name == "differences":
        told = _("{name} is {stored}, and the ledger says {told}")
        return "; ".join(told.format(name=each, stored=stored, told=said) for each, stored, said in value)
    return "–" if value is None else value


def _shown(value: Any) -> str:
    if value is None or value == "":
        return _("empty")
    text = f"“{value}”" if isinstance(value, str) else str(value)
    return text if len(text) <= MOST_SHOWN else f"{text[:MOST_SHOWN]}…”"
