"""Terms in words: what one version says, and what an amendment changed, line by line."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import time
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.wording.dates import day_words, short_day
from reviews.pages.wording.fees import fee_lines, money_words, share_words, step_words, when_words
from reviews.pages.wording.names import WHEN_OVER_WORDS, stage_in_a_sentence
from reviews.rules.contract.calendars import place_name, zone_name
from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.days import LateReceipt
from reviews.rules.contract.periods import DayUnit, StageSilence
from reviews.rules.contract.terms import (
    COVER,
    RoundGroup,
    RoundsPer,
    StageDays,
    Terms,
)
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Side


def part_words(part: str) -> str:
    """Name which spreads a line speaks of; nothing is said where it speaks of all."""
    return _("cover") if part == COVER else ""


def change_words(before: Terms | None, after: Terms) -> tuple[str, ...]:
    """Say what a version brings: the main lines of a first one, what differs in an amendment."""
    if before is None:
        # What goes back to the printer is nobody's round: that its stage has none of them says nothing.
        told = [group for group in after.groups if group.rounds or not PRINTERS_STAGES.issuperset(group.stages)]
        rounds = ", ".join(f"{group_name(group)} {group.rounds}" for group in told) or _("none")
        return (
            _("rounds in the fee: {rounds}").format(rounds=rounds),
            _("fee {money}").format(money=money_words(after.fee)),
        )
    was, now = _lines(before), _lines(after)
    changes = []
    for name in dict.fromkeys((*was, *now)):
        if was.get(name) == now.get(name):
            continue
        if name not in now:
            changes.append(_("{line}: left out, was {was}").format(line=name, was=was[name]))
        elif name not in was:
            changes.append(_("{line}: new, {now}").format(line=name, now=now[name]))
        else:
            changes.append(_("{line}: {now}, was {was}").format(line=name, now=now[name], was=was[name]))
    return tuple(changes) or (_("the order of its lines"),)


def _lines(terms: Terms) -> dict[str, str]:
    """Write a version as named lines, so that two can be held against each other."""
    lines: dict[str, str] = {}
    for line in terms.stages:
        lines |= _stage_lines(line)
    for group in terms.groups:
        stages = ", ".join(stage_in_a_sentence(stage) for stage in group.stages)
        per = "" if group.per == RoundsPer.SPREAD else f", {per_words(group.per)}"
        lines[_("rounds for {group}").format(group=group_name(group))] = f"{group.rounds} ({stages}){per}"
    for part in terms.instalments:
        money = money_words(part.amount) if part.amount else share_words(part.share or Decimal(0))
        lines[_("instalment “{name}”").format(name=part.name)] = _("{money} {when}, paid within {n} days").format(
            money=money, when=when_words(part), n=part.pay_within_days
        )
    for step in terms.cancellation:
        lines[_("kill fee {when}").format(when=step_words(step))] = share_words(step.share)
    return lines | rule_lines(terms)


def _stage_lines(line: StageDays) -> dict[str, str]:
    name = " ".join(filter(None, (part_words(line.part), stage_in_a_sentence(line.stage))))
    said = {
        _("days to hand in {stage}").format(stage=name): days_words(line.hand_in_days, line.unit),
        _("days to answer {stage}").format(stage=name): days_words(line.answer_days, line.unit),
    }
    if line.redo_days is not None:
        said[_("days for a revision of {stage}").format(stage=name)] = days_words(line.redo_days, line.unit)
    if line.second_look_days is not None:
        said[_("days for a second look at {stage}").format(stage=name)] = days_words(line.second_look_days, line.unit)
    if line.hand_in_on is not None:
        said[_("date of the first version of {stage}").format(stage=name)] = day_words(line.hand_in_on)
    if line.answer_on is not None:
        said[_("date of the first answer at {stage}").format(stage=name)] = day_words(line.answer_on)
    return said


def days_words(n_days: int, unit: DayUnit) -> str:
    """Write a number of days; working days are what is meant where nothing is said."""
    if not n_days:
        return _("none")
    return str(n_days) if unit == DayUnit.WORKING else _("{n} calendar days").format(n=n_days)


def rule_lines(terms: Terms) -> dict[str, str]:
    """Write the rules and fees of a version, each under its name."""
    return {
        **fee_lines(terms),
        _("extra rounds"): str(WHEN_OVER_WORDS[terms.when_over]),
        _("a question"): _("uses no round"),
        _("a brief that was not met"): _("uses a round") if terms.brief_counts else _("uses no round"),
        _("a new direction or a changed text"): _new_work(terms.new_work_after),
        _("the publisher’s late days"): _("move the dates") if terms.publisher_late_moves else _("move no date"),
        _("a changed version"): _("is due by its own days from the letter")
        if terms.redo_from_letter
        else _("is due by its own days from the letter, or by the day it had before if that is later"),
        **_fixed_lines(terms),
        _("silence"): _silence(terms),
        _("days of grace"): _grace(terms),
        _("moves of a date"): _moves(terms.moves_at_most),
        _("holidays kept"): _holidays(terms),
        _("other closed days"): _closures(terms),
        _("holidays that are worked"): _ranges(terms.worked) or _("none"),
        _("the printer"): _printer(terms.printer_place),
        _("time zone"): zone_name(terms.zone),
        _("cut-off"): _cut_off(terms.cut_off, terms.late_receipt),
        _("the day of receipt"): _("counts as the first day") if terms.counts_receipt else _("does not count"),
    }


def per_words(per: RoundsPer) -> str:
    """Say whose rounds a number of the terms is."""
    return {
        RoundsPer.SPREAD: _("for each spread"),
        RoundsPer.DELIVERY: _("for the whole book; one letter is one round, however many spreads it is about"),
        RoundsPer.BOOK: _("for the whole book; each spread that a letter asks to change is one"),
    }[per]


def whole_book_words(part: str) -> str:
    """Name what shares rounds that no single spread has."""
    return _("The cover") if part == COVER else _("The whole book")


def _fixed_lines(terms: Terms) -> dict[str, str]:
    """Say which dates stand in the terms, and what they mean; nothing where all periods are days."""
    told = [words for line in terms.stages for words in _fixed_of(line)]
    if not told:
        return {}
    runs_on = (
        _("on a closed day it runs to the next working day")
        if terms.fixed_runs_on
        else _("it holds also where it lies on a closed day")
    )
    rest = _(
        "such a date takes the place of the stage’s days, and is moved as any other; {runs_on}; what opens, or comes "
        "in, on that day or later has the stage’s days"
    )
    return {_("fixed dates"): "; ".join([*told, rest.format(runs_on=runs_on)])}


def _fixed_of(line: StageDays) -> list[str]:
    name = " ".join(filter(None, (part_words(line.part), stage_in_a_sentence(line.stage))))
    told = []
    if line.hand_in_on is not None:
        told.append(
            _("the first version of {stage} is due on {day}").format(stage=name, day=day_words(line.hand_in_on))
        )
    if line.answer_on is not None:
        told.append(_("the first answer at {stage} is due on {day}").format(stage=name, day=day_words(line.answer_on)))
    return told


def _new_work(after: str) -> str:
    if not after:
        return _("is outside the fee where the stage itself was approved")
    return _("is outside the fee once the {stage} stage is approved, at every later stage of that spread too").format(
        stage=stage_in_a_sentence(after)
    )


def _silence(terms: Terms) -> str:
    days = terms.silence_approves_after
    told = [_("never approves")]
    if days is not None:
        told = [_("counts as approval after {days} working days without an answer").format(days=days)]
    told += [_stage_silence(line) for line in terms.silences]
    if terms.lets_silence_approve:
        told.append(
            _("the art director is warned three working days before, and of several options silence approves none")
        )
        told.append(_("a letter that was taken back does not begin these days anew"))
    return "; ".join(told)


def _stage_silence(line: StageSilence) -> str:
    name = " ".join(filter(None, (part_words(line.part), stage_in_a_sentence(line.stage))))
    if line.days is None:
        return _("at {stage}, it never approves").format(stage=name)
    told = {
        DayUnit.WORKING: _("at {stage}, it counts as approval after {days} working days"),
        DayUnit.CALENDAR: _("at {stage}, it counts as approval after {days} calendar days"),
    }
    return told[line.unit].format(stage=name, days=line.days)


def _moves(most: int | None) -> str:
    if most is None:
        return _("as often as both sides agree")
    if most == 0:
        return _("no date is moved later by agreement")
    told = ngettext(
        "each date is moved later by agreement at most {n} time; what a late answer or a pause moves does not count",
        "each date is moved later by agreement at most {n} times; what a late answer or a pause moves does not count",
        most,
    )
    return told.format(n=most)


def _grace(terms: Terms) -> str:
    illustrator, publisher = terms.hand_in_grace, terms.answer_grace
    if not illustrator and not publisher:
        return _("none: every working day after a last day is late")
    told = _(
        "{illustrator} working days for the illustrator, {publisher} for the publisher; only the days beyond them are "
        "counted as late"
    )
    return told.format(illustrator=illustrator or _("no"), publisher=publisher or _("none"))


def _holidays(terms: Terms) -> str:
    names = [place_name(place) if place else _("none") for place in terms.places]
    if terms.own_places:
        told = _("{own} for the illustrator’s days, {other} for the publisher’s")
        return told.format(own=names[0], other=names[1])
    if len(names) > 1:
        return _("{places}, both must work").format(places=_(" and ").join(names))
    return names[0] if names else _("none")


def _closures(terms: Terms) -> str:
    days = [day_words(day) for day in terms.shut]
    return ", ".join([*days, *filter(None, [_ranges(terms.closures)])]) or _("none")


def _ranges(ranges: Iterable[DayRange]) -> str:
    return ", ".join(_range(one) for one in ranges)


def _range(one: DayRange) -> str:
    days = day_words(one.first)
    if one.last > one.first:
        days = _("{first} to {last}").format(first=days, last=day_words(one.last))
    if one.side is None:
        return days
    whose = _("the illustrator’s days") if one.side == Side.ILLUSTRATOR else _("the publisher’s days")
    return _("{days} for {whose}").format(days=days, whose=whose)


def _printer(place: str) -> str:
    if not place:
        return _("its holidays are not kept")
    told = _("keeps the holidays of {place}; the book’s last day is one that is worked there")
    return told.format(place=place_name(place))


def _cut_off(hour: time | None, late: str) -> str:
    if late == "as-is":
        return _("whatever comes in counts from its own day")
    if hour is None:
        return _("what comes on a closed day counts as received on the next working day")
    return _("what comes after {hour} or on a closed day counts as received on the next working day").format(
        hour=hour.isoformat("minutes")
    )


def group_name(group: RoundGroup) -> str:
    """Name a group, and the part of the book it is for."""
    # A stage that shares with no other gives its group its own code as a name.
    name = stage_in_a_sentence(group.name) if group.stages == (group.name,) else group.name
    return f"{name} ({part_words(group.part)})" if group.part else name


def received_words(late: LateReceipt | None) -> str:
    """Say why what happened counts on a later day; nothing where it counts at once."""
    if late is None:
        return ""
    day = short_day(late.counts_on)
    if late.is_before_begin:
        return _("before its days began to run, counts as {day}").format(day=day)
    if late.late_at is not None:
        return _("after {hour}, counts as {day}").format(hour=late.late_at.isoformat("minutes"), day=day)
    return _("on a closed day, counts as {day}").format(day=day)
