"""Money in words: amounts, prices, when an instalment falls due, how a sum was worked out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.wording.dates import day_words
from reviews.pages.wording.names import stage_in_a_sentence
from reviews.rules.contract.amounts import Step, Working, each_of
from reviews.rules.contract.extras import ExtraRound
from reviews.rules.contract.fees import (
    COVER,
    INTERIOR,
    CancellationStep,
    Instalment,
    Milestone,
    Money,
    Price,
    PricedBy,
)
from reviews.rules.contract.terms import Terms


def money_words(money: Money | None) -> str:
    """Write an amount with its currency: GBP 9,000.00."""
    return _("none agreed") if money is None else f"{money.currency} {money.amount:,f}"


def purse_words(purse: Iterable[tuple[str, Decimal]]) -> str:
    """Write sums, each currency for itself."""
    return _(" and ").join(money_words(Money(amount, currency)) for currency, amount in purse) or _("nothing")


def share_words(share: Decimal) -> str:
    """Write a share in per cent without idle noughts."""
    return _("{share} per cent").format(share=figure_words(share))


def figure_words(figure: Decimal) -> str:
    """Write a figure without idle noughts: 6.5, 100."""
    return f"{figure.normalize():f}"


def price_words(price: Price | None, fee: Money | None = None) -> str:
    """Say what one round costs by a price, where ``fee`` is the fee it may be a share of."""
    each = None if price is None else each_of(price, fee)
    if price is None or each is None:
        return _("no fee is agreed for it")
    money = money_words(each)
    if price.share is not None:
        money = _("{share} of the fee, {money}").format(share=share_words(price.share), money=money)
    told = {
        PricedBy.ROUND: "{money}",
        PricedBy.LETTER: _("{money} for the whole letter"),
        PricedBy.HOUR: _("{money} an hour, for the hours it takes"),
    }
    return told[price.by].format(money=money)


def when_words(part: Instalment) -> str:
    """Say what makes an instalment fall due."""
    plain = {
        Milestone.START: _("when work starts"),
        Milestone.SIGNATURE: _("on signature of the contract"),
        Milestone.PUBLICATION: _("at publication"),
    }
    if part.falls in plain:
        return plain[part.falls]
    if part.falls == Milestone.DATE:
        return _("on {day}").format(day=day_words(part.on)) if part.on else _("on a date")
    told = {
        Milestone.HAND_IN: _("once {which} handed in at {stage}"),
        Milestone.APPROVAL: _("once {which} approved at {stage}"),
    }[part.falls].format(which=_which_words(part), stage=stage_in_a_sentence(part.stage))
    if part.after_days is None:
        return told
    later = ngettext(
        ", or {n} day after its delivery if that is earlier, whether it was answered or not",
        ", or {n} days after its delivery if that is earlier, whether it was answered or not",
        part.after_days,
    )
    return told + later.format(n=part.after_days)


def _which_words(part: Instalment) -> str:
    if part.part == COVER:
        return _("the cover is")
    if part.of_spreads == 100:
        return _("every spread of the interior is") if part.part == INTERIOR else _("every spread is")
    which = _("half of the") if part.of_spreads == 50 else _("{n} per cent of the").format(n=part.of_spreads)
    spreads = _("interior’s spreads are") if part.part == INTERIOR else _("spreads are")
    return f"{which} {spreads}"


def step_words(step: CancellationStep) -> str:
    """Say from when on a cancellation share holds."""
    if step.reached == Milestone.START:
        return _("from the start")
    stage = stage_in_a_sentence(step.stage)
    if step.reached == Milestone.HAND_IN:
        return _("once it is handed in at {stage}").format(stage=stage)
    return _("once it is approved at {stage}").format(stage=stage)


def price_name(price: Price) -> str:
    """Say what a price is asked for."""
    about = _("changes after approval") if price.after_approval else _("extra rounds")
    return _("{about} at {stage}").format(about=about, stage=stage_in_a_sentence(price.stage)) if price.stage else about


def fee_lines(terms: Terms) -> dict[str, str]:
    """Write the sums and the clauses of money of a version, each under its name; those not agreed are left out."""
    lines = {
        _("fee"): money_words(terms.fee),
        _("fee for an extra round"): money_words(terms.round_fee),
        _("fee by the hour"): money_words(terms.hour_fee),
    }
    for price in terms.prices:
        lines[price_name(price)] = price_words(price, terms.fee)
    if terms.free_share is not None:
        lines[_("free changes")] = _("extra rounds are free up to {share} of the fee together").format(
            share=share_words(terms.free_share)
        )
    if terms.signed_on is not None:
        lines[_("signed")] = _("on {day}").format(day=day_words(terms.signed_on))
    if terms.published_on is not None:
        lines[_("publication")] = _("on {day}").format(day=day_words(terms.published_on))
    if terms.cancellation:
        lines[_("kill fee (if the book is cancelled)")] = _kill_words(terms)
    if terms.rejection:
        lines[_("if the work is rejected")] = "; ".join(
            f"{step_words(step)} {share_words(step.share)}" for step in terms.rejection
        )
    return lines


def _kill_words(terms: Terms) -> str:
    between = (
        _("rises by equal parts with each stage handed in or approved between two steps")
        if terms.kill_pro_rata
        else _("stays what it is until the next step is reached")
    )
    return _(
        "each spread is an equal part of the fee, and {between}; what has fallen due stays due, and fees for changes "
        "are added"
    ).format(between=between)


def working_words(line: Working) -> str:
    """Say what one line of a sum is: 4 rounds at GBP 150.00 each."""
    return _WORKINGS[line.step](line)


def _instalment(line: Working) -> str:
    return f"{line.name}, {share_words(line.share)}" if line.share is not None else line.name


def _each(line: Working) -> str:
    n, money = line.n, money_words(line.each)
    told = {
        Step.ROUND: ngettext("{n} round × {money}", "{n} rounds × {money}", int(n)),
        Step.LETTER: ngettext("{n} letter × {money}", "{n} letters × {money}", int(n)),
        Step.HOUR: _("{n} hours × {money}"),
    }[line.step]
    at = _(" at {stage}").format(stage=stage_in_a_sentence(line.name)) if line.name else ""
    return told.format(n=figure_words(n), money=money) + at


def _free(line: Working) -> str:
    return _("less what is free: up to {share} of {money}").format(
        share=share_words(line.share or Decimal(0)), money=money_words(line.each)
    )


def _spreads(line: Working) -> str:
    told = ngettext("{n} spread × {money} × {share}", "{n} spreads × {money} × {share}", int(line.n))
    share = share_words(line.share or Decimal(0))
    return told.format(n=figure_words(line.n), money=money_words(line.each), share=share)


_WORKINGS: dict[Step, Callable[[Working], str]] = {
    Step.INSTALMENT: _instalment,
    Step.ROUND: _each,
    Step.LETTER: _each,
    Step.HOUR: _each,
    Step.FREE: _free,
    Step.SPREADS: _spreads,
    Step.KILL_FEE: lambda _line: _("the kill fee, which is more than what fell due, or as much"),
    Step.FALLEN_DUE: lambda _line: _("fallen due by instalments"),
    Step.EXTRAS: lambda _line: _("extra fees for changes"),
    Step.PAID: lambda _line: _("less what was received"),
}


def extra_money_words(extra: ExtraRound) -> str:
    """Say what one round beyond or outside the fee costs, and why it has no sum where it has none."""
    if extra.in_letter:
        return _("in the letter’s price")
    if extra.money is not None:
        return money_words(extra.money)
    if extra.price is None:
        return _("no fee agreed")
    each = money_words(extra.price.amount)
    if extra.hours is None:
        return _("{money} an hour, hours not told yet").format(money=each)
    n = figure_words(extra.hours.told)
    return _("{money} an hour, {n} hours told and not agreed yet").format(money=each, n=n)
