"""What one side proposes to the other: a date, the terms, a pause. It holds once the other side accepts."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.books import Book
from reviews.models.hand_ins import HandIn
from reviews.models.passages import Passage
from reviews.models.seats import Seat
from reviews.rules.proposals import Matter, ProposalState, WhichDate, side_of
from reviews.rules.states import Role, Side


class ProposalQuerySet(models.QuerySet["Proposal"]):
    def open(self) -> ProposalQuerySet:
        """Keep those that nobody has ended; one that was overtaken may be among them until somebody looks."""
        return self.filter(state=ProposalState.OPEN)

    def with_names(self) -> ProposalQuerySet:
        """Join what every card and sentence about a proposal needs."""
        return self.select_related("book", "passage__spread", "passage__stage", "by__person", "ended_by__person")


class Proposal(models.Model):
    """One proposal, and what became of it.

    ``from_on`` and ``to_on`` are the date as it stood and as proposed; of proposed terms ``from_on`` is the day they
    name; of a pause they are its first and last day (without a last one it is called off), and ``pause`` numbers the
    one that would be changed. ``pages`` is what is asked of the book's pages and what would come of it. ``hand_in`` is
    the passage's newest hand-in at the time: another one shows that a proposed date has lost its object. ``forgives``:
    the days late until the agreement are forgiven with it.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="proposals")
    number = models.PositiveIntegerField()
    matter = models.CharField(max_length=8, choices=[(m.value, m.value) for m in Matter])
    state = models.CharField(
        max_length=10, choices=[(s.value, s.value) for s in ProposalState], default=ProposalState.OPEN.value
    )
    passage = models.ForeignKey(Passage, null=True, blank=True, on_delete=models.PROTECT, related_name="proposals")
    which = models.CharField(max_length=8, choices=[(w.value, w.value) for w in WhichDate], blank=True)
    hand_in = models.ForeignKey(HandIn, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    from_on = models.DateField()
    to_on = models.DateField(null=True, blank=True)
    pause = models.PositiveSmallIntegerField(null=True, blank=True)
    terms = models.JSONField(null=True, blank=True)
    pages = models.JSONField(null=True, blank=True)
    # Whether terms are asked to hold from their day though it may be over when the other side agrees.
    reaches_back = models.BooleanField(default=False)
    reason = models.TextField(blank=True)
    house_remark = models.TextField(blank=True)
    forgives = models.BooleanField(default=False)
    by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    answers = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="answered_with")
    ended_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_words = models.TextField(blank=True)

    objects = ProposalQuerySet.as_manager()

    class Meta:
        ordering = ["book", "number"]
        constraints = [
            models.UniqueConstraint(fields=["book", "number"], name="proposal_once"),
            models.UniqueConstraint(
                fields=["passage", "which"], condition=Q(state="open", matter="date"), name="one_open_date"
            ),
            models.UniqueConstraint(
                fields=["book", "matter"], condition=Q(state="open") & ~Q(matter="date"), name="one_open_matter"
            ),
            models.CheckConstraint(
                condition=Q(state="open", ended_at=None, ended_by=None)
                | (~Q(state="open") & Q(ended_at__isnull=False, ended_by__isnull=False)),
                name="proposal_ended_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(matter="date", passage__isnull=False, to_on__isnull=False)
                | Q(matter="terms", passage=None, terms__isnull=False)
                | Q(matter="pause", passage=None, terms=None, to_on__isnull=False)
                | Q(matter="pause", passage=None, terms=None, pause__isnull=False)
                | Q(matter="pages", passage=None, terms=None, pause=None, pages__isnull=False),
                name="proposal_has_its_object",
            ),
        ]

    def __str__(self) -> str:
        return f"proposal {self.number}"

    @property
    def side(self) -> Side:
        """Name the side that proposes; needs the seat joined."""
        return side_of(Role(self.by.role))
