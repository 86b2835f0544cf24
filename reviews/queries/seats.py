"""Who sits where on a book, and to whom a seat is on offer."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils import timezone

from reviews.models import Book, Invitation, Passage, Person, Seat
from reviews.queries.access import NotAllowed, NotThere, get_book
from reviews.queries.trouble import INVITING, troubles
from reviews.rules import permits
from reviews.rules.states import Deed, Gate, Role, StageKind


@dataclass(frozen=True)
class SeatsPage:
    live: list[Seat]
    ended: list[Seat]
    invitations: list[Invitation]


def seats_of(book: Book) -> SeatsPage:
    """List a book's seats in the order they were taken, and its open invitations (3 queries)."""
    seats = list(
        Seat.objects.select_related("person", "passage__spread", "passage__stage")
        .filter(book=book)
        .order_by("since", "pk")
    )
    invitations = (
        Invitation.objects.select_related("invited_by__person", "passage__spread", "passage__stage")
        .filter(book=book, used_at=None, revoked_at=None)
        .order_by("expires_at", "pk")
    )
    now = timezone.now()
    offered = list(invitations)
    hindered = troubles(INVITING, (invitation.pk for invitation in offered))
    for invitation in offered:
        invitation.has_expired = invitation.expires_at <= now
        invitation.trouble = hindered.get(invitation.pk)
    return SeatsPage(
        live=[seat for seat in seats if seat.ended_at is None],
        ended=[seat for seat in seats if seat.ended_at is not None],
        invitations=offered,
    )


def ever_held(book_id: int) -> frozenset[Role]:
    """Name the parts that somebody has, or once had, on a book (1 query)."""
    held = Seat.objects.filter(book_id=book_id).order_by().values_list("role", flat=True).distinct()
    return frozenset(map(Role, held))


def guest_passages(book: Book) -> list[Passage]:
    """List the passages a guest can be asked about: those at the idea stage that the publisher sees (1 query)."""
    return list(
        Passage.objects.live()
        .select_related("spread", "stage")
        .filter(book=book, stage__kind=StageKind.IDEAS)
        .exclude(stage__gate=Gate.HIDDEN)
        .order_by("spread__position")
    )


def get_invitation(person: Person, invitation_id: int, *, deed: Deed) -> tuple[Invitation, Seat]:
    """Fetch an invitation for a deed (2 queries)."""
    invitation = Invitation.objects.filter(pk=invitation_id).first()
    if invitation is None:
        raise NotThere
    invitation.book, seat = get_book(person, invitation.book_id, deed=deed)
    return invitation, seat


def get_seat(person: Person, seat_id: int, *, deed: Deed) -> tuple[Seat, Seat]:
    """Fetch somebody's seat, and one's own, for a deed (2 queries)."""
    other = Seat.objects.select_related("person").filter(pk=seat_id).first()
    if other is None:
        raise NotThere
    other.book, seat = get_book(person, other.book_id, deed=deed)
    if deed == Deed.END_SEAT and not permits.may_end(Role(seat.role), Role(other.role)):
        raise NotAllowed
    return other, seat


def has_illustrator(book_id: int) -> bool:
    """Say whether somebody sits in the illustrator's seat now (1 query)."""
    return Seat.objects.filter(book=book_id, role=Role.ILLUSTRATOR, ended_at=None).exists()
