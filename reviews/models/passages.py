"""Passages: one spread at one stage."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.books import Book, Spread, Stage
from reviews.models.stage_names import where_named
from reviews.rules.decisions import Standing
from reviews.rules.states import Gate, PassageState


class PassageQuerySet(models.QuerySet["Passage"]):
    def live(self) -> PassageQuerySet:
        return self.filter(spread__removed_at=None)

    def with_places(self) -> PassageQuerySet:
        """Join what every sentence about a passage needs: one query, no more."""
        return self.select_related("book__print_set_up", "spread", "stage")


class Passage(models.Model):
    """Where one spread stands at one stage.

    ``hand_in`` is the newest hand-in that was not withdrawn, ``pending`` the one whose approval
    waits for a second voice, ``approved_sha256`` the fingerprint of *the approved one*.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="passages")
    spread = models.ForeignKey(Spread, on_delete=models.PROTECT, related_name="passages")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="passages")
    state = models.CharField(max_length=10, choices=[(s.value, s.value) for s in PassageState])
    planned_on = models.DateField()
    due_on = models.DateField()
    answer_due_on = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)
    held_since = models.DateTimeField(null=True, blank=True)
    hand_in = models.ForeignKey("reviews.HandIn", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    pending = models.ForeignKey("reviews.HandIn", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    approved_picture = models.ForeignKey(
        "reviews.Picture", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    approved_sha256 = models.CharField(max_length=64, blank=True)
    approved_at = models.DateTimeField(null=True, blank=True)

    objects = PassageQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["spread", "stage"], name="passage_once"),
            models.CheckConstraint(
                condition=~Q(state="approved") | (Q(approved_picture__isnull=False) & ~Q(approved_sha256="")),
                name="approved_has_picture",
            ),
            models.CheckConstraint(
                condition=~Q(state="answering") | Q(hand_in__isnull=False), name="answering_has_hand_in"
            ),
            models.CheckConstraint(condition=Q(pending=None) | Q(state="answering"), name="pending_is_answering"),
        ]
        indexes = [models.Index(fields=["book", "state"], name="passage_book_state")]

    # Known where ``queries.approvals.told_silent`` asked; elsewhere an approval is an approval.
    is_silent = False
    #: Known on the page of the draft letter only.
    stands_in_draft: bool
    #: Known where ``queries.access.get_passage`` fetched it.
    has_references: bool
    has_book_notes = True
    has_text = True
    lay_open: bool
    has_proposals: bool
    #: Known there too: the hash of the book's last ledger entry, and whether any version of its terms lets silence
    #: approve. None where they have to be asked for.
    ledger_head: str | None = None
    lets_silence_approve: bool | None = None

    def __str__(self) -> str:
        return self.where

    @property
    def where(self) -> str:
        """Name the passage as its book does; needs spread and stage joined, and the book where many are told."""
        is_joined = Passage._meta.get_field("book").is_cached(self)
        return where_named(self.spread.label, self.stage.kind, self.book.stage_names if is_joined else None)

    def as_standing(self, *, next_is_closed: bool) -> Standing:
        """Copy into the rules' frozen form; needs stage, hand_in and pending joined."""
        return Standing(
            state=PassageState(self.state),
            gate=Gate(self.stage.gate),
            two_voices=self.stage.two_voices,
            hand_in=self.hand_in.number if self.hand_in else None,
            pending=self.pending.number if self.pending else None,
            next_is_closed=next_is_closed,
        )
