"""Ask for the inks of a picture to be measured, and keep what was found."""

from __future__ import annotations

from typing import Any

from reviews import jobs
from reviews.actions.clock import moment
from reviews.models import Book, InkCheck, Passage, Picture
from reviews.queries.print_checks import INK_METHOD, ink_asked
from reviews.rules.states import HandInState


def ask_for_inks(picture: Picture, passage: Passage) -> None:
    """Have a picture's inks measured at its print size, once; nothing of a file that carries none."""
    asked = ink_asked(picture, passage)
    if asked is None:
        return
    row, _ = InkCheck.objects.get_or_create(
        sha256=asked.sha256, width_um=asked.width_um, limit=asked.limit, method=INK_METHOD
    )
    if row.result is None:
        jobs.enqueue(jobs.PRINT_CHECK, row.pk)


def ask_for_inks_again(book: Book) -> None:
    """Have the newest files of a book measured by the figures that hold now; part of setting them."""
    passages = Passage.objects.with_places().filter(book=book, hand_in__state=HandInState.HANDED_IN)
    by_hand_in = {passage.hand_in_id: passage for passage in passages}
    for picture in Picture.objects.filter(hand_in__in=list(by_hand_in), removed_at=None).select_related("hand_in"):
        passage = by_hand_in[picture.hand_in_id]
        passage.book = book
        ask_for_inks(picture, passage)


def keep_inks(check_id: int, result: dict[str, Any]) -> None:
    """Keep what was measured. No deed of anyone's: the same file always gives the same."""
    InkCheck.objects.filter(pk=check_id, result__isnull=True).update(result=result, made_at=moment())
