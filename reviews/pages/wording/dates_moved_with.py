"""Dates that move with what a line of the ledger tells: by a late answer, or because a spread was away."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.wording.dates import day_words
from reviews.rules.entries import Entry


def _day(value: str) -> str:
    return day_words(date.fromisoformat(value))


def withdrawn_sentence(entry: Entry) -> str:
    """Tell that a hand-in was withdrawn, and its date where its spread was away in between."""
    told = _("{by} withdrew hand-in {number} of {where}: {reason}").format(by=entry.by, **entry.data)
    if due_on := entry.data.get("due_on"):
        again = _("Its spread was dropped and brought back since, so it is due on {day}.")
        told = f"{told} {again.format(day=_day(due_on))}"
    return told


def late_moves(data: Mapping[str, Any]) -> str:
    """Say which dates a late answer moved; nothing where it moved none."""
    told = ngettext(
        " The answer was {n} working day late, so {where} is due on {day}, not on {before}.",
        " The answer was {n} working days late, so {where} is due on {day}, not on {before}.",
        data.get("late_by", 0),
    )
    return "".join(
        told.format(n=data["late_by"], where=moved["where"], day=_day(moved["due_on"]), before=_day(moved["was_on"]))
        for moved in data.get("late_moves", ())
    )


def and_late_moves(told: Callable[[Entry], str]) -> Callable[[Entry], str]:
    """Let a sentence be followed by the dates that the end of a late turn moved."""
    return lambda entry: told(entry) + late_moves(entry.data)
