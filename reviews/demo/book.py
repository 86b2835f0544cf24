"""Make the demo book: paint it, read it, tell its story."""

from __future__ import annotations

import tempfile
from pathlib import Path

from reviews.demo.draw import commissions
from reviews.demo.ready import make_all_ready
from reviews.demo.story import extra_commissions, tell
from reviews.demo.teller import Teller
from reviews.models import Book


def make_demo_book() -> Book:
    """Paint about seventy pictures, hand them in through five months of deeds, and return the book."""
    # In a folder beside the temporary files, so that keeping an original is a move within one disk.
    with tempfile.TemporaryDirectory(prefix="demo-") as folder:
        ready = list(make_all_ready([*commissions(), *extra_commissions()], Path(folder)))
        teller = Teller(ready)
        tell(teller)
    return teller.book
