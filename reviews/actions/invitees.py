"""Offer several seats at once: all of them, or none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reviews.actions._deed import deeds_on
from reviews.actions.seats import offer
from reviews.models import Book, Invitation, Seat
from reviews.rules.states import Deed, Refused, Role


@dataclass(frozen=True, kw_only=True)
class Invitee:
    """Whom to invite as what."""

    email: str
    name: str
    role: Role


class SomeRefused(Refused):
    """Nobody was invited: ``why`` says against whom something spoke, by place from 0."""

    def __init__(self, why: Mapping[int, Refused]) -> None:
        super().__init__("some-not-invited")
        self.why = why


def invite_several(book_id: int, people: Sequence[Invitee], *, actor: Seat) -> list[Invitation]:
    """Offer each a seat by mail, in one transaction; raise SomeRefused with every reason that speaks against it.

    Each is an entry of its own, as if they were invited one by one; a person named twice is refused the second time.
    """
    made: list[Invitation] = []
    why: dict[int, Refused] = {}
    named: set[str] = set()
    with deeds_on(Book, book_id, actor) as acts:
        for n, one in enumerate(people):
            address = one.email.strip().lower()
            if address in named:
                why[n] = Refused("invited-twice", email=address)
                continue
            named.add(address)
            try:
                with acts.deed(Deed.INVITE) as act:
                    made.append(offer(act, email=one.email, name=one.name, role=one.role))
            except Refused as refused:
                why[n] = refused
        if why:
            raise SomeRefused(why)
    return made
