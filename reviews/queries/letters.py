"""The letter being written and letters sent, ready for a page or for sending."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Count, Max, Subquery
from django.db.models.functions import Coalesce

from reviews.geometry import region_from_json
from reviews.models import Agreement, Book, Letter, LetterAnswer, Note, Passage, Seat
from reviews.rules.letters import PlacedNote, clusters, number_notes, seen_mark
from reviews.rules.states import APPROVALS, Cause, NoteState, Reach, Role, Weighing


def draft_letter(book: Book) -> Letter | None:
    """Find the book's letter being written (1 query)."""
    return Letter.objects.filter(book=book, sent_at=None).first()


def answers_in_page_order(letter: Letter) -> list[LetterAnswer]:
    """List a letter's answers as the book reads, with passage, hand-in and picture joined (1 query)."""
    return list(
        letter.answers.select_related(
            "passage__book", "passage__spread", "passage__stage", "passage__hand_in", "hand_in", "picture"
        ).order_by("passage__spread__position", "passage__stage__position")
    )


def last_letter(passage: Passage) -> Letter | None:
    """Find the newest letter that answers this passage and was not taken back, and what is unanswered (1 query).

    ``n_unanswered`` sent notes of the passage ask for something and have no answer yet; those on the book are counted
    apart (``book_notes.n_asking``), as they ask on other spreads too.
    """
    asking = Note.objects.filter(passage=passage, state=NoteState.SENT, responded_at=None)
    asking = asking.exclude(cause=Cause.PRAISE).exclude(reach=Reach.BOOK)
    counted = asking.order_by().values("passage").annotate(n=Count("pk")).values("n")
    standing = Letter.objects.filter(answers__passage=passage, sent_at__isnull=False, taken_back_at=None)
    # It fills what the model only names.
    standing = standing.annotate(n_unanswered=Coalesce(Subquery(counted), 0))  # type: ignore[no-redef]
    return standing.order_by("-sent_at", "-pk").first()


def illustrator_names(book: Book, *, at: datetime | None = None) -> list[str]:
    """Name the illustrators seated on a book now, or when a letter went ``at`` that moment (1 query unless known)."""
    seats = [seat for seat in seats_of(book) if seat.role == Role.ILLUSTRATOR]
    if at is None:
        return [seat.person.name for seat in seats if seat.ended_at is None]
    return [seat.person.name for seat in seats if seat.since <= at and (seat.ended_at is None or seat.ended_at > at)]


def seats_of(book: Book) -> list[Seat]:
    """List every seat a book ever had: those that came with the book, else they are fetched (1 query)."""
    if book.all_seats is not None:
        return book.all_seats
    return list(Seat.objects.select_related("person").filter(book=book).order_by("pk"))


def next_number(book: Book) -> int:
    """Number the letter that would go now (1 query)."""
    return (Letter.objects.filter(book=book).aggregate(last=Max("number"))["last"] or 0) + 1


def second_words(hand_ins: Iterable[int | None]) -> dict[int, Agreement]:
    """Find what the second voice says of hand-ins: of several editors the one who spoke last counts (1 query)."""
    rows = Agreement.objects.select_related("seat__person").filter(hand_in__in=list(hand_ins), seat__ended_at=None)
    return {row.hand_in_id: row for row in rows.order_by("at", "pk")}


def objections_to(hand_ins: Iterable[int | None]) -> dict[int, Agreement]:
    """Find the hand-ins to which the second voice does not agree (1 query)."""
    return {hand_in: row for hand_in, row in second_words(hand_ins).items() if not row.agrees}


def placed_notes(notes: Iterable[Note]) -> list[PlacedNote]:
    """Say where notes lie, for numbering and for finding overlaps; needs ``picture`` joined."""
    placed = []
    for note in notes:
        region = region_from_json(note.region)
        placed.append(
            PlacedNote(
                note=note.pk,
                passage=note.passage_id,
                picture=note.picture.position,
                author=note.author_id,
                bounds=region.box,
                order=(region.centre.x, region.centre.y),
                is_whole=note.reach != Reach.PLACE,
                is_book=note.reach == Reach.BOOK,
            )
        )
    return placed


def unsent_notes(passages: Sequence[int]) -> list[Note]:
    """List the unsent notes on these passages with author and picture joined (1 query)."""
    return list(
        Note.objects.select_related("author__person", "picture", "brief")
        .filter(passage_id__in=passages, state=NoteState.UNSENT)
        .order_by("passage_id", "pk")
    )


def draft_numbers(book_id: int) -> dict[int, int]:
    """Number the notes of the letter being written as it stands now, through all its spreads (1 query).

    Every spread with a note let through counts, whether it has its answer yet or not: the table and the letter then
    show one number for one note, and giving an answer moves none of them.
    """
    passages = Passage.objects.live().filter(book=book_id, hand_in__isnull=False)
    rows = Note.objects.select_related("picture").filter(
        passage__in=passages, state=NoteState.UNSENT, weighing=Weighing.THROUGH
    )
    notes = list(rows.order_by("passage__spread__position", "passage__stage__position", "pk"))
    return number_notes(placed_notes(notes), list(dict.fromkeys(note.passage_id for note in notes)))


def approved_over_brief(answers: Iterable[LetterAnswer], going: Collection[Note]) -> list[LetterAnswer]:
    """Find the approvals whose own notes, going with them, say that the brief was not met (no query)."""
    missed = {note.passage_id for note in going if note.weighing == Weighing.THROUGH and note.cause == Cause.BRIEF}
    return [answer for answer in answers if answer.answer in APPROVALS and answer.passage_id in missed]


def letter_fingerprint(
    letter: Letter, answers: Sequence[LetterAnswer] | None = None, notes: Sequence[Note] | None = None
) -> str:
    """Hash everything a draft letter would send: its words, answers and notes (2 queries, none if both are given)."""
    answers = answers_in_page_order(letter) if answers is None else answers
    notes = unsent_notes([answer.passage_id for answer in answers]) if notes is None else notes
    body = [
        letter.pk,
        letter.words,
        [[answer.passage_id, answer.hand_in_id, answer.picture_id, answer.answer] for answer in answers],
        [[note.pk, note.weighing, note.said, note.cause, note.region] for note in notes],
    ]
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


def letter_marks(letter: Letter, answers: Sequence[LetterAnswer], notes: Sequence[Note]) -> dict[str, Any]:
    """Mark each part of a draft apart, so that what changed since can be named and not only noticed (no query)."""
    return {
        "words": letter.seen_words,
        "answers": {str(one.passage_id): seen_mark(one.hand_in_id, one.picture_id, one.answer) for one in answers},
        "notes": {str(note.pk): seen_mark(note.said, note.weighing, note.cause, note.region) for note in notes},
    }


def same_place_as(note: Note) -> list[Note]:
    """Find the unsent notes by others about the same place as this one (1 query)."""
    rows = unsent_notes([note.passage_id])
    for group in clusters(placed_notes(rows)):
        if note.pk in group:
            return [row for row in rows if row.pk in group and row.pk != note.pk]
    return []
