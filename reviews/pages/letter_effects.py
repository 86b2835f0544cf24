"""What a letter that went did to rounds, dates and stages, read from the entry that sent it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any

from reviews.models import Passage
from reviews.pages.wording.due_dates import moved_by_lateness_words
from reviews.pages.wording.letter_effects import EffectLine, Onward, effect_lines
from reviews.queries.letter_cost import effect_of
from reviews.rules.contract.letter_cost_text import ToldCost
from reviews.rules.states import Answer, PassageState, in_a_sentence


def passages_around(answered: Iterable[int]) -> dict[int, Passage]:
    """Read every stage of the spreads that were answered, by id, in the order of the stages (1 query)."""
    spreads = Passage.objects.filter(pk__in=list(answered)).values("spread")
    rows = Passage.objects.select_related("stage", "spread").filter(spread__in=spreads)
    return {row.pk: row for row in rows.order_by("spread", "stage__position")}


def effects_told(
    answer: Mapping[str, Any], told: ToldCost | None, around: Mapping[int, Passage], day: Callable[[date], str]
) -> tuple[EffectLine, ...]:
    """Say what one answer of a sent letter did; what an older entry does not tell of its round is left out."""
    asks = told.cost.asks if told else ()
    given = Answer(answer["answer"])
    effect = effect_of(
        given,
        next((ask for ask in asks if ask.passage == answer["passage"]), None),
        passage=answer["passage"],
        where=answer["where"],
        waits_for_second=answer["waits_for_second"],
        due_on=date.fromisoformat(answer["due_on"]) if given == Answer.ASK else None,
    )
    return tuple(effect_lines(effect, _onward(answer, around), day))


def _onward(answer: Mapping[str, Any], around: Mapping[int, Passage]) -> Onward:
    own = around[answer["passage"]]
    later = [row for row in around.values() if row.spread_id == own.spread_id and _is_after(row, own)]
    opened = next((around[pk] for pk in answer["opens"] if pk in around), None)
    return Onward(
        moves=[_moved(one, answer["late_by"]) for one in answer.get("late_moves", ())],
        opens=in_a_sentence(opened.stage.name) if opened else "",
        opens_on=date.fromisoformat(answer["dues"][str(opened.pk)]) if opened else None,
        is_last=answer["to"] == PassageState.APPROVED and answer["picture"] is not None and not later,
    )


def _is_after(row: Passage, own: Passage) -> bool:
    return row.stage.position > own.stage.position


def _moved(one: Mapping[str, Any], late: int) -> str:
    was_on, due_on = (date.fromisoformat(one[name]) for name in ("was_on", "due_on"))
    return moved_by_lateness_words(one["where"], was_on, due_on, late)
