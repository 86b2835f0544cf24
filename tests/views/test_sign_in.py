"""Signing in and out, the first account, and what an invitation's link does."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews import jobs
from reviews.actions.passwords import password_secret
from reviews.actions.seats import invite, make_person
from reviews.models import Invitation, Job, Person, Seat
from reviews.pages.wording.refusals import REFUSALS
from reviews.rules.attempts import MOST_FROM_ONE_PLACE
from reviews.rules.states import Role
from reviews.tasks.runner import run_job
from tests.cast import GUEST, PASSWORD, gather, sign_in
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

SIGN_IN = "/sign-in/"
DESK = "/"


@pytest.fixture(autouse=True)
def _quick_hashes(settings):
    """Dozens of attempts: what is tested here is the counting, not the price of one hash."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def corvin():
    return make_person(email="corvin@thimblereed.example", name="Corvin Mallowe", password=PASSWORD)


def typed(email="corvin@thimblereed.example", password=PASSWORD, **more):
    return {"username": email, "password": password, **more}


class TestSignIn:
    def test_a_person_comes_in_by_address_and_password(self, client, corvin):
        answer = client.post(SIGN_IN, typed())
        assert answer.status_code == 302 and answer["Location"] == DESK
        assert client.session["_auth_user_id"] == str(corvin.pk)

    def test_the_address_may_be_written_in_capitals(self, client, corvin):
        client.post(SIGN_IN, typed("  Corvin@Thimblereed.example "))
        assert client.session["_auth_user_id"] == str(corvin.pk)

    def test_a_wrong_password_is_a_sentence_and_no_way_in(self, client, corvin):
        answer = client.post(SIGN_IN, typed(password="a pail of mud"))
        assert answer.status_code == 200
        assert "do not match an account here" in answer.content.decode()
        assert "_auth_user_id" not in client.session

    def test_an_account_without_a_password_cannot_be_entered(self, client, corvin):
        make_person(email=GUEST[1], name=GUEST[0], password=None)
        client.post(SIGN_IN, typed(GUEST[1], ""))
        assert "_auth_user_id" not in client.session

    def test_the_session_known_before_does_not_carry_on(self, client, corvin):
        client.get(SIGN_IN)
        session = client.session
        session["planted"] = True
        session.save()
        before = client.session.session_key
        client.post(SIGN_IN, typed())
        assert client.session.session_key != before

    def test_guessing_is_stopped_with_a_sentence(self, client, corvin):
        for _ in range(MOST_FROM_ONE_PLACE + 1):
            answer = client.post(SIGN_IN, typed(password="guess"))
        assert answer.status_code == 429
        assert "rests for a quarter of an hour" in answer.content.decode()
        assert client.post(SIGN_IN, typed()).status_code == 429, "even the right password waits"

    def test_another_spelling_of_the_address_is_the_same_guess(self, client, corvin):
        for _ in range(MOST_FROM_ONE_PLACE):
            client.post(SIGN_IN, typed(password="guess"))
        assert client.post(SIGN_IN, typed("CORVIN@thimblereed.example", "guess")).status_code == 429

    def test_it_leads_on_to_our_own_pages_only(self, client, corvin):
        assert client.post(SIGN_IN, typed(next="/books/new/"))["Location"] == "/books/new/"
        client.post("/sign-out/")
        assert client.post(SIGN_IN, typed(next="https://elsewhere.example/"))["Location"] == DESK
        client.post("/sign-out/")
        assert client.post(SIGN_IN, typed(next="//elsewhere.example/"))["Location"] == DESK

    def test_every_other_page_asks_for_it(self, client, corvin):
        answer = client.get(DESK)
        assert answer.status_code == 302 and answer["Location"].startswith(SIGN_IN)

    def test_signing_out_is_a_deed_and_ends_the_session(self, client, corvin):
        client.post(SIGN_IN, typed())
        assert client.get("/sign-out/").status_code == 405
        assert client.post("/sign-out/")["Location"] == SIGN_IN
        assert "_auth_user_id" not in client.session


class TestFirstAccount:
    PATH = "/first-account/"
    FORM = {"name": "Corvin Mallowe", "email": "corvin@thimblereed.example", "password": PASSWORD, "again": PASSWORD}

    def test_signing_in_leads_there_while_nobody_exists(self, client):
        assert client.get(SIGN_IN)["Location"] == self.PATH
        assert client.get(self.PATH).status_code == 200

    def test_it_makes_the_account_and_lets_it_in(self, client):
        assert client.post(self.PATH, self.FORM)["Location"] == DESK
        assert client.session["_auth_user_id"] == str(Person.objects.get().pk)
        assert "Set up a book" in client.get(DESK).content.decode()

    def test_it_exists_once(self, client, corvin):
        assert client.get(self.PATH)["Location"] == SIGN_IN
        assert client.post(self.PATH, {**self.FORM, "email": "osric@elsewhere.example"})["Location"] == SIGN_IN
        assert Person.objects.count() == 1

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"again": "another pail altogether"}, "two passwords differ"),
            ({"password": "short", "again": "short"}, "too short"),
            ({"password": "corvin@thimblereed", "again": "corvin@thimblereed"}, "too similar"),
            ({"email": "no address"}, "valid email"),
        ],
    )
    def test_what_is_wrong_is_said(self, client, change, words):
        answer = client.post(self.PATH, {**self.FORM, **change})
        assert words in answer.content.decode()
        assert not Person.objects.exists()


def offered(cast, email="wren@thimblereed.example", role=Role.EDITOR, passage=None) -> Invitation:
    return invite(
        cast.book.pk,
        email=email,
        name="Wren Tallis",
        role=role,
        passage_id=passage.pk if passage else None,
        actor=cast.art_director,
    )


def path_of(invitation: Invitation) -> str:
    return reverse("reviews:invitation", args=[invitation.secret])


ACCOUNT = {"name": "Wren Tallis", "password": PASSWORD, "again": PASSWORD}


class TestInvitation:
    def test_it_says_what_is_offered_by_whom_and_until_when(self, client, cast):
        page = client.get(path_of(offered(cast))).content.decode()
        for words in (cast.book.title, "Editor", "Corvin Mallowe", "Open until"):
            assert words in page

    def test_a_new_person_makes_an_account_and_sits(self, client, cast):
        invitation = offered(cast)
        answer = client.post(path_of(invitation), ACCOUNT)
        assert answer["Location"] == f"/books/{cast.book.pk}/"
        seat = Seat.objects.get(person__email=invitation.email)
        assert seat.role == Role.EDITOR
        assert client.session["_auth_user_id"] == str(seat.person_id)
        client.post("/sign-out/")
        assert client.post(SIGN_IN, typed(invitation.email))["Location"] == DESK

    def test_a_weak_password_is_refused_and_the_invitation_stays_open(self, client, cast):
        invitation = offered(cast)
        answer = client.post(path_of(invitation), {**ACCOUNT, "password": "1234567890", "again": "1234567890"})
        assert "entirely numeric" in answer.content.decode()
        invitation.refresh_from_db()
        assert invitation.used_at is None

    def test_a_guest_gives_only_a_name_and_stays_until_it_would_expire(self, client, cast):
        ideas = cast.passage("Cover", "ideas")
        handed_in(ideas, cast.illustrator)
        invitation = offered(cast, GUEST[1], Role.GUEST, ideas)
        assert 'type="password"' not in client.get(path_of(invitation)).content.decode()
        assert client.post(path_of(invitation), {"name": "Wilf Sandor"})["Location"] == f"/passages/{ideas.pk}/"
        assert abs(client.session.get_expiry_date() - invitation.expires_at) < timedelta(seconds=5)
        assert not Person.objects.get(email=GUEST[1]).has_usable_password()

    def test_a_former_guest_chooses_a_password_when_invited_as_more(self, client, cast):
        ideas = cast.passage("Cover", "ideas")
        handed_in(ideas, cast.illustrator)
        guest = cast.invite_guest(ideas)
        other = gather(a_book(title="Aster Under the Ice"))
        invitation = offered(other, GUEST[1])
        assert client.post(path_of(invitation), ACCOUNT)["Location"] == f"/books/{other.book.pk}/"
        assert Person.objects.get(email=GUEST[1]).pk == guest.person_id
        client.post("/sign-out/")
        assert client.post(SIGN_IN, typed(GUEST[1]))["Location"] == DESK

    def test_somebody_with_an_account_signs_in_first_and_then_it_opens(self, client, cast):
        make_person(email="wren@thimblereed.example", name="Wren Tallis", password=PASSWORD)
        invitation = offered(cast)
        path = path_of(invitation)
        assert f"{SIGN_IN}?next={path}" in client.get(path).content.decode()
        client.post(path, ACCOUNT)
        invitation.refresh_from_db()
        assert invitation.used_at is None, "a link alone must not open an account that has a password"
        assert client.post(SIGN_IN, typed(invitation.email, next=path))["Location"] == path
        assert "Take the seat" in client.get(path).content.decode()
        assert client.post(path)["Location"] == f"/books/{cast.book.pk}/"

    def test_another_person_is_asked_to_sign_out(self, client, cast):
        invitation = offered(cast)
        sign_in(client, cast.stranger)
        assert "went to another address" in client.get(path_of(invitation)).content.decode()
        client.post(path_of(invitation), ACCOUNT)
        assert not Seat.objects.filter(person=cast.stranger).exists()
        invitation.refresh_from_db()
        assert invitation.used_at is None

    @pytest.mark.parametrize(
        ("spoil", "code"),
        [
            ({"used_at": timedelta()}, "invitation-used"),
            ({"revoked_at": timedelta()}, "invitation-revoked"),
            ({"expires_at": timedelta(seconds=-1)}, "invitation-expired"),
        ],
    )
    def test_a_spent_link_says_why(self, client, cast, spoil, code):
        invitation = offered(cast)
        Invitation.objects.filter(pk=invitation.pk).update(
            **{name: timezone.now() + shift for name, shift in spoil.items()}
        )
        for answer in (client.get(path_of(invitation)), client.post(path_of(invitation), ACCOUNT)):
            assert answer.status_code == 410
            assert str(REFUSALS[code]) in answer.content.decode()
        assert not Person.objects.filter(email=invitation.email).exists()

    def test_a_guessed_link_opens_nothing(self, client, cast):
        invitation = offered(cast)
        for wrong in (f"{invitation.pk}-{'0' * 64}", "no-number", "99999999999999999999-x"):
            answer = client.get(reverse("reviews:invitation", args=[wrong]))
            assert answer.status_code == 404
            assert invitation.name not in answer.content.decode()

    def test_a_second_use_finds_it_used(self, client, cast):
        invitation = offered(cast)
        client.post(path_of(invitation), ACCOUNT)
        client.post("/sign-out/")
        assert client.post(path_of(invitation), ACCOUNT).status_code == 410
        assert Seat.objects.filter(person__email=invitation.email).count() == 1


class TestForgottenPassword:
    NEW = "a heron on one leg"

    def asked(self, client, email="corvin@thimblereed.example"):
        return client.post(reverse("reviews:forgotten-password"), {"email": email})

    def link_in(self, mailbox) -> str:
        assert run_job(Job.objects.get(kind=jobs.PASSWORD_LINK).pk)
        (mail,) = mailbox
        return re.search(r"http://\S+(/new-password/\S+/)", mail.body).group(1)

    def test_the_link_sets_a_new_password_once(self, client, corvin, mailoutbox):
        assert "Look in your mail" in self.asked(client).content.decode()
        address = self.link_in(mailoutbox)
        assert "corvin@thimblereed.example" in client.get(address).content.decode()
        answer = client.post(address, {"password": self.NEW, "again": self.NEW})
        assert answer["Location"] == SIGN_IN
        again = client.post(address, {"password": "another long one", "again": "another long one"})
        assert again.status_code == 410
        assert str(REFUSALS["password-link-ended"]) in html.unescape(again.content.decode())
        assert client.post(SIGN_IN, typed(password=PASSWORD)).status_code == 200
        assert client.post(SIGN_IN, typed(password=self.NEW)).status_code == 302

    def test_a_stranger_reads_the_same_answer_and_no_mail_goes(self, client, corvin, mailoutbox):
        known = self.asked(client).content.decode()
        unknown = self.asked(client, "osric@elsewhere.example").content.decode()
        assert unknown == known.replace("corvin@thimblereed.example", "osric@elsewhere.example")
        assert Job.objects.filter(kind=jobs.PASSWORD_LINK).count() == 1

    def test_asking_again_at_once_sends_no_second_mail(self, client, corvin):
        self.asked(client)
        self.asked(client)
        assert Job.objects.filter(kind=jobs.PASSWORD_LINK).count() == 1

    def test_who_came_by_a_link_alone_gets_none(self, client):
        make_person(email="wilf@thimblereed.example", name="Wilf Sandor", password=None)
        self.asked(client, "wilf@thimblereed.example")
        assert not Job.objects.exists()

    def test_a_weak_or_mistyped_password_is_told_and_the_link_still_works(self, client, corvin):
        address = reverse("reviews:new-password", args=[password_secret(corvin)])
        assert "at least 10" in client.post(address, {"password": "short", "again": "short"}).content.decode()
        assert "differ" in client.post(address, {"password": self.NEW, "again": "a heron on two"}).content.decode()
        assert client.post(address, {"password": self.NEW, "again": self.NEW}).status_code == 302

    def test_the_link_ends_with_a_sign_in_with_its_day_and_was_never_one(self, client, corvin, settings):
        secret = password_secret(corvin)
        settings.PASSWORD_RESET_TIMEOUT = -1
        assert client.get(reverse("reviews:new-password", args=[secret])).status_code == 410
        settings.PASSWORD_RESET_TIMEOUT = 3600
        assert client.get(reverse("reviews:new-password", args=[secret])).status_code == 200
        client.post(SIGN_IN, typed())
        client.logout()
        for ended in (secret, "nonsense", "MQ-", "é-1"):
            assert client.get(reverse("reviews:new-password", args=[ended])).status_code == 410
