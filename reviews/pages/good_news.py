"""What was approved lately, for whoever made it: the desk says it before it says what waits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, OuterRef, Q, Subquery

from reviews.models import LetterAnswer, Passage, Picture, Seat
from reviews.pages.letter_pages import option_of
from reviews.pages.wording.letters import approval_words
from reviews.rules.states import APPROVALS, PassageState, Role

#: A fortnight: long enough to find it after a holiday, short enough to stay news.
NEWS_DAYS = 14
MOST = 6


@dataclass(frozen=True, kw_only=True)
class Approved:
    """One spread that was approved, with the letter that said so (None where silence or the editor completed it)."""

    passage: Passage
    picture: Picture
    words: str
    letter: int | None


def approved_lately(seats: Iterable[Seat], *, at: datetime) -> list[Approved]:
    """List what was approved in the last fortnight of what one draws, newest first (1 query)."""
    books = [seat.book_id for seat in seats if seat.role == Role.ILLUSTRATOR]
    if not books:
        return []
    letters = LetterAnswer.objects.filter(
        passage=OuterRef("pk"), answer__in=APPROVALS, letter__sent_at__isnull=False
    ).order_by("-letter__sent_at")
    rows = list(
        Passage.objects.live()
        .select_related("spread", "stage", "book", "approved_picture")
        .filter(book__in=books, state=PassageState.APPROVED, approved_at__gte=at - timedelta(days=NEWS_DAYS))
        .annotate(
            by_letter=Subquery(letters.values("letter")[:1]),
            n_options=Count(
                "approved_picture__hand_in__pictures",
                filter=Q(approved_picture__hand_in__pictures__removed_at=None),
            ),
        )
        .order_by("-approved_at", "spread__position")[:MOST]
    )
    return [_approved(row, row.n_options, row.by_letter) for row in rows if row.approved_picture]


def _approved(passage: Passage, n_options: int, letter: int | None) -> Approved:
    picture = passage.approved_picture
    assert picture is not None and passage.approved_at is not None, "it is approved"
    on = passage.book.day_rule.local_date(passage.approved_at)
    option = option_of(picture, n_options)
    words = approval_words(picture, option=option, on=on, waits_for_second=False)
    return Approved(passage=passage, picture=picture, words=words, letter=letter)
