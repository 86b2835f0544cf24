"""The guide of each part: for everybody signed in, led to from the desk, with a caution where figures cost money."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.pages.wording.guides import GUIDES
from reviews.pages.wording.names import ROLE_WORDS
from reviews.rules import permits
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
#: Whoever sees money, or sets what goes to press, can lose money by a figure.
MONEY = [role for role in Role if permits.sees(role, "statement") or permits.sees(role, "geometry")]


def address(role: Role) -> str:
    return reverse("reviews:guide", args=[role.value])


@pytest.fixture
def cast():
    return gather(a_book())


def test_there_is_one_for_each_part_and_none_for_anything_else(client, cast):
    assert set(GUIDES) == set(Role)
    sign_in(client, cast.stranger)
    for role in Role:
        shown = client.get(address(role)).content.decode()
        assert f"Guide: {ROLE_WORDS[role]} · Roughproof" in shown
    assert client.get(reverse("reviews:guide", args=["wizard"])).status_code == 404
    client.logout()
    assert client.get(address(Role.EDITOR)).status_code == 302


def test_whoever_can_lose_money_by_a_figure_is_cautioned_and_the_contract_or_printer_decides():
    assert {role for role, guide in GUIDES.items() if guide.caution} == set(MONEY)
    for role in MONEY:
        words = str(GUIDES[role].caution)
        assert "signed contract" in words or "printer’s own specification" in words


def test_no_guide_promises_more_than_the_pages_do():
    """The portal's keeper can read a ballot, a vote can name the editor, a brief is read at once, a place is sought."""
    told = {role: " ".join(str(part) for step in guide.steps for part in step) for role, guide in GUIDES.items()}
    for role in (Role.GUEST, Role.SALES):
        assert "no page shows it" in told[role] and "nobody is shown" not in told[role]
        assert "or whoever is named to decide a vote" in told[role]
    assert "the brief, the text and proposals do at once" in told[Role.ILLUSTRATOR]
    assert "or says that this cannot be told" in told[Role.ILLUSTRATOR]


def test_no_guide_is_longer_than_a_screen_takes():
    # 1440 by 900 shows some 200 words beside the caution; the browser's walk of long pages measures the height.
    for guide in GUIDES.values():
        words = " ".join(str(part) for step in guide.steps for part in step).split()
        assert len(guide.steps) <= 4 and len(words) <= 190


def test_each_desk_leads_to_the_guide_of_its_own_part_and_to_no_other(client, cast):
    seats = {role: cast.seat(role) for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT)}
    seats |= {Role.PRODUCTION: cast.production, **cast.seat_advisers()}
    for role, seat in seats.items():
        sign_in(client, seat.person)
        shown = client.get("/").content.decode()
        assert [other for other in Role if address(other) in shown] == [role]


def test_a_guest_finds_it_beside_the_options(client, cast):
    cover = handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [1, 2])
    guest = cast.invite_guest(cover.passage)
    sign_in(client, guest.person)
    assert address(Role.GUEST) in client.get("/", follow=True).content.decode()
