"""Guessing is slowed by person and by address, and a stranger's guesses lock nobody out of where they come from."""

from __future__ import annotations

import logging
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from reviews.actions.seats import make_person
from reviews.models import Attempt
from reviews.rules.attempts import MOST_BY_STRANGERS, MOST_FROM_ONE_ADDRESS, MOST_FROM_ONE_PLACE, REST
from tests.cast import PASSWORD, sign_in

pytestmark = pytest.mark.django_db
SIGN_IN = "/sign-in/"
OSRIC = "osric@elsewhere.example"
HOME, ELSEWHERE = "192.0.2.7", "198.51.100.9"


@pytest.fixture(autouse=True)
def _quick_hashes(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def osric():
    return make_person(email=OSRIC, name="Osric Penhallow", password=PASSWORD)


def tries(client: Client, password: str, *, email: str = OSRIC, address: str = HOME) -> int:
    return client.post(SIGN_IN, {"username": email, "password": password}, REMOTE_ADDR=address).status_code


def came_in_from(address: str) -> Client:
    """Somebody's own browser, in which they signed in once and out again."""
    client = Client()
    assert tries(client, PASSWORD, address=address) == 302
    client.post("/sign-out/")
    return client


def guessed(address: str = HOME, times: int = 40) -> list[int]:
    return [tries(Client(), f"guess {i}", address=address) for i in range(times)]


def test_a_stranger_behind_the_same_address_does_not_lock_a_person_out_of_their_own_browser(osric):
    own = came_in_from(HOME)
    assert guessed(HOME)[-1] == 429
    assert tries(own, PASSWORD, address=HOME) == 302


def test_a_stranger_elsewhere_does_not_lock_a_person_out_of_their_usual_address(osric):
    came_in_from(HOME)
    for i in range(8):
        guessed(f"198.51.100.{i}", times=4)
    assert tries(Client(), PASSWORD, address="203.0.113.5") == 429, "from a place not known it rests"
    assert tries(Client(), PASSWORD, address=HOME) == 302


def test_many_addresses_together_have_so_many_guesses_at_one_person(osric):
    answers = [tries(Client(), "guess", address=f"198.51.100.{i}") for i in range(MOST_BY_STRANGERS + 5)]
    assert answers == [200] * MOST_BY_STRANGERS + [429] * 5


def test_one_address_has_so_many_guesses_whatever_the_names(osric):
    answers = [tries(Client(), "guess", email=f"name{i}@house.example", address=ELSEWHERE) for i in range(25)]
    assert answers == [200] * MOST_FROM_ONE_ADDRESS + [429] * (25 - MOST_FROM_ONE_ADDRESS)
    assert tries(Client(), "guess", address=HOME) == 200, "from elsewhere it goes on"


def test_ones_own_browser_guesses_no_more_than_others(osric):
    own = came_in_from(HOME)
    answers = [tries(own, "guess") for _ in range(MOST_FROM_ONE_PLACE + 1)]
    assert answers == [200] * MOST_FROM_ONE_PLACE + [429]
    assert tries(own, PASSWORD) == 429, "even the right password waits"


def test_a_browser_is_recognised_for_its_own_person_only(osric):
    make_person(email="petra@thimblereed.example", name="Petra", password=PASSWORD)
    own = came_in_from(HOME)
    answers = [tries(own, "guess", email="petra@thimblereed.example", address=HOME) for _ in range(20)]
    assert 429 in answers
    own.cookies["roughproof_place"] = "forged:word:here"
    assert 429 in guessed(HOME)


def test_after_a_quarter_of_an_hour_it_goes_on_although_the_stranger_never_stopped(osric):
    assert guessed()[-1] == 429
    Attempt.objects.update(at=timezone.now() - REST - timedelta(seconds=1))
    assert tries(Client(), PASSWORD) == 302


def test_the_right_password_forgives_the_wrong_ones_before_it(osric):
    client = Client()
    for _ in range(MOST_FROM_ONE_PLACE - 1):
        tries(client, "guess")
    assert tries(client, PASSWORD) == 302
    client.post("/sign-out/")
    assert [tries(client, "guess") for _ in range(MOST_FROM_ONE_PLACE)] == [200] * MOST_FROM_ONE_PLACE


def test_a_network_of_the_newer_kind_counts_as_one(osric):
    answers = [tries(Client(), "guess", address=f"2001:db8:1:2::{i:x}") for i in range(MOST_FROM_ONE_PLACE + 1)]
    assert answers[-1] == 429


def test_what_was_typed_is_not_kept(osric):
    tries(Client(), "x", email="a pail of still water")
    assert "pail" not in str(list(Attempt.objects.values()))


def test_wrong_passwords_at_changing_it_are_limited_and_the_right_one_then_waits(client, osric):
    sign_in(client, osric)
    new = "the moon in a different pail"
    answers = [
        client.post(reverse("reviews:own-password"), {"now": f"guess {i}", "password": new, "again": new}).status_code
        for i in range(20)
    ]
    assert answers == [422] * MOST_FROM_ONE_PLACE + [429] * (20 - MOST_FROM_ONE_PLACE)
    right = client.post(reverse("reviews:own-password"), {"now": PASSWORD, "password": new, "again": new})
    assert right.status_code == 429
    osric.refresh_from_db()
    assert osric.check_password(PASSWORD)


class TestLog:
    def test_a_failed_sign_in_is_written_down_without_what_was_typed(self, osric, caplog):
        with caplog.at_level(logging.INFO, logger="reviews"):
            tries(Client(), "hunter-two")
            tries(Client(), PASSWORD, email="a pail of still water")
            tries(Client(), PASSWORD)
        assert f"Wrong: sign-in of person {osric.pk} from {HOME}." in caplog.text
        assert f"Wrong: sign-in of no account from {HOME}." in caplog.text
        assert f"Right: sign-in of person {osric.pk} from {HOME}." in caplog.text
        assert "hunter-two" not in caplog.text
        assert "pail" not in caplog.text

    def test_what_rests_is_written_down(self, osric, caplog):
        with caplog.at_level(logging.WARNING, logger="reviews"):
            guessed()
        assert f"Refused without judging: sign-in of person {osric.pk} from {HOME} rests." in caplog.text

    def test_a_refusal_is_written_down_with_who_what_and_from_where(self, client, osric, caplog):
        sign_in(client, osric)
        with caplog.at_level(logging.WARNING, logger="reviews"):
            assert client.get(reverse("reviews:book-map", args=[77]), REMOTE_ADDR=HOME).status_code == 404
        words = f"Refused: GET book-map {{'book_id': 77}} to person {osric.pk} from {HOME} (NotThere)."
        assert words in caplog.text

    def test_a_form_that_is_not_ours_is_written_down_without_the_secret_of_its_address(self, osric, caplog):
        strict = Client(enforce_csrf_checks=True)
        with caplog.at_level(logging.WARNING, logger="reviews"):
            assert strict.post("/invitation/3-secretsecret/", REMOTE_ADDR=HOME).status_code == 403
        assert "Refused: POST invitation {} to person None" in caplog.text
        ours = "".join(record.getMessage() for record in caplog.records if record.name.startswith("reviews"))
        assert "secretsecret" not in ours

    def test_lines_are_dated_in_utc(self, settings):
        from portal.logs import UtcLine

        record = logging.LogRecord("reviews", logging.INFO, "", 0, "x", (), None)
        record.created, record.msecs, record.request_number = 0.0, 0.0, "12ab"
        assert (
            UtcLine(settings.LOGGING["formatters"]["line"]["format"], style="{")
            .format(record)
            .startswith("1970-01-01 00:00:00,000Z INFO reviews [12ab]: x")
        )
