"""Tables for spreadsheets: the one place that writes them, so that no cell is ever taken for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal

Cell = str | int | float | Decimal

#: A cell that begins with one of these is worked out by spreadsheets instead of shown; the last four are the wide
#: forms that some of them take for the same.
_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def table_bytes(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Write a table as CSV. Words are escaped where a spreadsheet would compute them; numbers stay numbers."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(headings)
    writer.writerows([_shown(cell) for cell in row] for row in rows)
    # The mark at the front lets spreadsheets read the dashes in page numbers as what they are.
    return out.getvalue().encode("utf-8-sig")


def _shown(cell: Cell) -> str:
    if not isinstance(cell, str):
        return str(cell)
    # Blanks before the sign are skipped by some programs, so they do not make a formula harmless.
    return f"'{cell}" if cell.lstrip(" ").startswith(_FORMULA_SIGNS) else cell
