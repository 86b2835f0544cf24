"""The notes of the last letter that a hand-in answers, beside the unsent ones of the letter being written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef, Q

from reviews.models import CarriedNote, Note, Passage
from reviews.queries.book_notes import answers_there, said_of
from reviews.rules.book_notes import SaidOfNote, newest_of
from reviews.rules.letters import note_mark
from reviews.rules.states import Cause, NoteState, PassageState, Reach, Response


@dataclass(frozen=True)
class LastNote:
    """One note of the last letter, and what became of it in the newest hand-in; ``said`` is what was answered there."""

    row: Note
    is_untouched: bool
    said: SaidOfNote | None

    @property
    def mark(self) -> str:
        return note_mark(self.row.number, self.row.letter.number if self.row.letter else None)

    @property
    def is_met(self) -> bool:
        """Answered "done", and nothing speaks against it: whatever else was answered wants a look."""
        return self.said is not None and self.said.response == Response.DONE and not self.is_untouched


def unsent_and_last(passages: Sequence[Passage]) -> tuple[list[Note], dict[int, list[LastNote]]]:
    """List the unsent notes, and by passage that waits those of its last letter on an earlier hand-in.

    Notes on the book that came before what waits, and are not said to be done there, stand with every spread that they
    are about (1 query, 2 with such notes); needs hand-in joined.
    """
    # The same as ``comparisons.is_done_but_untouched``, asked of the database with the notes themselves.
    untouched = (
        CarriedNote.objects.filter(note=OuterRef("pk"), picture__hand_in=OuterRef("passage__hand_in"))
        .filter(verdict="untouched", corrected__isnull=True)
        .exclude(state="cannot-tell")
    )
    waiting = [passage.pk for passage in passages if passage.state == PassageState.ANSWERING]
    earlier = (
        Q(state=NoteState.SENT, passage__in=waiting, reach__in=(Reach.PLACE, Reach.SPREAD))
        & ~Q(cause=Cause.PRAISE)
        & ~Q(picture__hand_in=F("passage__hand_in"))
    )
    unsent_here = Q(state=NoteState.UNSENT, passage__in=[passage.pk for passage in passages])
    on_book = Q(state=NoteState.SENT, reach=Reach.BOOK, passage__book__in={passage.book_id for passage in passages})
    on_book &= ~Q(cause=Cause.PRAISE)
    rows = (
        Note.objects.select_related("author__person", "picture__hand_in", "letter", "brief")
        .filter(unsent_here | earlier | on_book)
        .annotate(is_seen_untouched=Exists(untouched))
        .order_by("passage_id", "-letter__number", "number", "pk")
    )
    unsent: list[Note] = []
    last: dict[int, list[LastNote]] = {}
    of_book: list[Note] = []
    for row in rows:
        if row.state == NoteState.SENT and row.reach == Reach.BOOK:
            of_book.append(row)
            continue
        if row.state == NoteState.UNSENT:
            unsent.append(row)
            continue
        own = last.setdefault(row.passage_id, [])
        if not own or own[0].row.letter_id == row.letter_id:
            is_untouched = row.response == Response.DONE and row.is_seen_untouched
            own.append(LastNote(row, is_untouched, said_of(row)))
    _add_book_notes(last, of_book, passages)
    return unsent, last


def _add_book_notes(last: dict[int, list[LastNote]], of_book: Sequence[Note], passages: Sequence[Passage]) -> None:
    there = answers_there(of_book)
    for passage in passages:
        handed = passage.hand_in
        if passage.state != PassageState.ANSWERING or handed is None or handed.handed_in_at is None:
            continue
        for row in of_book:
            sent_at = row.letter.sent_at if row.letter else None
            if not row.is_about(passage.spread_id) or sent_at is None or sent_at > handed.handed_in_at:
                continue
            told = LastNote(row, False, newest_of(said_of(row), there.get((row.pk, passage.spread_id))))
            if not told.is_met:
                last.setdefault(passage.pk, []).append(told)
