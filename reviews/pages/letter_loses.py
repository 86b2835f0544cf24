"""What the letter being written loses by a dropped spread: told to whoever writes it, and to nobody else."""

from __future__ import annotations

from collections.abc import Collection

from django.utils.translation import gettext as _

from reviews.models import Book, Seat
from reviews.queries.letters import answers_in_page_order, draft_letter
from reviews.rules import permits
from reviews.rules.states import Deed, Role


def answers_written(book: Book, seat: Seat) -> dict[int, str]:
    """Name the spreads that have an answer in the letter being written, for whoever writes it (2 queries)."""
    letter = draft_letter(book) if permits.may(Role(seat.role), Deed.SET_ANSWER) else None
    return {one.passage_id: one.passage.where for one in answers_in_page_order(letter)} if letter else {}


def out_of_letter_words(before: dict[int, str], after: Collection[int]) -> str:
    """Say whose answers went out of the letter being written; nothing where none did."""
    gone = [where for passage, where in before.items() if passage not in after]
    if not gone:
        return ""
    said = _(" Out of the letter being written: the answer to {where}. Notes on it are kept, and come back with it.")
    return said.format(where="; ".join(gone))
