"""Give proofs that opened as the illustrator's, before production handed them in, to the printer from now on."""

from __future__ import annotations

from collections.abc import Iterable

from reviews.actions._deed import deeds_on
from reviews.models import Book, Passage
from reviews.queries.reckoning import reckon_one
from reviews.rules.contract.turn import Turn
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.portal_payloads import GiveToPrinterData
from reviews.rules.states import Deed, PassageState, Side


def give_old_proofs_on(book_id: int) -> int:
    """Write of each proof that still counts days against the illustrator that it is the printer's; say of how many.

    Only production hands a proof in, so nobody else could end those days. What was counted up to now stays counted.
    Each has its entry, and the first one's mail tells of them all.
    """
    with deeds_on(Book, book_id, None) as acts:
        drawn = (
            Passage.objects.live()
            .with_places()
            .filter(book=acts.book, state=PassageState.DRAWING, stage__kind__in=PRINTERS_STAGES)
        )
        ours = {passage.pk: passage for passage in drawn}
        if not ours:
            return 0
        lines = reckon_one(acts.book, acts.now).statement.lines
        held = [line.passage for line in lines if line.passage in ours and _is_the_illustrators(line.turns)]
        others = [ours[pk].where for pk in held[1:]]
        for n, pk in enumerate(held):
            data = GiveToPrinterData(
                where=ours[pk].where, to=PassageState.DRAWING.value, with_it=others if n == 0 else []
            )
            with acts.deed(Deed.GIVE_TO_PRINTER) as act:
                act.record(data, passage=ours[pk], is_told=n == 0)
    return len(held)


def _is_the_illustrators(turns: Iterable[Turn]) -> bool:
    return any(turn.is_open and turn.side == Side.ILLUSTRATOR for turn in turns)
