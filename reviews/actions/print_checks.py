"""Ask for the inks of a picture to be measured, and keep what was found."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from reviews import jobs
from reviews.actions.clock import moment
from reviews.actions.plates import ask_for_plates_again, ask_for_plates_nobody_asked_for
from reviews.actions.text_grounds import ask_for_grounds_again
from reviews.models import Book, InkCheck, Passage, Picture
from reviews.queries.print_checks import INK_METHOD, ink_asked
from reviews.rules.states import HandInState, PictureState


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
    """Have every file of a book that somebody may look at measured by the figures that hold now; part of setting them.

    Drafts, older hand-ins and what stands approved as well as the newest: each screen tells of the file it shows.
    """
    for picture in _with_inks(Picture.objects.filter(hand_in__passage__book=book)):
        passage = picture.hand_in.passage
        passage.book = book
        ask_for_inks(picture, passage)
    ask_for_plates_again(book)
    ask_for_grounds_again(book)


def ask_where_nobody_asked() -> int:
    """Have files measured that came before inks or plates were, in every book; say how many (4 queries where none)."""
    known = set(InkCheck.objects.filter(method=INK_METHOD).values_list("sha256", "width_um", "limit"))
    n_asked = 0
    for picture in _with_inks(Picture.objects.all()).iterator(chunk_size=500):
        asked = ink_asked(picture, picture.hand_in.passage)
        if asked is None or (asked.sha256, asked.width_um, asked.limit) in known:
            continue
        with transaction.atomic():
            ask_for_inks(picture, picture.hand_in.passage)
        known.add((asked.sha256, asked.width_um, asked.limit))
        n_asked += 1
    return n_asked + ask_for_plates_nobody_asked_for()


def _with_inks(pictures: QuerySet[Picture]) -> QuerySet[Picture]:
    """Narrow pictures to those that carry inks and are not taken back, with their places joined."""
    joined = ("hand_in__passage__book__print_set_up", "hand_in__passage__spread", "hand_in__passage__stage")
    rows = pictures.filter(state=PictureState.READY, removed_at=None, facts__mode__startswith="CMYK")
    return rows.exclude(hand_in__state=HandInState.WITHDRAWN).select_related(*joined)


def keep_inks(check_id: int, result: dict[str, Any]) -> None:
    """Keep what was measured. No deed of anyone's: the same file always gives the same."""
    InkCheck.objects.filter(pk=check_id, result__isnull=True).update(result=result, made_at=moment())
