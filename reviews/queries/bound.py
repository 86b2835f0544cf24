"""What stands between F&Gs and "OK to bind": art or a proof of the same spread that is changed again."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from reviews.models import Passage
from reviews.queries.final_art import DRAWN
from reviews.rules.states import PassageState, StageKind

_PRINTED = (*DRAWN, StageKind.FINISH, StageKind.PROOF)


def is_changed_among(passage: Passage, rows: Iterable[Passage]) -> bool:
    """Say whether F&Gs are held up so, from passages that are at hand, those of their spread among them (no query)."""
    at_work = (PassageState.DRAWING, PassageState.ANSWERING)
    printed = (one for one in rows if one.spread_id == passage.spread_id and one.stage.kind in _PRINTED)
    return passage.stage.kind == StageKind.GATHERED and any(one.state in at_work for one in printed)


def changed_again(passages: Collection[Passage]) -> dict[int, list[Passage]]:
    """List, for each passage at F&Gs, what its sheets were printed from and is not approved now (at most 1 query)."""
    gathered = {one.spread_id: one.pk for one in passages if one.stage.kind == StageKind.GATHERED}
    found: dict[int, list[Passage]] = {}
    if gathered:
        at_work = (PassageState.DRAWING, PassageState.ANSWERING)
        rows = Passage.objects.with_places().filter(spread__in=gathered, state__in=at_work, stage__kind__in=_PRINTED)
        for row in rows.order_by("stage__position"):
            found.setdefault(gathered[row.spread_id], []).append(row)
    return found
