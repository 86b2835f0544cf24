"""Why a date moved, what can no longer be met, and what is due soon."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.wording import agreements
from reviews.pages.wording.dates import day_words, working_days
from reviews.pages.wording.names import side_words, stage_in_a_sentence
from reviews.rules.contract.due_dates import Move
from reviews.rules.contract.out_of_reach import CannotMeet
from reviews.rules.reminders import Urgency
from reviews.rules.states import Side


def move_words(move: Move) -> str:
    """Say why a date is not the planned one any more."""
    if move.why == "publisher-late":
        words = ngettext(
            "the publisher answered {n} working day late at {stage}",
            "the publisher answered {n} working days late at {stage}",
            move.late,
        )
        return words.format(n=move.late, stage=stage_in_a_sentence(move.stage))
    if move.why == "paused":
        return _("both sides agreed on a pause")
    if move.why == "terms":
        return _("by the days of the terms, which were entered later")
    if move.why == "fixed":
        return _fixed_words(move)
    if move.why == "freed":
        return _("the terms fix no date here any more, so the planned one holds again")
    if move.why == "changes-asked":
        return _("changes were asked for")
    if move.why == "reordered":
        return _("the stages have another order, in which each place keeps its date")
    if move.why == "brought-back":
        return _("the spread was dropped and brought back, with the days of its stage from then on")
    if move.why == "opened-late":
        return _("the stage opened too late for the date before")
    return agreements.move_words(
        move.reason,
        by=move.by,
        proposed_by=move.proposed_by,
        is_one_sided=move.is_one_sided,
        forgives=move.forgives,
    )


def _fixed_words(move: Move) -> str:
    """Say which terms fixed it: those of now may fix none."""
    if move.on is None:
        return _("the terms of then fix this date")
    return _("the terms, as they were on {day}, fix this date").format(day=day_words(move.on))


def cannot_meet_words(told: CannotMeet) -> str:
    """Say which spread cannot be done by the last day, and for whom it waits."""
    return _cannot_meet(told.label, told.final_on, told.earliest_on, told.waits_for)


def _cannot_meet(label: str, final_on: date, earliest_on: date, waits_for: str) -> str:
    return _(
        "{spread} cannot be done by {final_on} any more, even if everyone keeps to their dates: it would be done on "
        "{earliest_on}. It waits for the {side}."
    ).format(spread=label, final_on=day_words(final_on), earliest_on=day_words(earliest_on), side=side_words(waits_for))


def moved_by_lateness_words(where: str, before: date, after: date, late: int) -> str:
    """Say that a late answer moves the date of a stage that is drawn already."""
    return ngettext(
        "The answer is {n} working day late, so {where} is due on {after}, not on {before}.",
        "The answer is {n} working days late, so {where} is due on {after}, not on {before}.",
        late,
    ).format(n=late, where=where, before=day_words(before), after=day_words(after))


def due_words(where: str, side: str, urgency: str, due_on: date, days: int) -> str:
    """Remind of a due date: ahead, on the day, or once it is late."""
    day = date_format(due_on, "l j F")
    values = {"where": where, "day": day, "count": working_days(days)}
    return str(_DUE[Side(side), _moment(urgency, days)]()).format(**values)


def _moment(urgency: str, days: int) -> str:
    # A date on a closed day can be past before a working day is.
    return "past" if urgency == Urgency.LATE and not days else urgency


_DUE = {
    (Side.ILLUSTRATOR, Urgency.TODAY): lambda: _("{where}: the hand-in is due today."),
    (Side.ILLUSTRATOR, Urgency.AHEAD): lambda: _("{where}: the hand-in is due on {day}, in {count}."),
    (Side.ILLUSTRATOR, Urgency.LATE): lambda: _("{where}: the hand-in was due on {day} and is {count} late."),
    (Side.ILLUSTRATOR, "past"): lambda: _("{where}: the hand-in was due on {day}."),
    (Side.PUBLISHER, Urgency.TODAY): lambda: _("{where}: the answer is due today."),
    (Side.PUBLISHER, Urgency.AHEAD): lambda: _("{where}: the answer is due on {day}, in {count}."),
    (Side.PUBLISHER, Urgency.LATE): lambda: _("{where}: the answer was due on {day} and is {count} late."),
    (Side.PUBLISHER, "past"): lambda: _("{where}: the answer was due on {day}."),
}


def late_words(n: int, *, is_answer: bool) -> str:
    """Say by how many working days something is late."""
    if is_answer:
        told = ngettext("answer {n} working day late", "answer {n} working days late", n)
    else:
        told = ngettext("hand-in {n} working day late", "hand-in {n} working days late", n)
    return told.format(n=n)


def ahead_words(n: int, *, is_answer: bool) -> str:
    """Say in how many working days something is due."""
    if n == 0:
        return _("answer due today") if is_answer else _("hand-in due today")
    if is_answer:
        told = ngettext("answer due in {n} working day", "answer due in {n} working days", n)
    else:
        told = ngettext("hand-in due in {n} working day", "hand-in due in {n} working days", n)
    return told.format(n=n)


def passed_words(day: date, *, is_answer: bool) -> str:
    """Say which day of the week it was due, where no working day has passed since."""
    told = _("answer was due on {day}") if is_answer else _("hand-in was due on {day}")
    return told.format(day=date_format(day, "l"))


def told_words(told: dict[str, Any]) -> str:
    """Put in words what a notice keeps of a date: its code and values."""
    if told["code"] == "due":
        day = date.fromisoformat(told["due_on"])
        return due_words(told["where"], told["side"], told["urgency"], day, told["days"])
    if told["code"] == "cannot-meet":
        final_on, earliest_on = (date.fromisoformat(told[name]) for name in ("final_on", "earliest_on"))
        return _cannot_meet(told["label"], final_on, earliest_on, told["waits_for"])
    # Written before notices kept codes, in a form that could not be read back.
    return told["words"]
