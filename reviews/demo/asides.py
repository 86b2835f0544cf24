"""What happens once in the story: those who advise sit down and are asked, and two spreads change places."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reviews.actions import reading, repagination, seats
from reviews.demo.people import ADVISERS
from reviews.demo.teller import Teller
from reviews.rules.repagination import Moving
from reviews.rules.states import Role


def advisers_sit_down(tell: Teller) -> None:
    """Let author, designer, sales and expert reader take their seats."""
    for role, (name, email) in ADVISERS.items():
        with tell.moment():
            person = seats.make_person(email=email, name=name, password=None)
        tell.seats[role] = tell.seat(email, name, role, person=person)


def asked(role: Role, pieces: Sequence[str], words: str) -> Callable[[Teller], None]:
    """Let the editor ask an author or an expert reader about spreads."""

    def deed(tell: Teller) -> None:
        spreads = [tell.passage(piece, "sketch").spread_id for piece in pieces]
        with tell.moment():
            reading.ask_to_read(tell.book.pk, tell.seats[role].pk, spreads, words, actor=tell.seats[Role.EDITOR])

    return deed


def swapped(piece: str, other: str, reason: str) -> Callable[[Teller], None]:
    """Let two spreads change places, with what hangs on them."""

    def deed(tell: Teller) -> None:
        here, there = (tell.passage(one, "ideas").spread_id for one in (piece, other))
        with tell.moment():
            repagination.move_spread(here, there, Moving.SWAP, reason, actor=tell.seats[Role.ART_DIRECTOR])

    return deed
