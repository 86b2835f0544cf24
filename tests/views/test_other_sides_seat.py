"""Nobody gets into the other side's seat: not by ending it, not by inviting into it, not by an invitation kept back."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from reviews.actions import hand_ins, seats
from reviews.actions.books import make_book
from reviews.models import HandIn, Picture, Seat
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import REFUSALS
from reviews.queries.ledger import lines_for
from reviews.queries.thumbnails import newest_pictures
from reviews.rules import permits
from reviews.rules.states import ILLUSTRATOR_SIDE, HandInState, PassageState, Refused, Role
from tests.cast import PASSWORD, gather, sign_in
from tests.letter_scene import answered, pinned, sent
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db
OWN_ADDRESS = "corvin.again@thimblereed.example"


@pytest.fixture
def cast():
    return gather(a_book())


def invited(book, role, *, actor, email=OWN_ADDRESS):
    return seats.invite(book.pk, email=email, name="Somebody", role=role, actor=actor)


@pytest.mark.parametrize("role", sorted(ILLUSTRATOR_SIDE))
def test_the_art_director_ends_no_seat_of_the_illustrators_side(cast, role):
    with pytest.raises(Refused, match="seat-other-side"):
        seats.end_seat(cast.seat(role).pk, actor=cast.art_director)
    client = Client()
    sign_in(client, cast.art_director.person)
    assert client.post(reverse("reviews:end-seat", args=[cast.seat(role).pk])).status_code == 403
    assert Seat.objects.get(pk=cast.seat(role).pk).ended_at is None


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION])
@pytest.mark.parametrize("by", sorted(ILLUSTRATOR_SIDE))
def test_the_illustrators_side_ends_no_seat_of_the_publishers(cast, by, role):
    with pytest.raises(Refused, match="seat-other-side"):
        seats.end_seat(cast.seat(role).pk, actor=cast.seat(by))


@pytest.mark.parametrize("by", sorted(ILLUSTRATOR_SIDE))
def test_the_illustrator_and_the_agent_end_each_others_seats_and_their_own(cast, by):
    for role in ILLUSTRATOR_SIDE - {by}:
        seats.end_seat(cast.seat(role).pk, actor=cast.seat(by))
    seats.end_seat(cast.seat(by).pk, actor=cast.seat(by))
    assert not Seat.objects.filter(book=cast.book, role__in=ILLUSTRATOR_SIDE, ended_at=None).exists()


@pytest.mark.parametrize("role", sorted(ILLUSTRATOR_SIDE))
@pytest.mark.parametrize("is_empty", [False, True])
def test_the_art_director_offers_no_seat_that_was_held_by_the_illustrators_side(cast, role, is_empty):
    if is_empty:
        seats.end_seat(cast.agent.pk, actor=cast.illustrator)
        seats.end_seat(cast.illustrator.pk, actor=cast.illustrator)
    with pytest.raises(Refused, match="agent-is-theirs" if role == Role.AGENT else "illustrator-is-theirs"):
        invited(cast.book, role, actor=cast.art_director)


def test_whoever_finds_the_illustrators_seat_empty_is_told_what_to_do(cast):
    seats.end_seat(cast.illustrator.pk, actor=cast.illustrator)
    client = Client()
    sign_in(client, cast.art_director.person)
    page = client.get(reverse("reviews:seats", args=[cast.book.pk])).content.decode()
    assert "set up a new book for whoever goes on" in page
    assert "set up a new book for whoever goes on" in REFUSALS["illustrator-is-theirs"]
    assert 'value="illustrator"' not in page


def test_of_two_invitations_to_the_illustrators_first_seat_one_opens_it():
    """The art director keeps one back for an address of their own: it must not open a seat beside the illustrator."""
    corvin = seats.make_person(email="corvin@thimblereed.example", name="Corvin Mallowe", password=None)
    book = make_book(a_book(), actor=corvin)
    director = book.seats.get()
    kept_back = invited(book, Role.ILLUSTRATOR, actor=director)
    real = invited(book, Role.ILLUSTRATOR, actor=director, email="juniper@aldersea.example")
    juniper = seats.take_seat(real.secret, name="Juniper Aldersea", password=PASSWORD)
    for _ in ("while she sits", "after she left"):
        with pytest.raises(Refused, match="invitation-overtaken"):
            seats.take_seat(kept_back.secret, name="Corvin Again", password=PASSWORD)
        if Seat.objects.get(pk=juniper.pk).ended_at is None:
            seats.end_seat(juniper.pk, actor=juniper)


def test_the_agent_is_invited_by_the_illustrators_side_only():
    corvin = seats.make_person(email="corvin@thimblereed.example", name="Corvin Mallowe", password=None)
    book = make_book(a_book(), actor=corvin)
    with pytest.raises(Refused, match="agent-is-theirs"):
        invited(book, Role.AGENT, actor=book.seats.get())


@pytest.mark.parametrize("by", sorted(ILLUSTRATOR_SIDE))
def test_a_second_illustrator_and_agent_come_from_their_own_side(cast, by):
    for role in sorted(ILLUSTRATOR_SIDE):
        offer = invited(cast.book, role, actor=cast.seat(by), email=f"{role}@aldersea.example")
        assert seats.take_seat(offer.secret, name="Lark Aldersea", password=PASSWORD).role == role


def test_an_invitation_of_the_other_side_is_not_taken_back(cast):
    offer = invited(cast.book, Role.AGENT, actor=cast.illustrator)
    with pytest.raises(Refused, match="not-yours"):
        seats.revoke_invitation(offer.pk, actor=cast.art_director)
    seats.revoke_invitation(offer.pk, actor=cast.agent)


def test_the_table_of_offers_never_leads_across_a_seat_once_held():
    for role in Role:
        offered = permits.may_offer(role, ever_held=frozenset(Role))
        assert all(permits.is_same_side(role, other) for other in offered), role


@pytest.fixture
def succession(cast):
    """Juniper handed in at a hidden stage and left a draft; then she named a successor and left."""
    ink, line = cast.passage("Pages 4–5", "ink"), cast.passage("Pages 6–7", "ideas")
    ink.state = PassageState.DRAWING
    ink.save()
    hidden = handed_in(ink, cast.illustrator, (7,))
    left = draft(line, cast.illustrator, (8, 9))
    sheet = left.pictures.first()
    hand_ins.remove_picture(sheet.pk, actor=cast.illustrator)
    offer = invited(cast.book, Role.ILLUSTRATOR, actor=cast.illustrator, email="lark@aldersea.example")
    seats.end_seat(cast.illustrator.pk, actor=cast.illustrator)
    lark = seats.take_seat(offer.secret, name="Lark Aldersea", password=PASSWORD)
    return cast, lark, hidden, left


def test_a_successor_sees_no_hidden_stage_and_no_sheet_of_the_former_illustrator(succession):
    _, lark, hidden, left = succession
    client = Client()
    sign_in(client, lark.person)
    pictures = [*Picture.objects.filter(hand_in__in=[hidden, left])]
    assert len(pictures) == 3
    for picture in pictures:
        for name in ("picture-state", "picture-original", "picture-preview"):
            assert client.get(reverse(f"reviews:{name}", args=[picture.pk])).status_code == 404
    shown = {one.picture for one in newest_pictures([lark]).values()}
    assert not shown & {picture.pk for picture in pictures}
    words = " ".join(sentence(line.entry) for line in lines_for(lark))
    assert "idea 7.jpg" not in words and "idea 8.jpg" not in words and "ink" not in words


def test_a_second_illustrator_who_sat_beside_the_first_goes_on_seeing_what_they_shared(cast):
    offer = invited(cast.book, Role.ILLUSTRATOR, actor=cast.illustrator, email="lark@aldersea.example")
    lark = seats.take_seat(offer.secret, name="Lark Aldersea", password=PASSWORD)
    ink = cast.passage("Pages 4–5", "ink")
    ink.state = PassageState.DRAWING
    ink.save()
    picture = handed_in(ink, cast.illustrator, (7,)).pictures.get()
    seats.end_seat(cast.illustrator.pk, actor=cast.illustrator)
    client = Client()
    sign_in(client, lark.person)
    assert client.get(reverse("reviews:picture-state", args=[picture.pk])).status_code == 200


def test_a_draft_left_behind_keeps_no_successor_from_handing_in(succession):
    _, lark, _, left = succession
    left.refresh_from_db()
    assert left.state == HandInState.LEFT
    fresh = handed_in(left.passage, lark, (3,))
    assert HandIn.objects.get(pk=fresh.pk).number == 1


def test_a_picture_taken_back_is_shown_only_where_a_letter_speaks_of_it(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    mistaken = handed_in(ideas, cast.illustrator, (7,))
    pinned(ideas, cast.editor)
    hand_ins.withdraw_hand_in(mistaken.pk, "The wrong file.", actor=cast.illustrator)
    picture = mistaken.pictures.get()
    Picture.objects.filter(pk=picture.pk).update(has_preview=True)
    client = Client()
    sign_in(client, cast.art_director.person)
    state, original = (reverse(f"reviews:picture-{name}", args=[picture.pk]) for name in ("state", "original"))
    assert client.get(state).status_code == client.get(original).status_code == 404
    handed_in(ideas, cast.illustrator, (8,))
    draft_page = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    assert reverse("reviews:picture-preview", args=[picture.pk]) not in draft_page
    answered(cast, ideas, "ask")
    sent(cast)
    assert client.get(state).status_code == 200
    assert client.get(original).status_code == 404
