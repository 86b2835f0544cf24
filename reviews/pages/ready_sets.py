"""A ready set of terms before it fills the form: each of its figures with its source, and what it would change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.text import capfirst
from django.utils.translation import gettext as _

from reviews.pages.wording.fees import share_words, step_words, when_words
from reviews.pages.wording.names import stage_words
from reviews.pages.wording.term_sets import SOURCE_WORDS
from reviews.pages.wording.terms import change_words, days_words, group_name, rule_lines
from reviews.rules.contract.term_sets import Figure, ReadySet, filled_from
from reviews.rules.contract.terms import Terms

#: What working illustrators' public terms say of a stage; other numbers lie in the range they name.
_SOURCED_ROUNDS = 2


@dataclass(frozen=True)
class SetFigure:
    """One figure of a set: what it is for, what it says, where it comes from."""

    what: str
    says: str
    source: str


@dataclass(frozen=True)
class SetLook:
    """A ready set as it is looked at; ``changes`` are the lines of the book's terms that it would change."""

    ready: ReadySet
    figures: tuple[SetFigure, ...]
    changes: tuple[str, ...]


def look_at(ready: ReadySet, held: Terms) -> SetLook:
    """Show a set beside the terms that hold, before anything is filled in."""
    filled = filled_from(ready, held)
    changes = change_words(held, filled) if filled != held else ()
    figures = tuple(
        SetFigure(capfirst(what), says, str(SOURCE_WORDS[ready.source_of(figure)]))
        for figure, what, says in _figures(ready.terms)
    )
    return SetLook(ready, figures, changes)


def _figures(terms: Terms) -> Iterator[tuple[Figure, str, str]]:
    for line in terms.stages:
        stage = stage_words(line.stage)
        hand_in, answer = (days_words(n_days, line.unit) for n_days in (line.hand_in_days, line.answer_days))
        yield Figure.HAND_IN_DAYS, _("{stage}: days to hand in").format(stage=stage), hand_in
        yield Figure.ANSWER_DAYS, _("{stage}: days to answer").format(stage=stage), answer
    for group in terms.groups:
        figure = Figure.TWO_ROUNDS if group.rounds == _SOURCED_ROUNDS else Figure.ONE_ROUND
        yield figure, _("rounds for {group}").format(group=group_name(group)), str(group.rounds)
    rules = rule_lines(terms)
    for figure, name in (
        (Figure.BRIEF, _("a brief that was not met")),
        (Figure.LATE_MOVES, _("the publisher’s late days")),
        (Figure.CUT_OFF, _("cut-off")),
    ):
        yield figure, name, rules[name]
    for part in terms.instalments:
        if part.share is not None:
            yield Figure.INSTALMENTS, f"{part.name}, {when_words(part)}", share_words(part.share)
        yield (
            Figure.PAY_WITHIN,
            _("{instalment}: paid within").format(instalment=part.name),
            _("{n} days").format(n=part.pay_within_days),
        )
    for step in terms.cancellation:
        yield Figure.KILL_FEE, _("kill fee {when}").format(when=step_words(step)), share_words(step.share)
