"""The notes of the last letter that a hand-in answers, beside the unsent ones of the letter being written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef, Q

from reviews.models import CarriedNote, Note, Passage
from reviews.rules.letters import note_mark
from reviews.rules.states import Cause, NoteState, PassageState, Response


@dataclass(frozen=True)
class LastNote:
    """One note of the last letter, and what became of it in the newest hand-in."""

    row: Note
    is_untouched: bool

    @property
    def mark(self) -> str:
        return note_mark(self.row.number, self.row.letter.number if self.row.letter else None)

    @property
    def is_met(self) -> bool:
        """Answered "done", and nothing speaks against it: whatever else was answered wants a look."""
        return self.row.response == Response.DONE and not self.is_untouched


def unsent_and_last(passages: Sequence[Passage]) -> tuple[list[Note], dict[int, list[LastNote]]]:
    """List the unsent notes, and by passage that waits those of its last letter on an earlier hand-in (1 query)."""
    # The same as ``comparisons.is_done_but_untouched``, asked of the database with the notes themselves.
    untouched = (
        CarriedNote.objects.filter(note=OuterRef("pk"), picture__hand_in=OuterRef("passage__hand_in"))
        .filter(verdict="untouched", corrected__isnull=True)
        .exclude(state="cannot-tell")
    )
    waiting = [passage.pk for passage in passages if passage.state == PassageState.ANSWERING]
    earlier = (
        Q(state=NoteState.SENT, passage__in=waiting)
        & ~Q(cause=Cause.PRAISE)
        & ~Q(picture__hand_in=F("passage__hand_in"))
    )
    rows = (
        Note.objects.select_related("author__person", "picture__hand_in", "letter", "brief")
        .filter(earlier | Q(state=NoteState.UNSENT), passage__in=[passage.pk for passage in passages])
        .annotate(is_seen_untouched=Exists(untouched))
        .order_by("passage_id", "-letter__number", "number", "pk")
    )
    unsent: list[Note] = []
    last: dict[int, list[LastNote]] = {}
    for row in rows:
        if row.state == NoteState.UNSENT:
            unsent.append(row)
            continue
        own = last.setdefault(row.passage_id, [])
        if not own or own[0].row.letter_id == row.letter_id:
            own.append(LastNote(row, row.response == Response.DONE and row.is_seen_untouched))
    return unsent, last
