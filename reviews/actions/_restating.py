"""The dates that change when terms are agreed to: what is under way is restated, and what they fix is set.

First terms hold for all that happened before, so what is drawn or answered then has the dates they give it. A date that
terms fix for a first version or its answer holds from the agreement on, of stages that are still closed too.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from reviews.actions._deed import Act
from reviews.models import Passage, Spread, TermsVersion
from reviews.queries.due_under_terms import was_asked
from reviews.queries.statement import story_of
from reviews.queries.terms import history_in, part_for, terms_on
from reviews.rules.contract.fixed_dates import dates_freed, dates_set, fixed_on, fixes_other
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.turns import all_turns
from reviews.rules.payload_shapes import RestatedDate, SetByTerms
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
        which = "answer" if turn.side == Side.PUBLISHER else "hand-in"
        was_on = getattr(passage, _NAMES[which])
        if turn.due_on is None or was_on is None or turn.due_on == was_on:
            continue
        told.append(set_date(passage, which, turn.due_on))
    return told


def fix_dates(terms: Terms, act: Act, before: TermsHistory | None) -> list[RestatedDate]:
    """Give the passages whose first version or first answer is to come the dates that a version fixes.

    ``before`` has the versions it amends, None where it is the first. Returns the dates that changed.
    """
    story = story_of(act.book)
    history = (before or TermsHistory((terms,))).paused(act.book.paused)
    running = all_turns(story, Receipts(history, story.told_by, story.pauses), act.today)
    [after] = TermsHistory((terms,)).paused(act.book.paused).versions
    fixed = dates_set(story, history.versions[-1] if before else None, after, running)
    rows = Passage.objects.with_places().in_bulk([one.passage for one in fixed])
    changed = [one for one in fixed if getattr(rows[one.passage], _NAMES[one.which]) != one.due_on]
    return [set_date(rows[one.passage], one.which, one.due_on) for one in changed]


def free_dates(terms: Terms, act: Act, before: TermsHistory) -> list[RestatedDate]:
    """Put closed stages back to their planned dates, where an amendment that holds today fixes none there any more.

    A date that was moved since it was fixed stands.
    """
    if terms.from_on > act.today:
        return []
    freed = dates_freed(story_of(act.book), before.paused(act.book.paused).versions[-1], terms)
    rows = Passage.objects.with_places().in_bulk([planned.passage for planned, _ in freed])
    return [
        set_date(rows[planned.passage], planned.which, planned.due_on)
        for planned, was_on in freed
        if rows[planned.passage].due_on == was_on != planned.due_on
    ]


def dates_on_return(spreads: Iterable[tuple[Spread, datetime | None]], act: Act) -> SetByTerms:
    """Let what terms set while a spread was away hold of its first versions, now that it is back.

    Each spread comes with when it was dropped (3 queries for each, 1 more for each date).
    """
    told = SetByTerms()
    held = terms_on(act.book, act.now)
    if held is None:
        return told
    for spread, left_at in spreads:
        known = history_in(TermsVersion.objects.filter(book=act.book, entry__at__lte=left_at).order_by("number"))
        before = known.paused(act.book.paused).versions[-1] if known else None
        for passage in spread.passages.select_related("stage").order_by("stage__position"):
            passage.book, passage.spread = act.book, spread
            _on_return(passage, before, held, act, told)
    return told


def _on_return(passage: Passage, before: Terms | None, held: Terms, act: Act, told: SetByTerms) -> None:
    part, stage = part_for(passage.spread), passage.stage.kind
    first = passage.state in (PassageState.CLOSED, PassageState.DRAWING)
    if not first or not fixes_other(before, held, part, stage) or was_asked(passage):
        return
    was_on = fixed_on(before, part, stage, Side.ILLUSTRATOR) if before is not None else None
    fixed, planned_on = fixed_on(held, part, stage, Side.ILLUSTRATOR), passage.planned_on
    if fixed is not None and fixed > act.today and passage.due_on != fixed:
        told.setdefault("fixes", []).append(set_date(passage, "hand-in", fixed))
    elif fixed is None and passage.state == PassageState.CLOSED and passage.due_on == was_on != planned_on:
        told.setdefault("frees", []).append(set_date(passage, "hand-in", planned_on))


_NAMES = {"answer": "answer_due_on", "hand-in": "due_on"}


def set_date(passage: Passage, which: str, due_on: date) -> RestatedDate:
    """Write another date, and give the line that tells it."""
    name = _NAMES[which]
    was_on: date = getattr(passage, name)
    setattr(passage, name, due_on)
    passage.save(update_fields=[name])
    return RestatedDate(
        where=passage.where, passage=passage.pk, which=which, was_on=was_on.isoformat(), due_on=due_on.isoformat()
    )
