"""A fault of a book's ledger, by its code; the sentence is made where people read it."""

from __future__ import annotations

from typing import Any


class LedgerFault:
    """One fault: ``code`` names the sentence that tells it, ``values`` fill it in."""

    def __init__(self, code: str, **values: Any) -> None:
        self.code = code
        self.values = values

    def __repr__(self) -> str:
        return f"LedgerFault({self.code}, {self.values})"
