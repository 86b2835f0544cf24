"""A stage that comes into the plan before one that is open: passed over, said so, and opened by a press."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from reviews.actions.layout import change_plan
from reviews.actions.passed_over import open_passed_over
from reviews.models import LedgerEntry, Passage, StagePlan
from reviews.pages.wording.ledger import sentence
from reviews.queries.held_check import check_held
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.rules.contract.left_to_do import left_by_spread
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.passed_over import are_passed_over
from reviews.rules.states import Gate, PassageState, Role, StageKind
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, handed_in
from tests.refusing import refusal

CLOSED, DRAWING, APPROVED = PassageState.CLOSED, PassageState.DRAWING, PassageState.APPROVED


def planned(kind: StageKind) -> PlannedStage:
    return PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=10, answer_days=5, rounds=1)


IDEAS, SKETCH, FULL, COLOUR = (
    planned(kind) for kind in (StageKind.IDEAS, StageKind.SKETCH, StageKind.FULL_SKETCH, StageKind.COLOUR)
)


@pytest.mark.parametrize(
    ("states", "over"),
    [
        ((APPROVED, DRAWING, CLOSED), (False, False, False)),
        ((APPROVED, CLOSED, DRAWING, CLOSED), (False, True, False, False)),
        ((CLOSED, CLOSED, APPROVED), (True, True, False)),
        ((DRAWING, CLOSED), (False, False)),
        ((), ()),
    ],
)
def test_what_is_closed_before_what_was_opened_is_passed_over(states, over):
    assert tuple(are_passed_over(states)) == over


@pytest.fixture
def cast() -> Cast:
    """A book whose pages 4–5 are at colour when a full sketch comes into the plan before it."""
    cast = gather(a_book(inside=(IDEAS, SKETCH, COLOUR)))
    for seed, kind in enumerate(("ideas", "sketch"), start=1):
        approved(cast, cast.passage("Pages 4–5", kind), seed)
    change_plan(plan(cast).pk, (IDEAS, SKETCH, FULL, COLOUR), actor=cast.art_director)
    return cast


def plan(cast) -> StagePlan:
    return StagePlan.objects.get(book=cast.book, covers=False)


def full(cast, label="Pages 4–5") -> Passage:
    return cast.passage(label, "full_sketch")


def opened(cast, *labels: str, by=None) -> list[Passage]:
    spreads = [full(cast, label).spread_id for label in labels]
    return open_passed_over(plan(cast).pk, "full_sketch", spreads=spreads, actor=by or cast.art_director)


@pytest.mark.django_db
class TestPassedOver:
    def test_nothing_of_it_is_due_or_left_to_do(self, cast):
        story = reckon_one(cast.book, full(cast).book.created_at).story
        left = {row[0].spread.label: [one.stage for one in row] for row in left_by_spread(story)}
        assert left["Pages 4–5"] == ["colour"]
        assert left["Pages 6–7"] == ["ideas", "sketch", "full_sketch", "colour"]

    def test_the_publisher_opens_it_and_both_sides_read_so(self, cast):
        [passage] = opened(cast, "Pages 4–5")
        passage.refresh_from_db()
        assert passage.state == DRAWING and passage.due_on > date(2026, 1, 1)
        assert cast.passage("Pages 4–5", "colour").state == DRAWING, "what is open stays open"
        told = sentence(LedgerEntry.objects.latest("seq").as_entry())
        assert told == "Corvin Mallowe opened what had been passed over: Pages 4–5, full sketch."
        assert check_held(cast.book).faults == [] and list(ledger_faults(cast.book)) == []
        handed_in(passage, cast.illustrator, [7])
        approved_again = cast.passage("Pages 4–5", "colour")
        assert approved_again.state == DRAWING

    def test_it_is_opened_once_and_only_where_it_was_passed_over(self, cast):
        assert refusal(opened, cast, "Pages 6–7") == "not-passed-over"
        assert refusal(opened, cast) == "not-passed-over"
        for seat in (cast.illustrator, cast.agent, cast.editor):
            assert refusal(opened, cast, "Pages 4–5", by=seat) == "not-yours"
        opened(cast, "Pages 4–5")
        assert refusal(opened, cast, "Pages 4–5") == "not-passed-over"

    def test_the_plan_offers_it_and_the_table_and_the_account_say_so(self, cast, client):
        address, table = reverse("reviews:plan", args=[cast.book.pk]), reverse("reviews:passage", args=[full(cast).pk])
        for role, may in ((Role.ART_DIRECTOR, True), (Role.ILLUSTRATOR, False)):
            sign_in(client, cast.seat(role).person)
            page = client.get(address).content.decode()
            assert "Passed over" in page and ("Open it on these spreads" in page) == may
            assert "so it was passed over" in client.get(table).content.decode()
            account = client.get(reverse("reviews:account", args=[cast.book.pk])).content.decode()
            assert "passed over, as a later stage was open" in account
        sign_in(client, cast.art_director.person)
        given = {"stage": "full_sketch", "spread": full(cast).spread_id}
        url = reverse("reviews:open-passed-over", args=[plan(cast).pk])
        page = client.post(url, given, follow=True).content.decode()
        assert "Open now: Pages 4–5, full sketch." in page and "Passed over" not in page

    def test_the_strip_of_a_changed_plan_says_where_a_stage_stays_closed(self, client):
        cast = gather(a_book(inside=(IDEAS, SKETCH, COLOUR)))
        for seed, kind in enumerate(("ideas", "sketch"), start=1):
            approved(cast, cast.passage("Pages 4–5", kind), seed)
        sign_in(client, cast.art_director.person)
        given = {
            f"{kind}-{name}": value
            for kind in ("ideas", "sketch", "full_sketch", "colour")
            for name, value in (
                ("used", "on"), ("gate", "answers"), ("hand_in_days", 10), ("answer_days", 5), ("rounds", 1),
            )
        }  # fmt: skip
        page = client.post(reverse("reviews:change-plan", args=[plan(cast).pk]), given, follow=True).content.decode()
        assert "Passed over, as a later stage is open there: Pages 4–5, full sketch." in page
