"""The payments that one side has told of a book's invoices."""

from __future__ import annotations

from reviews.models import Payment
from reviews.rules.states import Said


def payments_told(book_id: int, said: Said) -> dict[int, list[Payment]]:
    """List the payments of one side's word that stand, by invoice (1 query)."""
    found: dict[int, list[Payment]] = {}
    rows = Payment.objects.standing().select_related("invoice").filter(invoice__book=book_id, said=said)
    for row in rows:
        found.setdefault(row.invoice_id, []).append(row)
    return found
