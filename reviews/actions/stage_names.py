"""A book names its stages."""

from __future__ import annotations

from collections.abc import Mapping

from reviews.actions._deed import deed_on
from reviews.models import Book, Passage, Seat
from reviews.models.stage_names import speak_of
from reviews.rules.naming_payloads import NamedStage, NameStagesData
from reviews.rules.stage_names import checked_names, name_of
from reviews.rules.states import Deed, PassageState, Refused, StageKind


def opened_stages(book: Book) -> frozenset[str]:
    """Name the kinds of stage that have opened on some spread of a book, one that was dropped too (1 query)."""
    rows = Passage.objects.filter(book=book).exclude(state=PassageState.CLOSED, hand_in=None)
    return frozenset(rows.order_by().values_list("stage__kind", flat=True).distinct())


def name_stages(book_id: int, wanted: Mapping[StageKind, str], *, actor: Seat) -> Book:
    """Name stages that have not opened yet; an empty name gives a stage its usual one back.

    Only the words change: what a stage is, and what hangs on it, goes by its code.
    """
    with deed_on(Book, book_id, Deed.NAME_STAGES, actor) as act:
        before = dict(act.book.stage_names)
        after = checked_names(wanted, before, opened=opened_stages(act.book))
        told = [
            NamedStage(**{"stage": stage.value, "from": name_of(stage, before), "to": name_of(stage, after)})
            for stage in StageKind
            if name_of(stage, before) != name_of(stage, after)
        ]
        if not told:
            raise Refused("stage-names-same")
        act.book.stage_names = after
        act.book.save(update_fields=["stage_names"])
        speak_of(act.book)
        act.holds(act.book)
        act.record(NameStagesData(names=told))
    return act.book
