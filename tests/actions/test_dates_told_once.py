"""One fact, one date at every place: after a late answer, a change asked for early, an amendment.

The days are counted by hand over Monday to Friday, without holidays.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from functools import partial
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.actions.silence import announce_silence, approve_by_silence
from reviews.models import LedgerEntry
from reviews.pages.wording.ledger import sentence
from reviews.queries.ledger_check import ledger_faults
from reviews.rules.contract.terms import StageDays
from tests.accounts import statement_of
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, draft_of, pinned, sent
from tests.makers import a_book, handed_in
from tests.one_date import dates_told, disagreements

pytestmark = pytest.mark.django_db

STAGES = (StageDays("ideas", 4, 2), StageDays("sketch", 10, 3), StageDays("line", 4, 0), StageDays("colour", 9, 3))
MOVES = {"stages": STAGES, "from_on": date(2026, 3, 2), "publisher_late_moves": True}


def at(day: str, hour: int = 10) -> datetime:
    return datetime.fromisoformat(day).replace(hour=hour, tzinfo=UTC)


def begun(**terms):
    with as_if_at(at("2026-03-02", 9)):
        cast = gather(a_book(start_on=date(2026, 3, 2)))
        enter(cast, **(MOVES | terms))
    return cast


def one_date(cast, now, where, stage):
    """Give the one date that every place tells of a passage."""
    told = dates_told(cast, now)
    assert disagreements(told) == []
    dates = told[cast.passage(where, stage).pk]
    assert {"row", "turn", "statement", "feed", "map", "desk", "account", "table", "schedule"} <= dates.keys() | {
        "map",
        "schedule",
    }, dates
    return dates["row"]


def reopened(cast):
    """Ideas approved on Tuesday 3 March; on the 10th their text changes, and on the 11th they are in again."""
    ideas = cast.passage("Pages 4–5", "ideas")
    with as_if_at(at("2026-03-03")):
        approved(cast, ideas, 1)
    with as_if_at(at("2026-03-10")):
        pinned(ideas, cast.art_director, cause="text")
        answered(cast, ideas, "ask")
        sent(cast, over=True)
    with as_if_at(at("2026-03-11")):
        handed_in(ideas, cast.illustrator, [2])
    return ideas


@pytest.mark.parametrize(("moves", "due_on"), [(True, "2026-03-31"), (False, "2026-03-26")])
def test_a_late_answer_on_a_stage_opened_again_moves_what_is_drawn_everywhere_or_nowhere(moves, due_on):
    """Due by Friday 13th, answered on Wednesday 18th."""
    cast = begun(publisher_late_moves=moves)
    ideas = reopened(cast)
    before = one_date(cast, at("2026-03-17"), "Pages 4–5", "sketch")
    with as_if_at(at("2026-03-18")):
        answered(cast, ideas, "approve")
        sent(cast)
    after = one_date(cast, at("2026-03-18", 12), "Pages 4–5", "sketch")
    planned = cast.passage("Pages 4–5", "sketch").planned_on
    assert planned == date(2026, 3, 26), "the plan gives ideas five days and three, and sketches ten"
    assert (before, after) == (planned, date.fromisoformat(due_on))
    letter = LedgerEntry.objects.filter(book=cast.book, deed="send-letter").last()
    words = " The answer was 3 working days late, so Pages 4–5, sketch is due on 31 March 2026, not on 26 March 2026."
    assert sentence(letter.as_entry()).endswith(words) is moves
    line = next(
        one
        for one in statement_of(cast.book, date(2026, 3, 18)).lines
        if one.passage == cast.passage("Pages 4–5", "sketch").pk
    )
    told = [(move.why, move.late, move.stage) for move in line.due.moves]
    assert told == ([("publisher-late", 3, "ideas")] if moves else [])
    assert list(ledger_faults(cast.book)) == []
    with as_if_at(at(due_on)):
        handed_in(cast.passage("Pages 4–5", "sketch"), cast.illustrator, [3])
    told = statement_of(cast.book, date.fromisoformat(due_on))
    assert next(one for one in told.lines if one.passage == line.passage).days.illustrator_late == 0


def test_the_letter_says_before_it_goes_which_other_stage_it_moves(client, monkeypatch):
    cast = begun()
    ideas = reopened(cast)
    for day, is_told in (("2026-03-13", False), ("2026-03-18", True)):
        monkeypatch.setattr(timezone, "now", partial(at, day))
        with as_if_at(at(day)):
            answered(cast, ideas, "approve")
        sign_in(client, cast.art_director.person)
        page = unescape(client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode())
        words = "The answer is 3 working days late, so Pages 4–5, sketch is due on 31 March 2026, not on 26 March 2026."
        assert (words in page) is is_told, day


def test_silence_on_a_stage_opened_again_moves_what_is_drawn_by_its_late_days():
    """Due by Friday 13th; five working days of silence end with Wednesday 18th, and the portal says so on Thursday."""
    cast = begun(silence_approves_after=5)
    ideas = reopened(cast)
    with as_if_at(at("2026-03-16")):
        announce_silence(ideas.pk)
    with as_if_at(at("2026-03-19")):
        approve_by_silence(ideas.pk)
    assert one_date(cast, at("2026-03-19", 12), "Pages 4–5", "sketch") == date(2026, 3, 31)
    assert list(ledger_faults(cast.book)) == []


@pytest.mark.parametrize(("from_letter", "due_on"), [(False, "2026-03-26"), (True, "2026-03-18")])
def test_a_change_asked_for_early_is_due_by_the_later_of_its_own_days_and_the_date_that_stood(
    client, monkeypatch, from_letter, due_on
):
    """Sketches planned for Thursday 26 March come on the 3rd; changes asked for on the 4th have ten working days."""
    cast = begun(redo_from_letter=from_letter)
    sketch = cast.passage("Pages 4–5", "sketch")
    with as_if_at(at("2026-03-03")):
        approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
        handed_in(sketch, cast.illustrator, [2])
    with as_if_at(at("2026-03-04")):
        pinned(sketch, cast.art_director)
        answered(cast, sketch, "ask")
    monkeypatch.setattr(timezone, "now", lambda: at("2026-03-04"))
    sign_in(client, cast.art_director.person)
    page = unescape(client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode())
    day = date.fromisoformat(due_on)
    assert f"The next version is due on {day:%A}, {day.day} March." in page
    with as_if_at(at("2026-03-04")):
        sent(cast)
    assert one_date(cast, at("2026-03-04", 12), "Pages 4–5", "sketch") == day
    with as_if_at(at("2026-03-20")):
        handed_in(sketch, cast.illustrator, [3])
    told = statement_of(cast.book, date(2026, 3, 20))
    late = next(line for line in told.lines if line.passage == sketch.pk).days.illustrator_late
    assert late == (2 if from_letter else 0)


def test_a_change_asked_for_late_has_its_own_days():
    cast = begun()
    sketch = cast.passage("Pages 4–5", "sketch")
    with as_if_at(at("2026-03-20")):
        approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    with as_if_at(at("2026-04-03")):
        handed_in(sketch, cast.illustrator, [2])
        pinned(sketch, cast.art_director)
        answered(cast, sketch, "ask")
        sent(cast)
    assert one_date(cast, at("2026-04-03", 12), "Pages 4–5", "sketch") == date(2026, 4, 17)


@pytest.mark.parametrize("answer_days", [1, 9])
def test_what_comes_in_between_its_receipt_and_the_day_it_counts_keeps_the_date_it_was_told(answer_days):
    """Handed in on Friday evening; the amendment holds from Monday, when it counts as received."""
    evening = {"cut_off": time(17), "late_receipt": "next-working-day"}
    cast = begun(**evening)
    with as_if_at(at("2026-03-04")):
        enter(
            cast,
            1,
            **(MOVES | evening | {"from_on": date(2026, 3, 9), "stages": (StageDays("ideas", 4, answer_days),)}),
            groups=(),
        )
    with as_if_at(at("2026-03-06", 18)):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [1])
    for now in (at("2026-03-06", 19), at("2026-03-09"), at("2026-03-20")):
        assert one_date(cast, now, "Pages 4–5", "ideas") == date(2026, 3, 11)


def test_an_amendment_of_the_same_day_governs_only_what_comes_after_it():
    cast = begun()
    ideas, others = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 6–7", "ideas")
    with as_if_at(at("2026-03-04", 10)):
        handed_in(ideas, cast.illustrator, [1])
    with as_if_at(at("2026-03-04", 12)):
        stages = (StageDays("ideas", 4, 6),)
        enter(cast, 1, **(MOVES | {"from_on": date(2026, 3, 4), "stages": stages}), groups=())
    with as_if_at(at("2026-03-04", 14)):
        handed_in(others, cast.illustrator, [2])
    for now in (at("2026-03-04", 15), at("2026-03-06")):
        assert one_date(cast, now, "Pages 4–5", "ideas") == date(2026, 3, 6)
        assert one_date(cast, now, "Pages 6–7", "ideas") == date(2026, 3, 12)
