"""A forecast in plain words: what the book's end hangs on, and what one change would do to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from reviews.rules.contract.turns import Side
from reviews.rules.forecast.outlook import Outlook, WhatIf

#: Less than this many working days is not worth naming a spread or a side for.
_WORTH_NAMING = 0.5


@dataclass(frozen=True)
class OutlookPoint:
    """One question that the forecast answers, its answer in a few words, and why."""

    question: str
    answer: str
    why: str


def likely_and_safe(p50_on: date, p80_on: date) -> str:
    """Say both days of a forecast."""
    return f"as likely as not by {say(p50_on)}, four chances in five by {say(p80_on)}"


def chances(chance: float) -> str:
    """Say a probability in chances; nothing that was drawn is certain or impossible."""
    if chance < 0.005:
        return "less than 1 chance in 100"
    if chance >= 0.995:
        return "more than 99 chances in 100"
    n = round(chance * 100)
    return f"{n} {'chance' if n == 1 else 'chances'} in 100"


def points(outlook: Outlook, what_ifs: tuple[WhatIf, ...], date_name: str) -> tuple[OutlookPoint, ...]:
    """Answer what people ask of a forecast; ``date_name`` is "the contract date" or what stands in for it."""
    return (_spread(outlook), _side(outlook), *(_what_if(outlook, told, date_name) for told in what_ifs))


def _spread(outlook: Outlook) -> OutlookPoint:
    question, told = "The spread that costs most", outlook.costliest_spread
    if told is None or told.over_days < _WORTH_NAMING:
        return OutlookPoint(question, "None", "Every spread keeps to the days planned for it.")
    why = (
        f"{about(told.over_days).capitalize()} beyond the plan: {about(told.drawing_days)} of drawing where "
        f"{told.planned_days:.0f} {'is' if round(told.planned_days) == 1 else 'are'} planned, and "
        f"{about(told.waiting_days)} in which there is nothing to draw until it is answered."
    )
    return OutlookPoint(question, told.label, why)


def _side(outlook: Outlook) -> OutlookPoint:
    question, drawing, answers = "The side that costs most", outlook.illustrator_over, outlook.publisher_over
    more = "more" if drawing > 0 else "less"
    why = (
        f"The drawing takes {about(abs(drawing))} {more} than planned; for {about(answers)} the book waits for an "
        "answer and nothing else can be drawn."
    )
    if max(drawing, answers) < _WORTH_NAMING:
        return OutlookPoint(question, "Neither", why)
    answer = "The drawing" if outlook.costliest_side == Side.ILLUSTRATOR else "The publisher’s answers"
    return OutlookPoint(question, answer, why)


def _what_if(outlook: Outlook, told: WhatIf, date_name: str) -> OutlookPoint:
    moved = told.p50_days or told.p80_days
    before, after = (None if chance is None else chances(chance) for chance in (outlook.chance, told.chance))
    kept = f" {date_name[0].upper()}{date_name[1:]} then has {after} instead of {before}." if after != before else ""
    if not moved:
        answer = "Nothing changes" if after == before else "Both days stay where they are"
        return OutlookPoint(told.words, answer, kept.strip() or told.note or "Both days stay where they are.")
    both = likely_and_safe(told.p50_on, told.p80_on)
    return OutlookPoint(told.words, _shift(told.p50_days, told.p80_days), f"{both[0].upper()}{both[1:]}.{kept}")


def _shift(p50_days: int, p80_days: int) -> str:
    days = max(p50_days, p80_days, key=abs)
    count = "1 day" if abs(days) == 1 else f"{abs(days)} days"
    return f"{'' if p50_days == p80_days else 'up to '}{count} {'earlier' if days < 0 else 'later'}".capitalize()


def about(days: float) -> str:
    """Say working days no more exactly than a forecast knows them."""
    n = round(days)
    if n < 1:
        return "less than a working day"
    return "about 1 working day" if n == 1 else f"about {n} working days"


def say(day: date) -> str:
    """Write a day out."""
    return f"{day.day} {day:%B %Y}"
