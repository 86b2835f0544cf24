"""What a letter does to each spread, line by line: before it goes, on its page for ever, and on paper."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from reviews.rules.letters import Effect


@dataclass(frozen=True)
class EffectLine:
    """One thing that an answer does; ``is_cost`` where it goes beyond the fee."""

    words: str
    is_cost: bool = False


@dataclass(frozen=True, kw_only=True)
class Onward:
    """What comes after the answer: later stages that move, in words; the stage that opens, by its name in the middle of
    a sentence; or that none follows.
    """

    moves: Sequence[str] = ()
    opens: str = ""
    opens_on: date | None = None
    is_last: bool = False


def effect_lines(effect: Effect, onward: Onward, day: Callable[[date], str]) -> list[EffectLine]:
    """Say what an answer does to rounds, dates and stages; ``day`` writes a date as the page needs it."""
    lines = [*_round(effect)]
    if effect.due_on:
        lines.append(EffectLine(_("The next version is due on {day}.").format(day=day(effect.due_on))))
    if effect.waits_for_second:
        lines.append(
            EffectLine(_("Waits for the editor: approved only once both have signed off. Until then nothing opens."))
        )
    lines += [EffectLine(words) for words in onward.moves]
    if onward.opens and onward.opens_on:
        told = _("Opens {stage}, due on {day}.")
        lines.append(EffectLine(told.format(stage=onward.opens, day=day(onward.opens_on))))
    elif onward.is_last:
        lines.append(EffectLine(_("That was the last stage of this spread.")))
    return lines


def _round(effect: Effect) -> list[EffectLine]:
    if effect.outside_fee:
        told = _(
            "Outside the fee: this was approved, and the letter asks for a change to it. This cancels the approval."
        )
        return [EffectLine(told, is_cost=True)]
    number, included = effect.round_number, effect.included
    if effect.is_over:
        told = _("Extra round: this is round {n}; the fee covers {included}.")
        return [EffectLine(told.format(n=number, included=included or _("none")), is_cost=True)]
    if effect.not_counted:
        return [EffectLine(_("Uses no round: the brief was not met, and the terms do not count that."))]
    if not effect.uses_round:
        return []
    if number > included:
        return [EffectLine(_("Uses round {n}; the fee covers it since the terms were amended.").format(n=number))]
    return [EffectLine(_("Uses round {n} of the {included} in the fee.").format(n=number, included=included))]
