"""What happens once in the story: those who advise sit down and are asked, spreads change places, one is dropped."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reviews.actions import page_changes, proposals, reading, repagination, seats
from reviews.demo.people import ADVISERS
from reviews.demo.teller import Teller
from reviews.models import Proposal
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.proposals import Matter
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


def drop_proposed(piece: str, reason: str) -> Callable[[Teller], None]:
    """Let the art director propose that a spread goes: work has begun on the book, so nobody drops it alone."""

    def deed(tell: Teller) -> None:
        wanted = WantedPages(what=PageDeed.DROP, spread=tell.passage(piece, "ideas").spread_id)
        with tell.moment():
            page_changes.propose_pages(tell.book.pk, wanted, reason, actor=tell.seats[Role.ART_DIRECTOR])

    return deed


def drop_agreed(tell: Teller) -> None:
    """Let the illustrator agree to it."""
    made = Proposal.objects.get(book=tell.book, matter=Matter.PAGES)
    with tell.moment():
        proposals.accept_proposal(made.pk, actor=tell.seats[Role.ILLUSTRATOR])
