"""What a letter would cost in rounds and money, line by line."""

from __future__ import annotations

from django.utils.translation import gettext as _

from reviews.pages.wording.dates import working_days
from reviews.pages.wording.fees import money_words, purse_words
from reviews.rules.contract.fees import PricedBy
from reviews.rules.contract.letter_cost import AskCost, LetterCost
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
    """Say how late the answer is; of one that was not due it is neither late nor on time."""
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
