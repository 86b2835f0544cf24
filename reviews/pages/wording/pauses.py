"""Pauses in words: what is asked, what was agreed, which one runs, and why one is refused."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.dates import day_and_month, day_words, working_days
from reviews.pages.wording.names import side_words
from reviews.rules.agreement_payloads import AgreePauseData
from reviews.rules.contract.pauses import Pause
from reviews.rules.entries import Entry
from reviews.rules.payloads import payload_of

PAUSE_REFUSALS: dict[str, Promise] = {
    "pause-backwards": gettext_lazy(
        "This pause would end on {ends_on}, before it begins on {begins_on}. Check both days."
    ),
    "pause-too-long": gettext_lazy(
        "A pause of more than a year is another contract. Agree on a shorter one, or amend the terms."
    ),
    "pause-before-work": gettext_lazy("Work on this book starts on {begins_on}. A pause cannot begin before it."),
    "pause-overlaps": gettext_lazy(
        "The book is paused from {begins_on} to {ends_on} already, and these days overlap it. Choose others, or "
        "propose other days for that pause."
    ),
    "pause-without-days": gettext_lazy(
        "Nobody works between {begins_on} and {ends_on} anyway, so there is nothing to pause."
    ),
    "pause-without-end": gettext_lazy("Say on which day the pause ends. It can be lengthened later, by both sides."),
    "pause-gone": gettext_lazy("This pause was called off meanwhile."),
    "pause-over": gettext_lazy("This pause ended on {ends_on}. Propose a new one if the work has to rest again."),
    "pause-begun": gettext_lazy(
        "This pause began on {begins_on}. Its last day can still be changed, and nothing else."
    ),
    "pause-ends-past": gettext_lazy(
        "A pause cannot end on a day that is over: its days were nobody’s. The earliest last day is {day}."
    ),
    "letter-paused": gettext_lazy(
        "Both sides agreed on a pause since this letter went, and it moved the dates that the letter gave. So it "
        "cannot be taken back; write another letter."
    ),
    "pause-same": gettext_lazy("Those are the days it has already."),
}


def span_words(first: date, last: date) -> str:
    """Say from which to which day: "1 March 2027", "1 to 5 March 2027" in full dates."""
    if first == last:
        return day_words(first)
    return _("{first} to {last}").format(first=day_words(first), last=day_words(last))


def pause_words(pause: Pause) -> str:
    """Name a pause: its days, its reason, and by whose words it stands."""
    told = _("{days}: {reason} ({proposer} proposed it, {by} agreed)")
    days = span_words(pause.first, pause.last)
    return told.format(days=days, reason=_unstopped(pause.reason), proposer=pause.proposed_by, by=pause.by)


def short_pause_words(first: date, last: date, reason: str) -> str:
    """Name a pause in a few words: its days and its reason."""
    return _("paused {days}: {reason}").format(days=span_words(first, last), reason=_unstopped(reason))


def running_words(last: date, reason: str) -> str:
    """Say that the book is paused today, until when, and what that means."""
    told = _("Paused until {last}: {reason}. These days are nobody’s, and nothing is late in them.")
    return told.format(last=day_words(last), reason=_unstopped(reason))


def paused_due_words(last: date, *, is_answer: bool, was_late: bool) -> str:
    """Say beside a date that the work rests today."""
    if was_late:
        told = _("answer was due, paused until {last}") if is_answer else _("hand-in was due, paused until {last}")
    else:
        told = _("answer due, paused until {last}") if is_answer else _("hand-in due, paused until {last}")
    return told.format(last=day_and_month(last))


def paused_days_words(n: int) -> str:
    """Say how many working days were nobody's because the book was paused."""
    return _("{days} of a pause, nobody’s").format(days=working_days(n))


def pause_asked_words(first: str, last: str | None, pause: int | None) -> str:
    """Say what a proposal of a pause asks for: a new one, other days for one that stands, or to call it off."""
    if last is None:
        return _("to call off the pause from {first}").format(first=_day(first))
    days = span_words(date.fromisoformat(first), date.fromisoformat(last))
    if pause is not None:
        return _("to make the pause last {days}").format(days=days)
    return _("to pause the book, {days}").format(days=days)


def agree_pause_sentence(entry: Entry) -> str:
    """Tell that both sides agreed on a pause, on other days for one, or to call it off."""
    data = payload_of(entry, AgreePauseData)
    proposed = data["proposed"]
    values = {
        "by": entry.by,
        "proposer": proposed["by"],
        "day": _day(proposed["on"]),
        "asked": pause_asked_words(data["first"], data["last"], data["pause"] if data["was"] else None),
        "reason": data["reason"] if data["reason"].endswith((".", "!", "?")) else f"{data['reason']}.",
    }
    told = _("{by} agreed {asked}, as {proposer} proposed on {day}: {reason}").format(**values)
    if data["was"]:
        first, last = (date.fromisoformat(day) for day in data["was"])
        told += " " + _("Before, it was {days}.").format(days=span_words(first, last))
    if data["last"]:
        told += " " + _("The days of the pause are nobody’s.")
    return " ".join([told, *_moved_words(data), *_late_words(data)])


def _moved_words(data: AgreePauseData) -> list[str]:
    n = len(data["moved"])
    told = ngettext("{n} date that falls in it or after it moves.", "{n} dates that fall in it or after it move.", n)
    return [told.format(n=n)] if n else []


def _late_words(data: AgreePauseData) -> list[str]:
    found = []
    for side, n in data["late"].items():
        told = (
            _("What the {side} was late by until then is forgiven, as far as it lay in the pause.")
            if side in data["forgives"]
            else ngettext(
                "The {n} spread-day that the {side} was late until then stays counted.",
                "The {n} spread-days that the {side} was late until then stay counted.",
                n,
            )
        )
        found.append(told.format(side=side_words(side), n=n))
    return found


def asked_facts(proposal: Any, n_working: int, *, instead_of: tuple[date, date] | None = None) -> list[tuple[str, str]]:
    """List what a proposal of a pause says, line by line; ``n_working`` of its days would be worked."""
    if proposal.to_on is None:
        days = _("none: the pause from {first} is called off").format(first=day_words(proposal.from_on))
    else:
        days = _("{days}, {n}").format(days=span_words(proposal.from_on, proposal.to_on), n=working_days(n_working))
    told = [(_("Paused"), days), (_("Why"), proposal.reason)]
    if instead_of is not None and proposal.to_on is not None:
        told.insert(1, (_("Instead of"), span_words(*instead_of)))
    if proposal.forgives:
        forgiven = _("what the {side} is late by until the agreement, as far as it lies in the pause")
        told.append((_("Forgives"), forgiven.format(side=side_words(proposal.side.other))))
    return told


def forgive_pause_words(side: str) -> str:
    """Say what whoever accepts a pause may forgive the side that proposed it."""
    told = _("What the {side} is late by until today is forgiven, as far as it lies in the pause")
    return told.format(side=side_words(side))


def consequence_words() -> str:
    """Say what agreeing to a pause does."""
    return _(
        "Its days are neither side’s: no reply is due, silence approves nothing, and nothing grows later in them. "
        "Dates that fall in it or after it move by it. The day of the printer does not move; production moves it. No "
        "payment is put off."
    )


def _unstopped(words: str) -> str:
    return words.rstrip(".")


def _day(value: str) -> str:
    return day_words(date.fromisoformat(value))
