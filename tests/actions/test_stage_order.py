"""A book has its own order of stages until they open: what follows what, which dates go along, what is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import second_voice
from reviews.actions.clock import as_if_at
from reviews.actions.layout import change_plan
from reviews.actions.page_changes import change_pages
from reviews.models import LedgerEntry, Passage, Spread, StagePlan
from reviews.queries.ledger_check import check_ledger
from reviews.queries.reckoning import reckon_one
from reviews.queries.statement import export_of
from reviews.rules.contract import recount
from reviews.rules.contract.plans import check_plan
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.states import Deed, Refused, StageKind
from tests.agreed import move_due_date
from tests.cast import gather, sign_in
from tests.letter_scene import approved
from tests.makers import SHORT_PLAN, a_book, handed_in

pytestmark = pytest.mark.django_db
BY_KIND = {stage.kind: stage for stage in SHORT_PLAN}


@pytest.fixture
def cast():
    return gather(a_book())


def order(*kinds: str):
    return [BY_KIND[StageKind(kind)] for kind in kinds]


def reordered(cast, *kinds: str):
    plan = StagePlan.objects.get(book=cast.book, covers=False)
    return change_plan(plan.pk, order(*kinds), actor=cast.art_director)


def approved_by_two(cast, passage, seed):
    """Approve by the letter, and have the editor agree."""
    approved(cast, passage, seed)
    passage.refresh_from_db()
    second_voice.agree(passage.pending_id, actor=cast.editor)


COLOUR_FIRST = ("ideas", "sketch", "colour", "line", "ink")


def dates(cast, label="Pages 4–5") -> dict[str, object]:
    rows = Passage.objects.filter(book=cast.book, spread__label=label).order_by("stage__position")
    return dict(rows.values_list("stage__kind", "due_on"))


def test_colour_comes_before_line_where_the_book_says_so_and_each_place_keeps_its_date(cast):
    before = dates(cast)
    reordered(cast, *COLOUR_FIRST)
    after = dates(cast)
    assert list(after) == list(COLOUR_FIRST)
    closed = list(after.values())[1:]
    assert closed == sorted(list(before.values())[1:]), "no stage is due before the one that comes first"
    statement = reckon_one(cast.book, timezone.now()).statement
    told = {line.passage: line.due.current_on for line in statement.lines}
    assert told == dict(Passage.objects.filter(book=cast.book).values_list("pk", "due_on"))
    first = next(line.spread.spread for line in statement.lines if line.spread.label == "Pages 4–5")
    assert [line.stage for line in statement.lines if line.spread.spread == first] == list(COLOUR_FIRST)
    assert not check_ledger(cast.book, hashes=True).faults
    file = export_of(cast.book, None, at=timezone.now())
    assert recount.differences(file["figures"], recount.figures(recount.count_again(file))) == []


def test_what_opens_next_follows_the_books_own_order(cast):
    reordered(cast, *COLOUR_FIRST)
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    approved_by_two(cast, cast.passage("Pages 4–5", "sketch"), 2)
    assert cast.passage("Pages 4–5", "colour").state == "drawing"
    assert cast.passage("Pages 4–5", "line").state == "closed"
    handed_in(cast.passage("Pages 4–5", "colour"), cast.illustrator, [3])
    assert not check_ledger(cast.book, hashes=True).faults


def test_the_ledger_and_the_page_tell_it_to_both_sides(client, cast):
    reordered(cast, *COLOUR_FIRST)
    entry = LedgerEntry.objects.get(deed=Deed.CHANGE_PLAN)
    assert entry.data["restated"] and set(entry.data["positions"].values()) == {1, 2, 3, 4, 5}
    for seat in (cast.illustrator, cast.agent, cast.art_director):
        sign_in(client, seat.person)
        ledger = client.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()
        assert "The stages follow each other in this order now." in ledger and "each place keeps its date" in ledger


def test_a_stage_that_opened_on_any_spread_keeps_its_place(cast):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    approved_by_two(cast, cast.passage("Pages 4–5", "sketch"), 2)
    assert cast.passage("Pages 4–5", "line").state == "drawing"
    with pytest.raises(Refused, match="order-opened"):
        reordered(cast, *COLOUR_FIRST)
    assert list(dates(cast)) == [stage.kind for stage in SHORT_PLAN]
    # Only what comes later is still free.
    reordered(cast, "ideas", "sketch", "line", "colour", "ink")
    assert list(dates(cast))[-2:] == ["colour", "ink"]


def test_a_date_that_both_sides_agreed_on_is_not_moved_by_a_new_order(cast):
    line = cast.passage("Pages 4–5", "line")
    move_due_date(line.pk, to=line.due_on.replace(year=2027, month=3, day=1), reason="A fair.", actor=cast.illustrator)
    with pytest.raises(Refused, match="stage-dated"):
        reordered(cast, *COLOUR_FIRST)


def test_a_stage_is_left_out_and_a_spread_brought_back_follows_the_order_of_now(cast):
    gone = Spread.objects.get(book=cast.book, label="Pages 6–7")
    change_pages(cast.book.pk, WantedPages(what=PageDeed.DROP, spread=gone.pk), "Too long.", actor=cast.art_director)
    reordered(cast, "ideas", "sketch", "colour", "line")
    assert not check_ledger(cast.book, hashes=True).faults
    wanted = WantedPages(what=PageDeed.BACK, spread=gone.pk, first_page=6, last_page=7)
    change_pages(cast.book.pk, wanted, "It is missed.", actor=cast.art_director)
    assert list(dates(cast, "Pages 6–7")) == ["ideas", "sketch", "colour", "line"]
    assert not check_ledger(cast.book, hashes=True).faults


@pytest.mark.parametrize(
    "kinds",
    [("sketch", "ideas", "colour"), ("ideas", "colour", "sketch"), ("ideas", "proof", "colour"),
     ("ideas", "sketch", "finish", "colour")],
)  # fmt: skip
def test_what_is_made_from_another_stage_does_not_come_before_it(kinds):
    model = BY_KIND[StageKind.COLOUR]
    stages = [replace(model, kind=StageKind(kind)) for kind in kinds]
    with pytest.raises(Refused, match="stage-order"):
        check_plan(stages)


def test_earlier_statements_have_the_order_and_dates_of_their_day():
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book())
    with as_if_at(datetime(2026, 11, 10, 9, tzinfo=UTC)):
        before = export_of(cast.book, date(2026, 11, 9), at=timezone.now())["figures"]
        reordered(cast, *COLOUR_FIRST)
        after = export_of(cast.book, date(2026, 11, 9), at=timezone.now())["figures"]
        now = export_of(cast.book, date(2026, 11, 10), at=timezone.now())["figures"]
    assert recount.differences(before, after) == []
    assert recount.differences(before, now) != []
