"""Notes on the whole book: their answers spread by spread, and where they still wait for one."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime

from reviews.models import AnsweredThere, Note, Passage, Spread
from reviews.rules.book_notes import AskingNote, SaidOfNote, SpreadStanding, newest_of
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Cause, NoteState, PassageState, Reach, Role


def said_of(note: Note) -> SaidOfNote | None:
    """Give what was answered to a note as a whole."""
    if not note.response or note.responded_at is None:
        return None
    return SaidOfNote(note.response, note.response_words, note.responded_at)


def answers_there(
    notes: Iterable[Note], *, spreads: Collection[int] | None = None, until: datetime | None = None
) -> dict[tuple[int, int], SaidOfNote]:
    """Give the answers of single spreads by note and spread (1 query, none without a note on the book)."""
    on_book = [note.pk for note in notes if note.reach == Reach.BOOK]
    if not on_book:
        return {}
    rows = AnsweredThere.objects.filter(note__in=on_book)
    if spreads is not None:
        rows = rows.filter(spread__in=spreads)
    return {
        (row.note_id, row.spread_id): SaidOfNote(row.response, row.words, row.at, is_there=True)
        for row in rows
        if until is None or row.at <= until
    }


def standings_of(notes: Sequence[Note], book_id: int) -> dict[int, list[SpreadStanding]]:
    """List, for each note on the book among some, its spreads as they lie now and what holds on each (2 queries)."""
    on_book = [note for note in notes if note.reach == Reach.BOOK]
    if not on_book:
        return {}
    there = answers_there(on_book)
    spreads = list(Spread.objects.filter(book=book_id, removed_at=None).order_by("position"))
    return {
        note.pk: [
            SpreadStanding(row.pk, row.label, newest_of(said_of(note), there.get((note.pk, row.pk))))
            for row in spreads
            if note.is_about(row.pk)
        ]
        for note in on_book
    }


def n_asking(passages: Sequence[Passage]) -> dict[int, int]:
    """Count, by passage, the notes on the book that wait for an answer there (1 query); needs ``stage`` joined."""
    rows = (
        Note.objects.filter(reach=Reach.BOOK, state=NoteState.SENT, responded_at=None)
        .filter(passage__book__in={passage.book_id for passage in passages})
        .exclude(cause=Cause.PRAISE)
        .order_by("pk")
        .values_list(
            "pk", "passage__book", "passage", "concerns", "picture__hand_in__by__role", "answers_there__spread"
        )
    )
    asking: dict[int, AskingNote] = {}
    for note, book, home, concerns, role, spread in rows:
        before = asking[note].answered if note in asking else frozenset()
        asking[note] = AskingNote(
            note=note,
            book=book,
            home=home,
            concerns=frozenset(concerns),
            is_printers=role != Role.ILLUSTRATOR,
            answered=before if spread is None else before | {spread},
        )
    found = {}
    for passage in passages if asking else ():
        is_printers = passage.stage.kind in PRINTERS_STAGES
        n = sum(
            note.asks(
                book=passage.book_id,
                passage=passage.pk,
                spread=passage.spread_id,
                is_printers=is_printers,
                is_drawing=passage.state == PassageState.DRAWING,
            )
            for note in asking.values()
        )
        if n:
            found[passage.pk] = n
    return found
