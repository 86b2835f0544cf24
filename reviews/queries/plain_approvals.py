"""The passages that "approve all that wait" may approve: nothing about them is left to decide."""

from __future__ import annotations

from collections import Counter

from reviews.models import Book, LetterAnswer, Passage, Picture
from reviews.queries.last_notes import unsent_and_last
from reviews.rules.decisions import may_approve_unasked
from reviews.rules.states import PassageState


def plain_passages(book: Book) -> list[int]:
    """List the passages that may be approved without a further decision, in page order (4 queries)."""
    passages = list(
        Passage.objects.live()
        .select_related("stage", "hand_in", "pending")
        .filter(book=book, state=PassageState.ANSWERING, hand_in__isnull=False)
        .order_by("spread__position", "stage__position")
    )
    answers = LetterAnswer.objects.filter(letter__book=book, letter__sent_at=None)
    answered = set(answers.values_list("passage_id", flat=True))
    pictures = Picture.objects.filter(hand_in__in=[p.hand_in_id for p in passages], removed_at=None)
    n_pictures: Counter[int | None] = Counter(pictures.values_list("hand_in_id", flat=True))
    unsent, last = unsent_and_last(passages)
    n_unsent = Counter(note.passage_id for note in unsent)
    return [
        passage.pk
        for passage in passages
        if may_approve_unasked(
            passage.as_standing(next_is_closed=False),
            is_answered=passage.pk in answered,
            n_pictures=n_pictures[passage.hand_in_id],
            n_unsent_notes=n_unsent[passage.pk],
            n_unmet_notes=sum(not note.is_met for note in last.get(passage.pk, [])),
        )
    ]
