"""The ledger as the rules see it: what happened, in order.

What ``data`` carries stands in ``payload_shapes``, one shape for each deed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One line of a book's ledger.

    ``seq`` is its place in the chain; what a reader calls it is in ``line_names``.

    ``at`` is an aware UTC moment, ``role`` and ``by`` say who (role ``machine`` for the portal
    itself), ``passage`` is None where a deed concerns the book or several passages.
    """

    seq: int
    at: datetime
    deed: str
    role: str
    by: str
    passage: int | None
    data: Mapping[str, Any]
