"""Codes that left the machine, held against the ledger as it stands."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reviews.models import Book, LedgerEntry
from reviews.queries.ledger import chain_breaks
from reviews.queries.line_names import names_of
from reviews.rules.chain import Break
from reviews.rules.codes import Stand, code_of, stands_in
from reviews.rules.states import Role


@dataclass(frozen=True)
class CheckedCode:
    """One code and what the ledger says to it: ``now`` is the line's code there, None where the line is gone.

    ``elsewhere`` names the line that has this code now, if another does. ``is_outvouched``: a code of a later line
    agrees, which vouches for this line as well, so that only the copy can be wrong.
    """

    given: Stand
    now: str | None
    elsewhere: str | None
    is_outvouched: bool = False

    @property
    def agrees(self) -> bool:
        return self.now == self.given.code


@dataclass(frozen=True)
class CheckedCodes:
    """What came of a check; ``breaks`` are the places where the chain itself does not hold."""

    codes: list[CheckedCode]
    breaks: list[Break]
    last: str

    @property
    def differing(self) -> list[CheckedCode]:
        return [code for code in self.codes if not code.agrees]

    @property
    def agreeing(self) -> list[CheckedCode]:
        return [code for code in self.codes if code.agrees]

    @property
    def agrees(self) -> bool:
        """Say whether there was something to check and all of it holds."""
        return bool(self.codes) and not self.breaks and all(code.agrees for code in self.codes)


def checked(book: Book, role: Role, text: str) -> CheckedCodes:
    """Find the codes in a text and check them, and the whole chain with them (3 queries).

    A code agrees only with a line at the same place; that what stands before it is what stood there then follows from
    the chain, which is therefore walked as well.
    """
    names = names_of(book.pk, role)
    rows = LedgerEntry.objects.filter(book=book).order_by("seq").values_list("seq", "sha256")
    codes = {names[seq]: code_of(sha256) for seq, sha256 in rows.iterator() if seq in names}
    places = {name: place for place, name in names.items()}
    lines = {code: name for name, code in codes.items()}
    found = []
    for given in stands_in(text):
        now = codes.get(given.line)
        found.append(CheckedCode(given, now, None if now == given.code else lines.get(given.code)))
    vouched = max((places[one.given.line] for one in found if one.agrees), default=0)
    found = [replace(one, is_outvouched=places.get(one.given.line, vouched) < vouched) for one in found]
    shared = [name for name in names.values() if "." not in name]
    return CheckedCodes(found, list(chain_breaks(book)), shared[-1] if shared else "0")
