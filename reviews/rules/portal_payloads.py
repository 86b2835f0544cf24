"""What the ledger keeps of the portal's own deeds in books that are older than a rule."""

from __future__ import annotations

from typing import Annotated, NotRequired, TypedDict

from reviews.rules.payload_shapes import LATER, Where


class GiveToPrinterData(Where):
    """A proof that the illustrator was to make, as it opened, is the printer's from now on; ``to`` is as it stands.

    ``with_it`` names the others of which the portal says the same at this moment: one mail tells of them all.
    """

    to: str
    with_it: NotRequired[Annotated[list[str], LATER]]


class HoldRowsData(TypedDict):
    """What the rows of a book older than the words in its ledger say now; the rows themselves are held beside it."""
