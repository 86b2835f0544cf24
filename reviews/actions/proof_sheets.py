"""Have printers' sheets looked at for their trim, and keep what was found."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from reviews import jobs
from reviews.actions.comparisons import ask_for_comparison
from reviews.models import HandIn, Picture
from reviews.press.proof_sheet import SHEET_METHOD
from reviews.queries.comparisons import forerunners
from reviews.queries.proof_sheets import SHEET, sheets_not_looked_at
from reviews.rules.states import HandInState, PictureState


def ask_for_sheets_nobody_looked_at() -> int:
    """Have sheets looked at that were read before that was done; say how many (1 query where none)."""
    numbers = list(sheets_not_looked_at().values_list("pk", flat=True))
    for number in numbers:
        with transaction.atomic():
            jobs.enqueue(jobs.PROOF_SHEET, number, key=f"{jobs.PROOF_SHEET}:{number}:{SHEET_METHOD}")
    return len(numbers)


def keep_sheet(sha256: str, found: dict[str, Any]) -> None:
    """Write down where the trim is on every printer's picture of this content.

    No deed of anyone's and no ledger entry: the same file always gives the same, and nothing about the book changes.
    """
    with transaction.atomic():
        for picture in sheets_not_looked_at().filter(sha256=sha256).select_for_update(of=("self",)):
            picture.facts = picture.facts | {SHEET: found}
            Picture.objects.filter(pk=picture.pk).update(facts=picture.facts)
            _compare_again(picture)


def _compare_again(before: Picture) -> None:
    """Have what came after a sheet held against it anew: comparisons are found by its width, which is known now."""
    hand_in = HandIn.objects.select_related("passage__book__print_set_up", "passage__spread", "passage__stage").get(
        pk=before.hand_in_id
    )
    passage = before.hand_in.passage = hand_in.passage
    for later in passage.hand_ins.filter(pk__gt=hand_in.pk, state__in=[HandInState.HANDED_IN, HandInState.DRAFT]):
        pictures = list(later.pictures.filter(removed_at=None, state=PictureState.READY))
        if len(pictures) == 1 and before in forerunners(passage, later):
            ask_for_comparison(before, pictures[0], passage)
