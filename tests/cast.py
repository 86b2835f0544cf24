"""The people of every test, so that each reads as a story.

Juniper draws, Corvin directs the art, Petra edits, Desmond is the agent, Tamsin produces, Wilf is a
guest of the cover meeting. Osric has an account and no seat anywhere: he must see nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils import timezone

from reviews.actions.books import NewBook, make_book
from reviews.actions.seats import invite, make_person, take_seat
from reviews.models import Book, Passage, Person, Seat
from reviews.rules.states import Role
from tests.kept import made_once

PASSWORD = "a pail of still water"

NAMES = {
    Role.ILLUSTRATOR: ("Juniper Aldersea", "juniper@aldersea.example"),
    Role.ART_DIRECTOR: ("Corvin Mallowe", "corvin@thimblereed.example"),
    Role.EDITOR: ("Petra Innisfold", "petra@thimblereed.example"),
    Role.AGENT: ("Desmond Rookley", "desmond@rookley.example"),
    Role.PRODUCTION: ("Tamsin Garrick", "tamsin@thimblereed.example"),
}
ADVISING = {
    Role.AUTHOR: ("Ottoline Grebe", "ottoline@grebe.example"),
    Role.DESIGNER: ("Basil Thornwick", "basil@thimblereed.example"),
    Role.SALES: ("Marnie Coldwater", "marnie@thimblereed.example"),
    Role.READER: ("Edda Fenwright", "edda@fenwright.example"),
}
GUEST = ("Wilf Sandor", "wilf@thimblereed.example")
STRANGER = ("Osric Penhallow", "osric@elsewhere.example")


@dataclass
class Cast:
    """One book with everybody in their seat."""

    book: Book
    illustrator: Seat
    art_director: Seat
    editor: Seat
    agent: Seat
    production: Seat
    stranger: Person

    def seat(self, role: Role) -> Seat:
        return getattr(self, role.value)

    def passage(self, label: str, kind: str) -> Passage:
        return Passage.objects.with_places().get(book=self.book, spread__label=label, stage__kind=kind)

    def seat_advisers(self) -> dict[Role, Seat]:
        """Let author, designer, sales and expert reader sit down, by real invitations."""
        seated = {}
        for role, (name, email) in ADVISING.items():
            made = invite(self.book.pk, email=email, name=name, role=role, actor=self.art_director)
            seated[role] = take_seat(made.secret, password=PASSWORD)
        return seated

    def invite_guest(self, passage: Passage) -> Seat:
        """Let Wilf into one passage of the cover meeting."""
        invitation = invite(
            self.book.pk,
            email=GUEST[1],
            name=GUEST[0],
            role=Role.GUEST,
            passage_id=passage.pk,
            actor=self.art_director,
        )
        return take_seat(invitation.secret)


def gather(new: NewBook) -> Cast:
    """Set up a book by Corvin and seat everybody through real invitations."""
    return made_once(f"cast {new!r}", lambda: _gather(new))


def _gather(new: NewBook) -> Cast:
    people = {
        role: Person.objects.filter(email=email).first() or make_person(email=email, name=name, password=None)
        for role, (name, email) in NAMES.items()
    }
    book = make_book(new, actor=people[Role.ART_DIRECTOR])
    seats = {Role.ART_DIRECTOR: book.seats.get()}
    for role, person in people.items():
        if role not in seats:
            # Each side seats its own people; the publisher who begins a book invites the first illustrator.
            host = seats[Role.ILLUSTRATOR if role == Role.AGENT else Role.ART_DIRECTOR]
            invitation = invite(book.pk, email=person.email, name=person.name, role=role, actor=host)
            seats[role] = take_seat(invitation.secret, person=person)
    stranger = Person.objects.filter(email=STRANGER[1]).first() or make_person(
        email=STRANGER[1], name=STRANGER[0], password=None
    )
    return Cast(book=book, stranger=stranger, **{role.value: seat for role, seat in seats.items()})


def sign_in(client, person: Person) -> None:
    """Sign a test client in without a password, as the session middleware would keep it."""
    person.last_login = timezone.now()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
