"""Notes on pictures, replies to them, marks on idea options."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.hand_ins import HandIn, Picture
from reviews.models.passages import Passage
from reviews.models.seats import Seat
from reviews.rules.book_notes import SaidOfNote
from reviews.rules.letters import seen_mark
from reviews.rules.states import (
    Cause,
    ErrorOf,
    NoteState,
    Reach,
    Response,
    Sight,
    Verdict,
    Weighing,
)


class Note(models.Model):
    """A region of a picture plus words; ``letter_words`` is the art director's rewording of ``words``."""

    passage = models.ForeignKey(Passage, on_delete=models.PROTECT, related_name="notes")
    picture = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="notes")
    author = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="notes")
    region = models.JSONField()
    words = models.TextField()
    cause = models.CharField(max_length=10, choices=[(c.value, c.value) for c in Cause])
    # Of a mark on a proof: whose error it is; "" at other stages, of questions, and of proofs before it was asked.
    error = models.CharField(max_length=10, blank=True, default="", choices=[(e.value, e.value) for e in ErrorOf])
    state = models.CharField(max_length=10, choices=[(s.value, s.value) for s in NoteState])
    weighing = models.CharField(max_length=8, choices=[(w.value, w.value) for w in Weighing])
    letter_words = models.TextField(blank=True)
    letter = models.ForeignKey("reviews.Letter", null=True, blank=True, on_delete=models.PROTECT, related_name="notes")
    number = models.PositiveSmallIntegerField(null=True, blank=True)
    made_at = models.DateTimeField()
    response = models.CharField(max_length=10, blank=True, choices=[(r.value, r.value) for r in Response])
    response_words = models.TextField(blank=True)
    # Set as well once each spread that a note on the book is about has an answer of its own.
    responded_at = models.DateTimeField(null=True, blank=True)
    reach = models.CharField(max_length=8, choices=[(r.value, r.value) for r in Reach], default=Reach.PLACE.value)
    # The spreads that a note on the whole book concerns, by number; empty is every spread.
    concerns = models.JSONField(default=list, blank=True)
    # Which line of which version of a brief was not met; notes of before there were briefs name none.
    brief = models.ForeignKey("reviews.Brief", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    brief_line = models.PositiveSmallIntegerField(null=True, blank=True)
    # What was drawn over the art (``rules.strokes``); ``region`` is the box around it then.
    strokes = models.JSONField(default=list, blank=True)

    #: Not kept: what the review table shows of it to who looks.
    seen_replies: list[Reply]
    shown_number: int | None
    said_here: SaidOfNote | None

    class Meta:
        ordering = ["passage", "number", "made_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(letter__isnull=False, number__isnull=False), name="sent_note_has_letter"
            ),
            models.UniqueConstraint(fields=["letter", "number"], name="note_number_once_per_letter"),
        ]
        indexes = [models.Index(fields=["passage", "state"], name="note_passage_state")]

    def __str__(self) -> str:
        return self.words[:60]

    def is_about(self, spread_id: int) -> bool:
        """Say whether a note on the whole book concerns a spread."""
        return self.reach == Reach.BOOK and (not self.concerns or spread_id in self.concerns)

    @property
    def is_answered(self) -> bool:
        """Say whether it was answered, as a whole or for each of its spreads."""
        return self.responded_at is not None

    @property
    def cited(self) -> tuple[int, int]:
        """Its number and its letter's; of a sent note, with ``letter`` joined."""
        assert self.number is not None and self.letter is not None, "sent_note_has_letter"
        return self.number, self.letter.given_number

    @property
    def said(self) -> str:
        """The words as the illustrator reads them."""
        return self.letter_words or self.words

    @property
    def seen_own(self) -> str:
        """What its author changes, as one mark: another tab's change shows by it."""
        return seen_mark(
            self.words, self.cause, self.error, self.region, self.brief_line, *([self.strokes] if self.strokes else [])
        )

    @property
    def seen_weighed(self) -> str:
        """What the art director weighs of it, as one mark."""
        return seen_mark(self.said, self.weighing)


class AnsweredThere(models.Model):
    """What was answered to a note on the whole book for one of its spreads; answering again takes its place."""

    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="answers_there")
    spread = models.ForeignKey("reviews.Spread", on_delete=models.PROTECT, related_name="+")
    response = models.CharField(max_length=10, choices=[(r.value, r.value) for r in Response])
    words = models.TextField(blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ["note", "spread"]
        constraints = [models.UniqueConstraint(fields=["note", "spread"], name="one_answer_per_spread")]

    def __str__(self) -> str:
        return self.response


class Reply(models.Model):
    """A reply under a note. Those written before the letter stay on the publisher's side for good."""

    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="replies")
    author = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    words = models.TextField()
    sight = models.CharField(max_length=12, choices=[(s.value, s.value) for s in Sight])
    at = models.DateTimeField()

    class Meta:
        ordering = ["note", "at", "pk"]

    def __str__(self) -> str:
        return self.words[:60]


class Look(models.Model):
    """Somebody of the publisher's side looked at a hand-in and had nothing to note."""

    hand_in = models.ForeignKey(HandIn, on_delete=models.PROTECT, related_name="looks")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["hand_in", "at"]
        constraints = [models.UniqueConstraint(fields=["hand_in", "seat"], name="one_look_per_seat")]

    def __str__(self) -> str:
        return "looked at, nothing to note"


class OptionMark(models.Model):
    """A reviewer's "this" or "not this" on one idea option."""

    picture = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="marks")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=8, choices=[(v.value, v.value) for v in Verdict])
    why = models.CharField(max_length=400, blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ["picture", "at"]
        constraints = [models.UniqueConstraint(fields=["picture", "seat"], name="one_mark_per_seat")]

    def __str__(self) -> str:
        return self.verdict
