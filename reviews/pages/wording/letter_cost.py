"""What a letter would cost in rounds and money, line by line."""

from __future__ import annotations

from django.utils.translation import gettext as _

from reviews.pages.wording.dates import day_words, short_day, working_days
from reviews.pages.wording.fees import money_words, purse_words
from reviews.rules.contract.fees import PricedBy
from reviews.rules.contract.letter_cost import AskCost, LetterCost
from reviews.rules.contract.letter_cost_text import ToldCost
from reviews.rules.contract.rounds import RoundStanding


def round_words(ask: AskCost) -> str:
    """Say which round this would be; what is outside the fee or not counted is no round at all."""
    if ask.standing == RoundStanding.OUTSIDE:
        return _("outside the fee: it changes what was approved")
    if ask.standing == RoundStanding.NOT_COUNTED:
        return _("not counted: it asks for no change of what was agreed")
    if ask.counted_with is not None:
        return _("the same round: one letter is one")
    if ask.standing == RoundStanding.OVER:
        return _("round {n}; the fee covers {included}").format(n=ask.number, included=ask.included or _("none"))
    if ask.number > ask.included:  # rounds agreed later do not pay for those that went beyond the fee before
        return _("round {n}; the fee covers it since the terms were amended").format(n=ask.number)
    return _("round {n} of the {included} in the fee").format(n=ask.number, included=ask.included)


def late_words(ask: AskCost) -> str:
    """Say how late the answer is; of one that was not due, or may not have been, it is neither late nor on time."""
    if ask.is_due_untold:
        return _("not recorded")
    if ask.days_late is None:
        return _("none was due")
    return working_days(ask.days_late) if ask.days_late else _("on time")


def extra_words(ask: AskCost) -> str:
    """Say what one ask costs beyond the fee."""
    if not ask.is_extra:
        return _("none")
    if ask.counted_with is not None:
        return _("counted above")
    price, money = ask.price, ask.money
    if price is None:
        return _("no fee agreed")
    if price.by == PricedBy.LETTER and money is not None and not money.amount:
        return _("in the letter’s price")
    return money_words(money) if money else _("{money} an hour").format(money=money_words(price.amount))


def fees_words(cost: LetterCost) -> str:
    """Say what the fees come to; hours and what no fee is agreed for are named, never totalled."""
    fixed = purse_words(cost.fees.items())
    return fixed if cost.is_priced else _("{money}, and what has no fixed fee").format(money=fixed)


def counted_words(told: ToldCost) -> str:
    """Say by what a letter's cost was counted, and when it counts as received where that is a later day."""
    by = _("version {n} of the terms").format(n=told.terms) if told.terms else None
    said = _("Counted by {by}.").format(by=by or _("the stage plans, since no terms were entered"))
    if told.counts_later:
        said += " " + _("The letter counts as received on {day}.").format(day=day_words(told.cost.received_on))
    return said


def cost_lines(told: ToldCost) -> list[str]:
    """Write what a letter costs as lines, where there is no table: each ask, then all together."""
    lines = []
    for ask in told.cost.asks:
        parts = [round_words(ask), _("extra fee: {fee}").format(fee=extra_words(ask))]
        parts += [_("due again {day}").format(day=short_day(ask.due_on))] if ask.due_on else []
        if ask.days_late is not None:
            late = _("answer late by {days}") if ask.days_late else _("answered {days}")
            parts.append(late.format(days=late_words(ask)))
        lines.append(_("{where}: {told}").format(where=ask.where, told="; ".join(parts)))
    return [*lines, _("Together: {fees}").format(fees=fees_words(told.cost))]
