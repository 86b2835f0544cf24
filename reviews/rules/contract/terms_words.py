"""Terms in words: what one version says, and what an amendment changed, line by line."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, time
from decimal import Decimal

from reviews.rules.contract.calendars import place_name, zone_name
from reviews.rules.contract.terms import (
    COVER,
    WHEN_OVER_WORDS,
    CancellationStep,
    Instalment,
    Milestone,
    Money,
    RoundGroup,
    StageDays,
    Terms,
    stage_words,
)


def money_words(money: Money | None) -> str:
    """Write an amount with its currency: GBP 9,000.00."""
    return "none agreed" if money is None else f"{money.currency} {money.amount:,f}"


def purse_words(purse: Iterable[tuple[str, Decimal]]) -> str:
    """Write sums, each currency for itself."""
    return " and ".join(money_words(Money(amount, currency)) for currency, amount in purse) or "nothing"


def round_price_words(terms: Terms) -> str:
    """Say what one round beyond the fee costs under these terms."""
    if terms.round_fee is None and terms.hour_fee is not None:
        return f"{money_words(terms.hour_fee)} an hour, for the hours it takes"
    return "no fee is agreed for it" if terms.round_fee is None else money_words(terms.round_fee)


def share_words(share: Decimal) -> str:
    """Write a share in per cent without idle noughts."""
    return f"{share.normalize():f} per cent"


def when_words(part: Instalment) -> str:
    """Say what makes an instalment fall due."""
    if part.falls == Milestone.DATE:
        return f"on {_day(part.on)}" if part.on else "on a date"
    if part.falls == Milestone.START:
        return "when work starts"
    what = "handed in" if part.falls == Milestone.HAND_IN else "approved"
    return f"once every spread is {what} at {stage_words(part.stage).lower()}"


def step_words(step: CancellationStep) -> str:
    """Say from when on a cancellation share holds."""
    if step.reached == Milestone.START:
        return "from the start"
    what = "handed in" if step.reached == Milestone.HAND_IN else "approved"
    return f"once it is {what} at {stage_words(step.stage).lower()}"


def part_words(part: str) -> str:
    """Name which spreads a line speaks of; nothing is said where it speaks of all."""
    return "cover" if part == COVER else ""


def change_words(before: Terms | None, after: Terms) -> tuple[str, ...]:
    """Say what a version brings: the main lines of a first one, what differs in an amendment."""
    if before is None:
        rounds = ", ".join(f"{group_name(group)} {group.rounds}" for group in after.groups) or "none"
        return (f"rounds in the fee: {rounds}", f"fee {money_words(after.fee)}")
    was, now = _lines(before), _lines(after)
    changes = []
    for name in dict.fromkeys((*was, *now)):
        if was.get(name) == now.get(name):
            continue
        if name not in now:
            changes.append(f"{name}: left out, was {was[name]}")
        elif name not in was:
            changes.append(f"{name}: new, {now[name]}")
        else:
            changes.append(f"{name}: {now[name]}, was {was[name]}")
    return tuple(changes) or ("the order of its lines",)


def _lines(terms: Terms) -> dict[str, str]:
    """Write a version as named lines, so that two can be held against each other."""
    lines: dict[str, str] = {}
    for line in terms.stages:
        lines |= _stage_lines(line)
    for group in terms.groups:
        stages = ", ".join(stage_words(stage).lower() for stage in group.stages)
        lines[f"rounds for {group_name(group)}"] = f"{group.rounds} ({stages})"
    for part in terms.instalments:
        money = money_words(part.amount) if part.amount else share_words(part.share or Decimal(0))
        lines[f"instalment “{part.name}”"] = f"{money} {when_words(part)}, paid within {part.pay_within_days} days"
    for step in terms.cancellation:
        lines[f"cancellation {step_words(step)}"] = share_words(step.share)
    return lines | rule_lines(terms)


def _stage_lines(line: StageDays) -> dict[str, str]:
    name = " ".join(filter(None, (part_words(line.part), stage_words(line.stage).lower())))
    return {
        f"days to hand in {name}": str(line.hand_in_days),
        f"days to answer {name}": str(line.answer_days or "none"),
    }


def rule_lines(terms: Terms) -> dict[str, str]:
    """Write the rules and fees of a version, each under its name."""
    silence = terms.silence_approves_after
    return {
        "fee": money_words(terms.fee),
        "fee for a round beyond": money_words(terms.round_fee),
        "fee by the hour": money_words(terms.hour_fee),
        "beyond the fee": WHEN_OVER_WORDS[terms.when_over],
        "a brief that was not met": "uses a round" if terms.brief_counts else "uses no round",
        "the publisher’s late days": "move the dates" if terms.publisher_late_moves else "move no date",
        "silence": _silence(silence),
        "holidays kept": _holidays(terms),
        "other closed days": ", ".join(_day(day) for day in terms.shut) or "none",
        "time zone": zone_name(terms.zone),
        "cut-off": _cut_off(terms.cut_off, terms.late_receipt),
        "the day of receipt": "counts as the first day" if terms.counts_receipt else "does not count",
    }


def _silence(days: int | None) -> str:
    if days is None:
        return "never approves"
    return (
        f"counts as approval after {days} working days without an answer; the art director is warned three working "
        "days before, and of several options silence approves none"
    )


def _holidays(terms: Terms) -> str:
    names = [place_name(place) if place else "none" for place in terms.places]
    if not terms.own_places:
        return " and ".join(names) + (", both must work" if len(names) > 1 else "") if names else "none"
    return f"{names[0]} for the illustrator’s days, {names[1]} for the publisher’s"


def _cut_off(hour: time | None, late: str) -> str:
    if late == "as-is":
        return "whatever comes in counts from its own day"
    at = f"after {hour.isoformat('minutes')} or " if hour else ""
    return f"what comes {at}on a closed day counts as received on the next working day"


def group_name(group: RoundGroup) -> str:
    """Name a group, and the part of the book it is for."""
    # A stage that shares with no other gives its group its own code as a name.
    name = stage_words(group.name).lower() if group.stages == (group.name,) else group.name
    return f"{name} ({part_words(group.part)})" if group.part else name


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
