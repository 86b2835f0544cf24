"""One count of late days: the letter's cost, the account, the desk, the statement and a recount say the same.

The clock of the terms decides: Europe/London puts its clocks forward on Sunday 29 March 2026, so a count in UTC is an
hour off on the Monday after.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.pages.account import account_of
from reviews.pages.review_table import due_words
from reviews.queries.letter_cost import planned_letter
from reviews.queries.letters import answers_in_page_order, unsent_notes
from reviews.queries.statement import export_of
from reviews.rules.contract.recount import count_again, figures
from reviews.rules.states import PassageState, Refused, Side
from tests.accounts import statement_of
from tests.actions.test_terms import enter
from tests.agreed import move_due_date
from tests.cast import gather, sign_in
from tests.letter_scene import answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

#: Six in the evening, British Summer Time, is five in UTC.
AT_1759, AT_1801 = datetime(2026, 3, 30, 16, 59, tzinfo=UTC), datetime(2026, 3, 30, 17, 1, tzinfo=UTC)


def a_contract(**changes):
    """Ideas are answered within two working days; what comes after six counts as received on the next one."""
    return {
        "from_on": date(2026, 3, 2),
        "zone": "Europe/London",
        "places": ("GB-ENG",),
        "cut_off": time(18),
        "late_receipt": "next-working-day",
    } | changes


@pytest.fixture
def cast():
    with as_if_at(datetime(2026, 3, 23, 9, tzinfo=UTC)):
        cast = gather(a_book(start_on=date(2026, 3, 23)))
        enter(cast, **a_contract())
    return cast


@pytest.fixture
def ideas(cast):
    """Handed in on Thursday 26 March, so that the answer is due on Monday the 30th; changes are drafted."""
    ideas = cast.passage("Pages 4–5", "ideas")
    with as_if_at(datetime(2026, 3, 26, 10, tzinfo=UTC)):
        handed_in(ideas, cast.illustrator)
        pinned(ideas, cast.art_director)
        answered(cast, ideas, "ask")
    ideas.refresh_from_db()
    assert ideas.answer_due_on == date(2026, 3, 30)
    return ideas


def cost_at(cast, at):
    answers = answers_in_page_order(draft_of(cast))
    return planned_letter(cast.book, answers, unsent_notes([one.passage_id for one in answers]), at=at).cost.asks[0]


@pytest.mark.parametrize(("at", "late", "due_on"), [(AT_1759, 0, date(2026, 4, 7)), (AT_1801, 1, date(2026, 4, 8))])
def test_a_minute_before_and_after_the_cut_off(cast, ideas, client, monkeypatch, at, late, due_on):
    monkeypatch.setattr(timezone, "now", lambda: at)
    told = cost_at(cast, at)
    assert (told.days_late, told.due_on) == (late, due_on)
    sign_in(client, cast.art_director.person)
    page = unescape(client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode())
    assert ("1 working day</td>" in page) == bool(late)
    assert ("Sent now, the letter counts as received on Tuesday, 31 March" in page) == bool(late)
    with as_if_at(at):
        sent(cast)
    ideas.refresh_from_db()
    assert ideas.due_on == due_on
    statement = statement_of(cast.book, date(2026, 3, 30))
    line = next(line for line in statement.lines if line.passage == ideas.pk)
    assert (line.days.publisher_late, line.turns[-1].due_on) == (late, due_on)
    account = account_of(cast.book, cast.agent)
    kept = next(one for one in account.lines if one.passage.pk == ideas.pk)
    assert (kept.answered.late, kept.due_now, account.days_late_publisher) == (late, due_on, late)
    file = export_of(cast.book, date(2026, 3, 30), at=at)
    assert file["figures"]["days"]["publisher_late"] == late
    assert figures(count_again(file)) == file["figures"]


@pytest.mark.parametrize("days_after", [1, 4, 5, 8])
def test_while_a_turn_runs_desk_account_and_statement_agree(cast, ideas, monkeypatch, days_after):
    """Tuesday, Good Friday, Saturday, Tuesday after Easter; the portal's own clock says the same hour."""
    at = datetime(2026, 3, 30 + days_after, 12, tzinfo=UTC) if days_after == 1 else datetime(
        2026, 4, days_after - 1, 12, tzinfo=UTC
    )  # fmt: skip
    monkeypatch.setattr(timezone, "now", lambda: at)
    statement = statement_of(cast.book, at.date())
    late = next(line for line in statement.lines if line.passage == ideas.pk).days.publisher_late
    assert late == {1: 1, 4: 3, 5: 3, 8: 4}[days_after]
    account = account_of(cast.book, cast.agent)
    assert next(one for one in account.lines if one.passage.pk == ideas.pk).late_now == late
    words = due_words(cast.passage("Pages 4–5", "ideas"))["due_words"]
    assert words == f"answer {late} working day{'s' if late > 1 else ''} late"


def test_a_date_that_passed_on_a_weekend_is_past_and_no_working_day_late(cast, ideas, monkeypatch):
    with as_if_at(datetime(2026, 3, 27, 9, tzinfo=UTC)):
        sent(cast)
        handed_in(ideas, cast.illustrator, [3])
    passage = cast.passage("Pages 4–5", "ideas")
    assert passage.answer_due_on == date(2026, 3, 31)
    passage.answer_due_on = date(2026, 4, 2)  # Thursday; Good Friday and the weekend follow
    monkeypatch.setattr(timezone, "now", lambda: datetime(2026, 4, 4, 12, tzinfo=UTC))
    assert due_words(passage) == {"due_tone": "late", "due_words": "answer was due on Thursday"}


def test_each_side_is_late_by_its_own_calendar_on_the_desk_too(monkeypatch):
    """The publisher works in New York, where Good Friday is an ordinary day; the illustrator in England."""
    with as_if_at(datetime(2026, 3, 23, 9, tzinfo=UTC)):
        cast = gather(a_book(start_on=date(2026, 3, 23)))
        enter(cast, **a_contract(places=("GB-ENG", "US-NY"), own_places=True))
    ideas = cast.passage("Pages 4–5", "ideas")
    with as_if_at(datetime(2026, 3, 31, 10, tzinfo=UTC)):
        handed_in(ideas, cast.illustrator)
    ideas.refresh_from_db()
    assert ideas.answer_due_on == date(2026, 4, 2)
    at = datetime(2026, 4, 7, 12, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: at)
    statement = statement_of(cast.book, at.date())
    line = next(line for line in statement.lines if line.passage == ideas.pk)
    assert line.days.publisher_late == 3  # Friday the 3rd, Monday the 6th, Tuesday the 7th
    assert due_words(cast.passage("Pages 4–5", "ideas"))["due_words"] == "answer 3 working days late"
    cover = cast.passage("Cover", "ideas")
    drawing = next(line for line in statement.lines if line.passage == cover.pk)
    assert drawing.turns[-1].side == Side.ILLUSTRATOR
    late = drawing.days.illustrator_late
    words = due_words(cover)["due_words"]
    assert late and words == f"hand-in {late} working day{'s' if late > 1 else ''} late"


def test_stored_dates_are_those_the_statement_works_out(cast, ideas, monkeypatch):
    with as_if_at(AT_1801):
        sent(cast)
    monkeypatch.setattr(timezone, "now", lambda: AT_1801)
    for line in account_of(cast.book, cast.illustrator).lines:
        passage = line.passage
        stored = passage.answer_due_on if passage.state == PassageState.ANSWERING else passage.due_on
        assert line.due_now == stored, passage.where


def test_a_date_moves_to_any_day_worked_by_the_side_it_is_for():
    """Good Friday is closed in England, where she draws, and an ordinary day in New York, where they answer."""
    with as_if_at(datetime(2026, 3, 23, 9, tzinfo=UTC)):
        cast = gather(a_book(start_on=date(2026, 3, 23)))
        enter(cast, **a_contract(places=("GB-ENG", "US-NY"), own_places=True))
        ideas = cast.passage("Pages 4–5", "ideas")
        handed_in(ideas, cast.illustrator)
        good_friday = date(2026, 4, 3)
        moved = move_due_date(ideas.pk, to=good_friday, reason="The fair.", which="answer", actor=cast.art_director)
        assert moved.answer_due_on == good_friday
        cover = cast.passage("Cover", "ideas")
        with pytest.raises(Refused) as refused:
            move_due_date(cover.pk, to=good_friday, reason="The fair.", actor=cast.art_director)
    assert refused.value.code == "date-past"
