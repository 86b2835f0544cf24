"""How far a book that was just set up has come: who sits, who is invited, what is written."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Exists, OuterRef
from django.utils import timezone

from reviews.models import Book, Invitation, Proposal, Seat, TermsVersion
from reviews.rules.proposals import Matter, ProposalState
from reviews.rules.states import Role


@dataclass(frozen=True, kw_only=True)
class SetUpSoFar:
    """What is there of a book beside its pages."""

    has_illustrator: bool
    has_art_director: bool
    illustrator_is_invited: bool
    art_director_is_invited: bool
    has_terms: bool
    terms_are_proposed: bool


def set_up_so_far(book: Book) -> SetUpSoFar:
    """Look up who sits and is invited, and whether terms hold or are proposed (1 query)."""
    seats = Seat.objects.filter(book=OuterRef("pk"), ended_at=None)
    open_ones = {"book": OuterRef("pk"), "used_at": None, "revoked_at": None, "expires_at__gt": timezone.now()}
    invited = Invitation.objects.filter(**open_ones)
    proposed = Proposal.objects.filter(book=OuterRef("pk"), state=ProposalState.OPEN, matter=Matter.TERMS)
    found = Book.objects.filter(pk=book.pk).values(
        has_illustrator=Exists(seats.filter(role=Role.ILLUSTRATOR)),
        has_art_director=Exists(seats.filter(role=Role.ART_DIRECTOR)),
        illustrator_is_invited=Exists(invited.filter(role=Role.ILLUSTRATOR)),
        art_director_is_invited=Exists(invited.filter(role=Role.ART_DIRECTOR)),
        has_terms=Exists(TermsVersion.objects.filter(book=OuterRef("pk"))),
        terms_are_proposed=Exists(proposed),
    )
    return SetUpSoFar(**found.get())
