"""Where a person is signed in: shown, ended, and ended by itself after a time without a visit."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.contrib.auth import HASH_SESSION_KEY
from django.http import HttpRequest
from django.test import Client
from django.utils import timezone

from portal.sessions import SessionStore, who_is_in
from reviews.actions.passwords import password_secret, set_password_by_link
from reviews.actions.seats import make_person
from reviews.models import LiveSession
from tests.cast import PASSWORD, sign_in

pytestmark = pytest.mark.django_db
OWN = "/you/"


@pytest.fixture(autouse=True)
def _quick_hashes(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def juniper():
    return make_person(email="juniper@aldersea.example", name="Juniper Aldersea", password=PASSWORD)


def browser(name: str, address: str = "192.0.2.7") -> Client:
    client = Client(HTTP_USER_AGENT=name, REMOTE_ADDR=address)
    client.post("/sign-in/", {"username": "juniper@aldersea.example", "password": PASSWORD})
    return client


def is_in(client: Client) -> bool:
    return client.get(OWN).status_code == 200


def test_each_browser_is_listed_with_where_it_is_and_never_with_its_key(juniper):
    here, there = browser("Kestrel 12"), browser("Plover 3", "198.51.100.9")
    page = here.get(OWN).content.decode()
    assert 'Kestrel 12</strong> <span class="small">(this one)' in page
    assert "Plover 3" in page
    assert "From 198.51.100.9." in page
    for client in (here, there):
        assert client.session.session_key not in page


def test_one_browser_is_signed_out_from_another(juniper):
    here, there = browser("Kestrel"), browser("Plover")
    [handle] = re.findall(r'name="which" value="(\w+)"', here.get(OWN).content.decode())
    here.post("/you/signed-in/end/", {"which": handle})
    assert is_in(here)
    assert not is_in(there)
    assert "already" in here.post("/you/signed-in/end/", {"which": handle}, follow=True).content.decode()


def test_all_others_are_signed_out_at_once(juniper):
    here, others = browser("Kestrel"), [browser("Plover"), browser("Dunnock")]
    here.post("/you/signed-in/end-others/")
    assert is_in(here)
    assert not any(is_in(each) for each in others)


def test_nobody_ends_anothers_session(juniper):
    own, petra = browser("Kestrel"), make_person(email="petra@thimblereed.example", name="Petra", password=PASSWORD)
    other = Client()
    sign_in(other, petra)
    other.post("/you/signed-in/end/", {"which": LiveSession.objects.get(person=juniper).handle})
    other.post("/you/signed-in/end-others/")
    assert is_in(own)


def away(hours: float) -> None:
    LiveSession.objects.update(seen_at=timezone.now() - timedelta(hours=hours))


def test_a_browser_left_for_long_is_signed_out_and_told_why(juniper, settings):
    settings.IDLE_SECONDS = 3 * 3600
    client = browser("Kestrel")
    away(2.9)
    assert is_in(client)
    away(3.1)
    answer = client.get(OWN)
    assert answer.status_code == 302
    assert "away for more than 3 hours" in client.get(answer["Location"]).content.decode()


def test_a_visit_is_written_down_within_minutes_and_not_at_every_click(juniper):
    client = browser("Kestrel")
    away(1)
    client.get(OWN)
    assert timezone.now() - LiveSession.objects.get().seen_at < timedelta(minutes=1)
    before = LiveSession.objects.get().seen_at
    client.get(OWN)
    assert LiveSession.objects.get().seen_at == before


def test_a_guest_without_a_password_is_not_locked_out_by_being_away(settings):
    settings.IDLE_SECONDS = 3600
    wilf, client = make_person(email="wilf@thimblereed.example", name="Wilf Sandor", password=None), Client()
    sign_in(client, wilf)
    away(200)
    assert is_in(client)


def test_a_new_password_ends_every_session(juniper):
    clients = [browser("Kestrel"), browser("Plover")]
    juniper.refresh_from_db()
    set_password_by_link(password_secret(juniper), "a heron on one leg")
    assert not any(is_in(client) for client in clients)
    assert not LiveSession.objects.filter(person=juniper).exists()


def test_signing_out_takes_the_browser_off_the_list(juniper):
    here, there = browser("Kestrel"), browser("Plover")
    there.post("/sign-out/")
    assert "Plover" not in here.get(OWN).content.decode()


def asked_by(client: Client) -> HttpRequest:
    request = HttpRequest()
    request.session = SessionStore(client.session.session_key)
    return request


def test_session_and_person_take_one_query(juniper, django_assert_num_queries):
    request = asked_by(browser("Kestrel"))
    with django_assert_num_queries(1):
        assert who_is_in(request) == juniper


def test_the_row_alone_lets_nobody_in(juniper):
    """What the session itself says, and its proof of the password, hold as they do for Django."""
    other = make_person(email="osric@elsewhere.example", name="Osric Penhallow", password=PASSWORD)
    client = browser("Kestrel")
    request = asked_by(client)
    LiveSession.objects.update(person=other)
    assert who_is_in(request) == juniper

    forged = client.session
    forged[HASH_SESSION_KEY] = "0" * 64
    forged.save()
    assert who_is_in(asked_by(client)).is_anonymous


def test_a_browser_signed_in_under_the_secret_before_stays_in(juniper, settings):
    client = browser("Kestrel")
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "another " * 8, [settings.SECRET_KEY]
    assert who_is_in(asked_by(client)) == juniper
