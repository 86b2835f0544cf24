"""How the printed object says no: a code and its values; the sentence is made where people read it."""

from __future__ import annotations

from typing import Any


class CannotPrint(ValueError):
    """A measure, a plan or a file that cannot be printed or read as given."""

    def __init__(self, code: str, **values: Any) -> None:
        super().__init__(code, values)
        self.code = code
        self.values = values
