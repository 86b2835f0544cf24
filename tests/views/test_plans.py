"""Stages and pages: read by every member, edited by the art director."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions.hand_ins import hand_in
from reviews.models import HandIn, LedgerEntry, Passage, Spread, StagePlan
from reviews.rules.states import Deed, Gate, Role, StageKind
from tests.cast import gather, sign_in
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def page(cast):
    return reverse("reviews:plan", args=[cast.book.pk])


def inside(cast) -> StagePlan:
    return StagePlan.objects.get(book=cast.book, covers=False)


def posted(cast, **changes) -> dict[str, str]:
    """What the form would send as it stands, with changes such as ``proof={"used": "on"}``."""
    data = {}
    for stage in inside(cast).stages.all():
        row = {
            "used": "on",
            "gate": stage.gate,
            "hand_in_days": stage.hand_in_days,
            "answer_days": stage.answer_days,
            "rounds": stage.rounds,
            "group": stage.group,
        }
        if stage.two_voices:
            row["two_voices"] = "on"
        data |= {f"{stage.kind}-{name}": value for name, value in row.items()}
    for kind, row in changes.items():
        for name, value in row.items():
            if value is None:
                data.pop(f"{kind}-{name}", None)
            else:
                data[f"{kind}-{name}"] = value
    return data


def change(client, cast, **changes):
    return client.post(reverse("reviews:change-plan", args=[inside(cast).pk]), posted(cast, **changes))


PROOF = {"used": "on", "gate": Gate.ANSWERS, "hand_in_days": 10, "answer_days": 10, "rounds": 1, "group": ""}


def text(answer) -> str:
    return answer.content.decode()


def test_every_member_reads_the_stages_and_only_the_art_director_edits_them(client, cast, page):
    for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION):
        sign_in(client, cast.seat(role).person)
        shown = text(client.get(page))
        assert "The publisher must answer" in shown and "Art director and editor" in shown
        assert ("Change the stages" in shown) == (role == Role.ART_DIRECTOR)
        assert ("into single pages" in shown) == (role in {Role.ART_DIRECTOR, Role.PRODUCTION})


def test_sending_the_form_as_it_stands_changes_nothing(client, cast):
    sign_in(client, cast.art_director.person)
    before = list(inside(cast).stages.values())
    change(client, cast)
    assert list(inside(cast).stages.values()) == before


def test_a_ticked_stage_comes_in_with_its_passages(client, cast, page):
    sign_in(client, cast.art_director.person)
    assert change(client, cast, proof=PROOF)["Location"] == page
    assert Passage.objects.filter(book=cast.book, stage__kind="proof", spread__kind="opening").count() == 5
    assert LedgerEntry.objects.filter(book=cast.book).latest("seq").deed == Deed.CHANGE_PLAN


def test_an_unticked_stage_goes_and_what_stands_in_its_row_does_not_matter(client, cast, page):
    sign_in(client, cast.art_director.person)
    change(client, cast, line={"used": None, "hand_in_days": "", "rounds": ""})
    assert StageKind.LINE not in inside(cast).stages.values_list("kind", flat=True)


def test_figures_gate_group_and_voices_can_be_changed(client, cast):
    sign_in(client, cast.art_director.person)
    row = {"gate": Gate.SHOWN, "hand_in_days": 12, "rounds": 3, "group": "drawing", "two_voices": None}
    change(client, cast, sketch=row)
    stage = inside(cast).stages.get(kind="sketch")
    assert (stage.gate, stage.hand_in_days, stage.rounds, stage.group, stage.two_voices) == (
        Gate.SHOWN,
        12,
        3,
        "drawing",
        False,
    )


def test_a_stage_that_has_begun_stays_and_the_form_comes_back_with_what_was_typed(client, cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    sign_in(client, cast.art_director.person)
    answer = change(client, cast, ideas={"used": None}, colour={"rounds": 4})
    assert answer.status_code == 422
    shown = text(answer)
    assert "has begun on Pages 4–5" in shown and "begun, stays" in shown
    assert 'name="colour-rounds" value="4"' in shown
    assert inside(cast).stages.get(kind="colour").rounds == 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"sketch": {"hand_in_days": "soon"}}, "Enter a whole number"),
        ({"sketch": {"answer_days": "401"}}, "less than or equal to 400"),
        ({k: {"used": None} for k in ("ideas", "sketch", "line", "ink", "colour")}, "at least one stage"),
        ({k: {"gate": Gate.SHOWN} for k in ("ideas", "sketch", "line", "ink", "colour")}, "publisher never answers"),
    ],
)
def test_a_plan_nobody_could_follow_is_refused_in_words(client, cast, changes, words):
    sign_in(client, cast.art_director.person)
    answer = change(client, cast, **changes)
    page = text(answer)
    assert answer.status_code == 422 and words in page
    assert words in page[page.index("said wrong refused") : page.index("Edit the stages of")], "said at the top too"
    assert inside(cast).stages.count() == 5


def test_an_opening_is_split_and_joined_again_by_the_way_back(client, cast, page):
    sign_in(client, cast.production.person)
    opening = Spread.objects.get(book=cast.book, label="Pages 6–7")
    assert client.post(reverse("reviews:split-spread", args=[opening.pk]))["Location"] == page
    shown = text(client.get(page))
    left, right = Spread.objects.filter(book=cast.book, removed_at=None, first_page__in=(6, 7)).order_by("first_page")
    back = reverse("reviews:join-spreads", args=[left.pk, right.pk])
    assert "Pages 6–7 became Page 6 and Page 7." in shown and f'action="{back}"' in shown
    client.post(back)
    joined = Spread.objects.get(book=cast.book, removed_at=None, label="Pages 6–7")
    assert joined.pk != opening.pk


def test_pages_already_drawn_are_neither_split_nor_offered_for_it(client, cast, page):
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator)
    opening = Spread.objects.get(book=cast.book, label="Pages 6–7")
    path = reverse("reviews:split-spread", args=[opening.pk])
    sign_in(client, cast.art_director.person)
    assert path not in text(client.get(page))
    client.post(path, headers={"referer": f"http://testserver{page}"})
    assert "already has a hand-in" in text(client.get(page))
    assert Spread.objects.get(pk=opening.pk).removed_at is None


def test_a_draft_hand_in_after_a_split_belongs_to_the_new_page(client, cast):
    sign_in(client, cast.art_director.person)
    client.post(reverse("reviews:split-spread", args=[Spread.objects.get(book=cast.book, label="Pages 6–7").pk]))
    made = draft(cast.passage("Page 6", "ideas"), cast.illustrator)
    hand_in(made.pk, cover_note="", actor=cast.illustrator)
    assert HandIn.objects.get(pk=made.pk).number == 1


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT])
def test_the_others_change_neither_stages_nor_pages(client, cast, role):
    sign_in(client, cast.seat(role).person)
    assert change(client, cast, proof=PROOF).status_code == 403
    spread = Spread.objects.get(book=cast.book, label="Pages 6–7")
    assert client.post(reverse("reviews:split-spread", args=[spread.pk])).status_code == 403
    assert client.post(reverse("reviews:join-spreads", args=[spread.pk, spread.pk])).status_code == 403


def test_another_books_plan_does_not_exist_for_a_stranger(client, cast):
    sign_in(client, cast.stranger)
    assert change(client, cast, proof=PROOF).status_code == 404


@pytest.mark.parametrize("n_pages", [16, 48])
def test_the_page_takes_the_same_number_of_queries_for_any_number_of_spreads(
    client, n_pages, django_assert_num_queries
):
    cast = gather(a_book(n_pages=n_pages))
    sign_in(client, cast.art_director.person)
    with django_assert_num_queries(11):
        client.get(reverse("reviews:plan", args=[cast.book.pk]))


def test_stages_change_places_on_the_page_and_a_wrong_order_is_refused_with_its_reason(client, cast, page):
    sign_in(client, cast.art_director.person)
    assert 'name="colour-place" value="5"' in client.get(page).content.decode()
    places = {kind: {"place": n} for n, kind in enumerate(("ideas", "sketch", "colour", "line", "ink"), start=1)}
    assert change(client, cast, **places).status_code == 302
    assert [stage.kind for stage in inside(cast).stages.all()] == ["ideas", "sketch", "colour", "line", "ink"]
    text = client.get(page).content.decode()
    assert 'name="colour-place" value="3"' in text
    refused = change(client, cast, **(places | {"colour": {"place": 1}, "ideas": {"place": 3}}))
    assert refused.status_code == 422 and "ideas come first" in refused.content.decode()


def test_a_stage_that_comes_anew_without_a_place_follows_those_the_trade_has_before_it(client, cast):
    sign_in(client, cast.art_director.person)
    places = {kind: {"place": n} for n, kind in enumerate(("ideas", "sketch", "colour", "line", "ink"), start=1)}
    change(client, cast, **places, proof=PROOF)
    assert [stage.kind for stage in inside(cast).stages.all()][-1] == "proof"
