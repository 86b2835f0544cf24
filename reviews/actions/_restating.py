"""Restate the dates of what is under way when the first terms are entered: they hold for all that happened before."""

from __future__ import annotations

from reviews.actions._deed import Act
from reviews.models import Passage
from reviews.queries.statement import story_of
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.turns import all_turns
from reviews.rules.payload_shapes import RestatedDate
from reviews.rules.states import PassageState, Side


def restate_dates(terms: Terms, act: Act, before: TermsHistory | None = None) -> list[RestatedDate]:
    """Give what is drawn or answered now the dates that these terms give its turn; returns those that changed.

    They are the first, or an amendment to those ``before`` that reaches back, as both sides say. Every other amendment
    restates nothing: what is under way keeps the date it was given.
    """
    story = story_of(act.book)
    history = TermsHistory((*(before.versions if before else ()), terms))
    told_by = {**story.told_by, terms.version: 0}
    turns = all_turns(story, Receipts(history, told_by, story.pauses), act.today)
    under_way = (PassageState.DRAWING, PassageState.ANSWERING)
    told = []
    for passage in Passage.objects.with_places().filter(book=act.book, state__in=under_way).order_by("pk"):
        turn = turns[passage.pk][-1] if turns[passage.pk] else None
        if turn is None or not turn.is_open:
            continue  # the printer has it: its days are nobody's
        which, name = ("answer", "answer_due_on") if turn.side == Side.PUBLISHER else ("hand-in", "due_on")
        was_on = getattr(passage, name)
        if turn.due_on is None or was_on is None or turn.due_on == was_on:
            continue
        setattr(passage, name, turn.due_on)
        passage.save(update_fields=[name])
        told.append(
            RestatedDate(
                where=passage.where,
                passage=passage.pk,
                which=which,
                was_on=was_on.isoformat(),
                due_on=turn.due_on.isoformat(),
            )
        )
    return told
