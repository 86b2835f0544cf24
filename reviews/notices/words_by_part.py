"""One ledger entry in the words of a mail, for one part in the book."""

from __future__ import annotations

from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.page_changes import repaged_sentence
from reviews.rules import permits
from reviews.rules.entries import Entry
from reviews.rules.states import Deed, Role


def told_to(entry: Entry, role: Role) -> str:
    """Tell an entry without what this part does not see.

    A change of the pages is told to whoever works on them, and what it does to money to whoever sees the terms.
    """
    if entry.deed == Deed.REPAGE:
        return repaged_sentence(entry, sees_money=permits.sees(role, "terms"))
    return sentence(entry)
