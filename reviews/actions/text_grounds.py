"""Have the art under placed text measured, and keep what was found."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from reviews import jobs
from reviews.actions.clock import moment
from reviews.models import Book, Passage, Picture, Spread, SpreadText, TextGround
from reviews.press.text_blocks import SetBlock
from reviews.queries.text_blocks import newest_text, set_blocks, texts_of
from reviews.queries.text_grounds import GROUND_METHOD, JUDGED_STAGES, ground_asked
from reviews.rules.states import HandInState, PictureState


def ask_for_ground(picture: Picture, passage: Passage, blocks: tuple[SetBlock, ...] | None = None) -> None:
    """Have the art under the text of its spread measured on one picture, once (1 query where no text is placed)."""
    if passage.stage.kind not in JUDGED_STAGES:
        return
    placed = set_blocks(newest_text(passage.spread)) if blocks is None else blocks
    asked = ground_asked(picture, passage, placed)
    if asked is None:
        return
    row, _ = TextGround.objects.get_or_create(
        sha256=asked.sha256, laid_sha256=asked.laid_sha256, method=GROUND_METHOD, defaults={"laid": asked.laid}
    )
    if row.result is None:
        jobs.enqueue(jobs.TEXT_GROUND, row.pk)


def ask_for_grounds_of(spread: Spread, text: SpreadText, book: Book) -> None:
    """Have it measured on every picture of a spread that somebody may look at; part of placing its text."""
    _ask(_judged(Picture.objects.filter(hand_in__passage__spread=spread)), book, {spread.pk: set_blocks(text)})


def ask_for_grounds_again(book: Book) -> None:
    """Have it measured anew where the book's figures moved what lies where; part of setting how it is printed."""
    blocks = {spread: set_blocks(text) for spread, text in texts_of(book).items() if text.blocks}
    if blocks:
        _ask(_judged(Picture.objects.filter(hand_in__passage__spread__in=list(blocks))), book, blocks)


def _ask(pictures: QuerySet[Picture], book: Book, blocks: dict[int, tuple[SetBlock, ...]]) -> None:
    for picture in pictures:
        passage = picture.hand_in.passage
        passage.book = book
        ask_for_ground(picture, passage, blocks[passage.spread_id])


def _judged(pictures: QuerySet[Picture]) -> QuerySet[Picture]:
    rows = pictures.filter(
        state=PictureState.READY, removed_at=None, hand_in__passage__stage__kind__in=list(JUDGED_STAGES)
    )
    joined = ("hand_in__passage__spread", "hand_in__passage__stage")
    return rows.exclude(hand_in__state=HandInState.WITHDRAWN).select_related(*joined)


def keep_ground(ground_id: int, result: dict[str, Any]) -> None:
    """Keep what was measured. No deed of anyone's: the same picture and blocks always give the same."""
    TextGround.objects.filter(pk=ground_id, result__isnull=True).update(result=result, made_at=moment())
