"""The letter being written and letters sent, ready for a page or for sending."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from datetime import date

from reviews.geometry import region_from_json
from reviews.models import Agreement, Book, Letter, LetterAnswer, Note
from reviews.queries.rounds import allowances_of, rounds_of
from reviews.rules.days import add_working_days
from reviews.rules.letters import Effect, PlacedNote, PlannedAnswer, effects
from reviews.rules.states import APPROVALS, Answer, Cause, NoteState, PassageState, Weighing


def answers_in_page_order(letter: Letter) -> list[LetterAnswer]:
    """List a letter's answers as the book reads, with passage, hand-in and picture joined (1 query)."""
    return list(
        letter.answers.select_related(
            "passage__book", "passage__spread", "passage__stage", "passage__hand_in", "hand_in", "picture"
        ).order_by("passage__spread__position", "passage__stage__position")
    )


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
            )
        )
    return placed


def unsent_notes(passages: Sequence[int]) -> list[Note]:
    """List the unsent notes on these passages with author and picture joined (1 query)."""
    return list(
        Note.objects.select_related("author__person", "picture")
        .filter(passage_id__in=passages, state=NoteState.UNSENT)
        .order_by("passage_id", "pk")
    )


def planned_effects(book: Book, answers: Sequence[LetterAnswer], *, today: date) -> list[Effect]:
    """Work out what sending these answers will do (4 queries whatever their number)."""
    passages = [answer.passage_id for answer in answers]
    causes: dict[int, set[Cause]] = {pk: set() for pk in passages}
    for note in unsent_notes(passages):
        if note.weighing == Weighing.THROUGH:
            causes[note.passage_id].add(Cause(note.cause))
    agreed = set(
        Agreement.objects.filter(
            hand_in__in=[answer.hand_in_id for answer in answers], agrees=True, seat__ended_at=None
        ).values_list("hand_in_id", flat=True)
    )
    planned = [_planned(answer, book, sorted(causes[answer.passage_id]), agreed, today) for answer in answers]
    allowances = allowances_of(book)
    pools = {passage: allowance.pool for passage, allowance in allowances.items()}
    return effects(planned, rounds_of(book, allowances), pools=pools)


def _planned(
    answer: LetterAnswer, book: Book, causes: list[Cause], agreed: set[int], today: date
) -> PlannedAnswer:
    passage, given = answer.passage, Answer(answer.answer)
    asks = given == Answer.ASK
    return PlannedAnswer(
        passage=passage.pk,
        where=passage.where,
        answer=given,
        causes=tuple(causes),
        reopens=asks and passage.state == PassageState.APPROVED,
        waits_for_second=given in APPROVALS and passage.stage.two_voices and answer.hand_in_id not in agreed,
        due_on=add_working_days(today, passage.stage.hand_in_days, book.calendar) if asks else None,
    )


def letter_fingerprint(letter: Letter) -> str:
    """Hash everything a draft letter would send: its words, answers and the notes let through (2 queries)."""
    answers = answers_in_page_order(letter)
    notes = unsent_notes([answer.passage_id for answer in answers])
    body = [
        letter.pk,
        letter.words,
        [[answer.passage_id, answer.hand_in_id, answer.picture_id, answer.answer] for answer in answers],
        [[note.pk, note.weighing, note.said, note.cause, note.region] for note in notes],
    ]
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()
