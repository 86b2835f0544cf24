"""One's own page, and the link that stops mail."""

import pytest
from django.test import Client
from django.urls import reverse

from reviews.actions.seats import make_person
from reviews.models import Person
from reviews.rules.mailing import MailChoice
from tests.cast import PASSWORD, sign_in

pytestmark = pytest.mark.django_db

NEW_PASSWORD = "the moon in a different pail"


@pytest.fixture
def juniper() -> Person:
    return make_person(email="juniper@aldersea.example", name="Juniper Aldersea", password=PASSWORD)


def post(client, address, **data):
    return client.post(reverse(f"reviews:{address}"), data, follow=True)


def test_it_is_reached_from_the_masthead(client, juniper):
    sign_in(client, juniper)
    page = client.get(reverse("reviews:desk")).content.decode()
    assert f'href="{reverse("reviews:own-page")}">Your name, mail and password' in page


def test_it_asks_for_a_sign_in(client):
    assert client.get(reverse("reviews:own-page")).status_code == 302


def test_a_name_is_changed_and_an_empty_one_refused(client, juniper):
    sign_in(client, juniper)
    assert "From now on the others read" in post(client, "own-name", name=" J. Aldersea ").content.decode()
    juniper.refresh_from_db()
    assert juniper.name == "J. Aldersea"
    response = post(client, "own-name", name="")
    assert response.status_code == 422
    juniper.refresh_from_db()
    assert juniper.name == "J. Aldersea"


def test_a_password_is_changed_with_the_old_one_and_other_places_are_signed_out(client, juniper):
    elsewhere = Client()
    for each in (client, elsewhere):
        sign_in(each, juniper)
    post(client, "own-password", now=PASSWORD, password=NEW_PASSWORD, again=NEW_PASSWORD)
    juniper.refresh_from_db()
    assert juniper.check_password(NEW_PASSWORD)
    assert client.get(reverse("reviews:own-page")).status_code == 200
    assert elsewhere.get(reverse("reviews:own-page")).status_code == 302


@pytest.mark.parametrize(
    ("now", "password", "again", "words"),
    [
        ("wrong", NEW_PASSWORD, NEW_PASSWORD, "That is not your password"),
        (PASSWORD, NEW_PASSWORD, NEW_PASSWORD + "!", "The two passwords differ"),
        (PASSWORD, "short", "short", "This password is too short"),
    ],
)
def test_a_bad_change_of_password_is_refused_in_words(client, juniper, now, password, again, words):
    sign_in(client, juniper)
    response = post(client, "own-password", now=now, password=password, again=again)
    assert response.status_code == 422
    assert words in response.content.decode()
    juniper.refresh_from_db()
    assert juniper.check_password(PASSWORD)


def test_somebody_without_a_password_is_offered_none_to_change(client):
    wilf = make_person(email="wilf@thimblereed.example", name="Wilf Sandor", password=None)
    sign_in(client, wilf)
    page = client.get(reverse("reviews:own-page")).content.decode()
    assert "Your password" not in page
    assert post(client, "own-password", now="", password=NEW_PASSWORD, again=NEW_PASSWORD).status_code == 422
    wilf.refresh_from_db()
    assert not wilf.has_usable_password()


@pytest.mark.parametrize("choice", list(MailChoice))
def test_mail_is_chosen(client, juniper, choice):
    sign_in(client, juniper)
    assert post(client, "mail-choice", mail=choice.value).status_code == 200
    juniper.refresh_from_db()
    assert juniper.mail == choice


def test_a_choice_that_is_none_is_refused(client, juniper):
    sign_in(client, juniper)
    assert post(client, "mail-choice", mail="hourly").status_code == 422
    juniper.refresh_from_db()
    assert juniper.mail == MailChoice.AT_ONCE


def stop_address(person: Person) -> str:
    return reverse("reviews:stop-mail", args=[person.stop_secret])


def test_looking_at_the_stop_link_changes_nothing_as_mail_programs_look_by_themselves(juniper):
    response = Client().get(stop_address(juniper))
    assert response.status_code == 200
    assert "Stop all mail" in response.content.decode()
    juniper.refresh_from_db()
    assert juniper.mail == MailChoice.AT_ONCE


def test_one_click_more_stops_the_mail_without_a_sign_in(juniper):
    page = Client().post(stop_address(juniper), {"mail": "none"}).content.decode()
    assert "Your mail is stopped" in page
    juniper.refresh_from_db()
    assert juniper.mail == MailChoice.NONE


def test_the_stop_link_also_offers_one_mail_a_day(juniper):
    assert "One mail a day from now on" in Client().post(stop_address(juniper), {"mail": "daily"}).content.decode()
    juniper.refresh_from_db()
    assert juniper.mail == MailChoice.DAILY


def test_nobody_stops_anothers_mail(juniper):
    other = make_person(email="petra@thimblereed.example", name="Petra Innisfold", password=None)
    forged = f"{juniper.pk}-{other.stop_secret.partition('-')[2]}"
    for secret in (forged, f"{juniper.pk}-", "x", "²-a", f"{10**20}-a"):
        assert Client().post(f"/mail/{secret}/", {"mail": "none"}).status_code == 404
    juniper.refresh_from_db()
    assert juniper.mail == MailChoice.AT_ONCE
