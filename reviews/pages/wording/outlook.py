"""A forecast in plain words: what the book's end hangs on, and what one change would do to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.wording.dates import day_words
from reviews.pages.wording.kept import kept_by_language
from reviews.rules.forecast.outlook import Outlook, SupposedChange, WhatIf
from reviews.rules.states import Side

#: Less than this many working days is not worth naming a spread or a side for.
_WORTH_NAMING = 0.5

#: Two questions that are the same of either side.
_OF_BOTH = frozenset({SupposedChange.PUBLISHER_IN_TIME, SupposedChange.ILLUSTRATOR_IN_TIME})


@dataclass(frozen=True)
class OutlookPoint:
    """One question that the forecast answers, its answer in a few words, and why."""

    question: str
    answer: str
    why: str


@kept_by_language
def likely_and_safe(p50_on: date, p80_on: date) -> str:
    """Say both days of a forecast."""
    told = _("as likely as not by {likely}, four chances in five by {safe}")
    return told.format(likely=day_words(p50_on), safe=day_words(p80_on))


def chances(chance: float) -> str:
    """Say a probability in chances; nothing that was drawn is certain or impossible."""
    if chance < 0.005:
        return _("less than 1 chance in 100")
    if chance >= 0.995:
        return _("more than 99 chances in 100")
    n = round(chance * 100)
    return ngettext("{n} chance in 100", "{n} chances in 100", n).format(n=n)


def sources_words(outlook: Outlook) -> str:
    """Say of how many past cases a forecast was drawn."""
    first, redo, answer, rounds = (_cases(n) for n in outlook.n_cases)
    told = _("First versions: {first}. Redone versions: {redo}. Answers: {answer}. Rounds: {rounds}.")
    words = told.format(first=first, redo=redo, answer=answer, rounds=rounds)
    if all(outlook.n_cases):
        return words
    return f"{words} " + _("Where there are no past cases, the estimate is this portal’s own, and neither side’s.")


def _cases(n: int) -> str:
    return _("{n} past cases of this book").format(n=n) if n else _("estimates, for want of past cases")


def points(
    outlook: Outlook, what_ifs: tuple[WhatIf, ...], date_name: str, *, both_sides: bool = False
) -> tuple[OutlookPoint, ...]:
    """Answer what people ask of a forecast; ``date_name`` is "the contract date" or what stands in for it.

    Without past cases there is no verdict. ``both_sides``: only what is said of both sides alike, for a page that is
    to argue for neither.
    """
    if not outlook.has_cases:
        return ()
    alike = [told for told in what_ifs if told.change in _OF_BOTH or not both_sides]
    spread = (_spread(outlook),) if outlook.compares_sides else ()
    side = (_side(outlook),) if outlook.compares_sides and not both_sides else ()
    if both_sides and not (outlook.compares_sides and {told.change for told in alike} >= _OF_BOTH):
        alike = []
    return (*spread, *side, *(_what_if(outlook, told, date_name) for told in alike))


def verdict_words(outlook: Outlook) -> str:
    """Say why no chance is given, where there are no past cases to give one from."""
    if outlook.has_cases:
        return ""
    return _(
        "These days are estimates: nothing of this book has been finished yet, so no chance of keeping a date is given."
    )


def _spread(outlook: Outlook) -> OutlookPoint:
    question, told = _("The spread that costs most"), outlook.costliest_spread
    if told is None or told.over_days < _WORTH_NAMING:
        return OutlookPoint(question, _("None"), _("Every spread keeps to the days planned for it."))
    planned = round(told.planned_days)
    why = ngettext(
        "{over} beyond the plan: {drawing} of drawing where {planned} is planned, and {waiting} in which there is "
        "nothing to draw until it is answered.",
        "{over} beyond the plan: {drawing} of drawing where {planned} are planned, and {waiting} in which there is "
        "nothing to draw until it is answered.",
        planned,
    ).format(
        over=about(told.over_days).capitalize(),
        drawing=about(told.drawing_days),
        planned=planned,
        waiting=about(told.waiting_days),
    )
    return OutlookPoint(question, told.label, why)


def _side(outlook: Outlook) -> OutlookPoint:
    question, drawing, answers = _("The side that costs most"), outlook.illustrator_over, outlook.publisher_over
    if drawing > 0:
        why = _(
            "The drawing takes {drawing} more than planned; for {answers} the book waits for an answer and nothing "
            "else can be drawn."
        )
    else:
        why = _(
            "The drawing takes {drawing} less than planned; for {answers} the book waits for an answer and nothing "
            "else can be drawn."
        )
    why = why.format(drawing=about(abs(drawing)), answers=about(answers))
    if max(drawing, answers) < _WORTH_NAMING:
        return OutlookPoint(question, _("Neither"), why)
    is_drawing = outlook.costliest_side == Side.ILLUSTRATOR
    return OutlookPoint(question, _("The drawing") if is_drawing else _("The publisher’s answers"), why)


def _what_if(outlook: Outlook, told: WhatIf, date_name: str) -> OutlookPoint:
    moved = told.p50_days or told.p80_days
    before, after = (None if chance is None else chances(chance) for chance in (outlook.chance, told.chance))
    kept = _("{date} then has {after} instead of {before}.").format(date=_start(date_name), after=after, before=before)
    kept = kept if after != before else ""
    question = _question(told.change)
    if not moved:
        answer = _("Nothing changes") if after == before else _("Both days stay where they are")
        return OutlookPoint(question, answer, kept or _why_nothing(told))
    both = _("{days}.").format(days=_start(likely_and_safe(told.p50_on, told.p80_on)))
    return OutlookPoint(question, _shift(told.p50_days, told.p80_days), f"{both} {kept}".strip())


def _question(change: SupposedChange) -> str:
    return {
        SupposedChange.ANSWERED_TODAY: _("If the letter goes today"),
        SupposedChange.PUBLISHER_IN_TIME: _("If the publisher keeps to the terms"),
        SupposedChange.ILLUSTRATOR_IN_TIME: _("If the illustrator keeps to the terms"),
    }[change]


def _why_nothing(told: WhatIf) -> str:
    if told.change == SupposedChange.PUBLISHER_IN_TIME:
        return _("The answers come on time already, or there is enough else to draw meanwhile.")
    if told.change == SupposedChange.ILLUSTRATOR_IN_TIME:
        return _("The drawing keeps to its days already.")
    if not told.n_waiting:
        return _("No spread waits for an answer today.")
    return ngettext(
        "{n} spread waits for its answer, but there is enough else to draw meanwhile.",
        "{n} spreads wait for their answers, but there is enough else to draw meanwhile.",
        told.n_waiting,
    ).format(n=told.n_waiting)


def _shift(p50_days: int, p80_days: int) -> str:
    days = max(p50_days, p80_days, key=abs)
    n, is_exact = abs(days), p50_days == p80_days
    if days < 0:
        exact, up_to = (
            ngettext("{n} day earlier", "{n} days earlier", n),
            ngettext("up to {n} day earlier", "up to {n} days earlier", n),
        )
    else:
        exact, up_to = (
            ngettext("{n} day later", "{n} days later", n),
            ngettext("up to {n} day later", "up to {n} days later", n),
        )
    return _start((exact if is_exact else up_to).format(n=n))


def _start(words: str) -> str:
    """Begin a sentence with these words."""
    return words[0].upper() + words[1:]


def about(days: float) -> str:
    """Say working days no more exactly than a forecast knows them."""
    n = round(days)
    if n < 1:
        return _("less than a working day")
    return ngettext("about {n} working day", "about {n} working days", n).format(n=n)
