"""Filters that put codes and values in words, from ``pages/wording/``."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django import template
from django.utils.formats import date_format
from django.utils.timezone import localdate, localtime

from reviews.pages.wording import (
    dates,
    due_dates,
    fees,
    ledger,
    ledger_faults,
    letter_answers,
    letter_cost,
    names,
    notes,
    outlook,
    refusals,
    schedule,
)
from reviews.pages.wording.term_sets import CAUTION, READY_SET_NAMES, READY_SET_WORDS
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.queries.consents import AskedRound
from reviews.queries.ledger import LedgerLine
from reviews.rules.contract.letter_cost import LetterCost
from reviews.rules.states import in_a_sentence

register = template.Library()

for _filter in (
    names.role_words,
    names.state_words,
    names.passage_words,
    names.gate_words,
    notes.reason_words,
    letter_answers.answer_words,
    letter_answers.answer_in_a_sentence,
    letter_answers.answer_button,
    names.response_words,
    notes.answered_words,
    due_dates.move_words,
    due_dates.cannot_meet_words,
    ledger_faults.break_words,
    letter_cost.round_words,
    letter_cost.extra_words,
    letter_cost.late_words,
    letter_cost.fees_words,
    outlook.sources_words,
    schedule.bar_words,
    schedule.mark_words,
    fees.working_words,
    fees.money_words,
):
    register.filter(_filter.__name__, _filter)

register.filter("sentence", refusals.sentence_for)
register.filter("in_a_sentence", in_a_sentence)


@register.filter
def round_price_words(asked: AskedRound) -> str:
    """Say what the round that consent is asked for costs by the terms that hold now."""
    return fees.price_words(asked.price, asked.terms.fee)


@register.filter
def line_words(line: LedgerLine) -> str:
    """Tell one line of the ledger."""
    return ledger.sentence(line.entry)


@register.filter
def near(day: date | None, form: str) -> str:
    """Write a day in a form without a year, and its year with it where that is not this one."""
    if day is None:
        return ""
    # A moment that was put into a book's zone stays there.
    is_moment = isinstance(day, datetime) and getattr(day, "convert_to_local_time", True)
    shown = localtime(day) if is_moment and isinstance(day, datetime) else day
    return date_format(shown, form if shown.year == localdate().year else f"{form} Y")


@register.filter
def own_clock(at: datetime, zone: str) -> str:
    """Tell a moment by the reader's clock, where that shows another hour than the one of the book's zone."""
    own, booked = localtime(at), localtime(at, ZoneInfo(zone))
    if own.replace(tzinfo=None) == booked.replace(tzinfo=None):
        return ""
    day = "" if own.date() == booked.date() else date_format(own, "j F")
    return dates.own_clock_words(own.strftime("%H:%M"), day)


@register.filter
def line_quote(line: LedgerLine) -> str:
    """Give what was written with what one line of the ledger tells."""
    return ledger.cover_note_of(line.entry)


@register.filter
def over_words(cost: LetterCost) -> str:
    """Say what the terms make of a letter that goes beyond the fee."""
    return str(names.WHEN_OVER_WORDS[cost.when_over])


@register.filter
def binding_words(binding: str) -> str:
    """Name a binding."""
    return str(names.BINDING_WORDS[BindingKind(binding)])


@register.filter
def ends_words(ends: str) -> str:
    """Name the kind of endpapers."""
    return str(names.ENDS_WORDS[EndsKind(ends)])


@register.filter
def ready_set_name(code: str) -> str:
    """Name a ready set of terms."""
    return str(READY_SET_NAMES[code])


@register.filter
def ready_set_words(code: str) -> str:
    """Say where a ready set's figures come from."""
    return str(READY_SET_WORDS[code])


@register.simple_tag
def terms_caution() -> str:
    """Give the caution beside every figure that is worked out from the terms."""
    return str(CAUTION)
