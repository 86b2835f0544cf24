"""Seats: who may see, offer, revoke and end them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews import jobs
from reviews.actions.books import make_book
from reviews.actions.seats import invite, make_person
from reviews.models import Invitation, Job, LedgerEntry, Seat
from reviews.pages.wording.refusals import REFUSALS
from reviews.rules.states import Deed, Role
from tests.cast import GUEST, NAMES, gather, sign_in
from tests.makers import a_book

pytestmark = pytest.mark.django_db

WREN = {"name": "Wren Tallis", "email": "wren@thimblereed.example", "role": Role.EDITOR}


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def page(cast):
    return reverse("reviews:seats", args=[cast.book.pk])


def text(answer) -> str:
    return answer.content.decode()


def test_every_member_sees_who_sits_where_and_only_the_art_director_their_addresses(client, cast, page):
    addresses = {email for _, email in NAMES.values()}
    for role in NAMES:
        sign_in(client, cast.seat(role).person)
        shown = text(client.get(page))
        assert all(name in shown for name, _ in NAMES.values())
        found = {address for address in addresses if address in shown}
        assert found == (addresses if role == Role.ART_DIRECTOR else set())


@pytest.mark.parametrize("house", [False, True])
def test_the_link_goes_to_the_person_invited_and_is_shown_to_nobody_else(client, cast, page, settings, house):
    settings.HOUSE = house
    sign_in(client, cast.art_director.person)
    answer = client.post(f"{page}invite/", WREN)
    assert answer["Location"] == page
    invitation = Invitation.objects.get(email=WREN["email"])
    assert Job.objects.filter(kind=jobs.INVITATION, subject_id=invitation.pk).exists()
    shown = text(client.get(page))
    assert "is invited as editor" in shown
    assert invitation.secret not in shown and reverse("reviews:invitation", args=[invitation.secret]) not in shown
    assert invitation.secret not in str(dict(client.session))


def test_a_guest_is_invited_to_one_spread(client, cast, page):
    sign_in(client, cast.art_director.person)
    guest = {"name": GUEST[0], "email": GUEST[1], "role": Role.GUEST}
    answer = client.post(f"{page}invite/", guest)
    assert answer.status_code == 422 and "invited to one spread" in text(answer)
    ideas = cast.passage("Cover", "ideas")
    client.post(f"{page}invite/", {**guest, "passage": ideas.pk})
    assert Invitation.objects.get(email=GUEST[1]).passage == ideas


def test_a_guest_cannot_be_sent_to_a_stage_without_options(client, cast, page):
    sign_in(client, cast.art_director.person)
    sketch = cast.passage("Cover", "sketch")
    answer = client.post(
        f"{page}invite/", {"name": GUEST[0], "email": GUEST[1], "role": Role.GUEST, "passage": sketch.pk}
    )
    assert answer.status_code == 422
    assert not Invitation.objects.filter(email=GUEST[1]).exists()


def test_the_same_person_is_not_invited_twice(client, cast, page):
    sign_in(client, cast.art_director.person)
    client.post(f"{page}invite/", WREN)
    answer = client.post(f"{page}invite/", WREN)
    assert answer.status_code == 422
    assert REFUSALS["already-invited"].format(email=WREN["email"]) in text(answer).replace("&#x27;", "'")


def test_a_revoked_invitation_leaves_the_page_and_opens_nothing(client, cast, page):
    invitation = invite(cast.book.pk, actor=cast.art_director, **WREN)
    sign_in(client, cast.art_director.person)
    client.post(reverse("reviews:revoke-invitation", args=[invitation.pk]))
    client.get(page)
    assert "Wren Tallis" not in text(client.get(page))
    client.post("/sign-out/")
    assert client.get(reverse("reviews:invitation", args=[invitation.secret])).status_code == 410


def test_ending_a_seat_takes_the_book_away_at_once(client, cast, page):
    sign_in(client, cast.illustrator.person)
    client.post(reverse("reviews:end-seat", args=[cast.agent.pk]))
    assert "1 ended seat" in text(client.get(page))
    sign_in(client, cast.agent.person)
    assert client.get(page).status_code == 404


def test_the_last_art_director_stays(client, cast, page):
    sign_in(client, cast.art_director.person)
    client.post(
        reverse("reviews:end-seat", args=[cast.art_director.pk]), headers={"referer": f"http://testserver{page}"}
    )
    assert str(REFUSALS["last-art-director"]) in text(client.get(page))
    cast.art_director.refresh_from_db()
    assert cast.art_director.ended_at is None


@pytest.mark.parametrize("role", [Role.EDITOR, Role.PRODUCTION])
def test_the_others_may_neither_invite_nor_revoke_nor_end(client, cast, page, role):
    invitation = invite(cast.book.pk, actor=cast.art_director, **WREN)
    sign_in(client, cast.seat(role).person)
    before = LedgerEntry.objects.count()
    for path in (
        f"{page}invite/",
        reverse("reviews:revoke-invitation", args=[invitation.pk]),
        reverse("reviews:end-seat", args=[cast.illustrator.pk]),
    ):
        assert client.post(path, WREN).status_code == 403
    assert "Send the invitation" not in text(client.get(page))
    assert LedgerEntry.objects.count() == before


def test_an_illustrator_who_set_the_book_up_brings_the_art_director_in(client):
    juniper = make_person(email="juniper@aldersea.example", name="Juniper Aldersea", password=None)
    book = make_book(a_book(role=Role.ILLUSTRATOR), actor=juniper)
    page = reverse("reviews:seats", args=[book.pk])
    sign_in(client, juniper)
    assert "Nobody answers for the publisher yet" in text(client.get(page))
    assert client.post(f"{page}invite/", WREN).status_code == 422, "nobody but the art director"
    client.post(f"{page}invite/", {**WREN, "role": Role.ART_DIRECTOR})
    assert Invitation.objects.get(email=WREN["email"]).role == Role.ART_DIRECTOR


def test_each_deed_leaves_its_line_in_the_ledger(client, cast, page):
    sign_in(client, cast.art_director.person)
    client.post(f"{page}invite/", WREN)
    client.post(reverse("reviews:revoke-invitation", args=[Invitation.objects.get(email=WREN["email"]).pk]))
    client.post(reverse("reviews:end-seat", args=[cast.editor.pk]))
    deeds = list(LedgerEntry.objects.filter(book=cast.book).order_by("-seq").values_list("deed", flat=True)[:3])
    assert deeds == [Deed.END_SEAT, Deed.REVOKE_INVITATION, Deed.INVITE]


def test_the_page_asks_the_database_the_same_number_of_times_for_any_number_of_seats(
    client, cast, page, django_assert_max_num_queries
):
    for n in range(6):
        invite(
            cast.book.pk,
            email=f"guest{n}@thimblereed.example",
            name=f"G {n}",
            role=Role.EDITOR,
            actor=cast.art_director,
        )
    sign_in(client, cast.art_director.person)
    with django_assert_max_num_queries(7):
        client.get(page)
    assert Seat.objects.filter(book=cast.book).count() == 5
