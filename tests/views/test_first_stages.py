"""The order of the stages, and other stages than a ready plan has, when a book is set up."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions.seats import make_person
from reviews.forms.first_stages import FirstStages
from reviews.models import Book, Passage, Stage
from reviews.rules.contract.plans import READY_PLANS
from tests.cast import PASSWORD, sign_in
from tests.views.test_books import FORM, NEW, text

pytestmark = pytest.mark.django_db
COLOUR_FIRST = ("ideas", "sketch", "colour", "line", "ink", "proof")


@pytest.fixture
def corvin(client):
    person = make_person(email="corvin@thimblereed.example", name="Corvin Mallowe", password=PASSWORD)
    sign_in(client, person)
    return person


def order(*kinds: str, part: str = "inside", code: str = "every-stage") -> dict[str, str]:
    """Post the stages of one ready plan in this order."""
    rows = {f"{part}-{code}-{kind}-used": "on" for kind in kinds}
    return rows | {f"{part}-{code}-{kind}-place": str(place) for place, kind in enumerate(kinds, start=1)}


def made(client, **more) -> list[str]:
    answer = client.post(NEW, {**FORM, "inside": "every-stage", **more, "make": "yes"})
    assert answer.status_code == 302, text(answer)
    return list(Stage.objects.filter(plan__covers=False).order_by("position").values_list("kind", flat=True))


def test_colour_comes_before_line_from_the_first_day(client, corvin):
    preview = client.post(NEW, {**FORM, "inside": "every-stage", **order(*COLOUR_FIRST), "preview": "yes"})
    shown = [stage.name for stage in dict(preview.context["preview"].plans)["Inside"]]
    assert made(client, **order(*COLOUR_FIRST)) == list(COLOUR_FIRST)
    assert [shown.index(name) for name in ("Colour", "Line", "Ink")] == [2, 3, 4]
    row = Passage.objects.filter(book=Book.objects.get(), spread__label="Pages 4–5").order_by("stage__position")
    dates = [passage.planned_on for passage in row]
    assert [passage.stage.kind for passage in row] == list(COLOUR_FIRST) and dates == sorted(dates)


def test_folded_sheets_come_in_and_ink_stays_out(client, corvin):
    kinds = ("ideas", "sketch", "line", "colour", "proof", "gathered")
    assert made(client, **order(*kinds)) == list(kinds)


def test_without_a_word_the_ready_plan_is_taken(client, corvin):
    assert made(client) == [stage.kind for stage in READY_PLANS["every-stage"].stages]


def test_what_was_typed_for_a_plan_that_is_not_chosen_counts_nothing(client, corvin):
    other = order("ideas", "colour", code="two-looks")
    assert made(client, **other) == [stage.kind for stage in READY_PLANS["every-stage"].stages]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (order("colour", "ideas"), "The stages are out of order"),
        (order("ideas", "proof", "colour"), "The stages are out of order"),
        (order("ideas", "sketch") | {"inside-every-stage-sketch-place": "soon"}, "A place is a whole number"),
        ({"inside-every-stage-ideas-place": "1"}, "A stage plan needs at least one stage"),
    ],
)
def test_an_order_that_cannot_be_is_refused_and_stays_open_as_it_was_typed(client, corvin, given, said):
    page = text(client.post(NEW, {**FORM, "inside": "every-stage", **given, "make": "yes"}))
    assert said in page and not Book.objects.exists()
    assert 'data-order="inside-every-stage" open' in page


def test_each_ready_plan_shows_its_own_stages(client, corvin):
    sign_in(client, corvin)
    page = text(client.get(reverse("reviews:new-book")))
    for part, codes in (("inside", ("two-looks", "every-stage")), ("cover", ("cover", "two-looks", "every-stage"))):
        for code in codes:
            assert f'data-order="{part}-{code}"' in page
    stages = FirstStages(None, part="cover", code="cover")
    assert stages.stages == list(READY_PLANS["cover"].stages) and not stages.is_own
