"""The second step: set up with a telephone, asked for after the password, recovered from, taken away."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pyotp
import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from reviews.actions import second_step
from reviews.actions.passwords import password_secret
from reviews.actions.seats import make_person
from reviews.models import LiveSession, RecoveryCode, SecondStep
from reviews.rules.attempts import MOST_FROM_ONE_PLACE
from tests.cast import PASSWORD, sign_in

pytestmark = pytest.mark.django_db
SIGN_IN, CODE, OWN = "/sign-in/", "/sign-in/code/", "/you/second-step/"


@pytest.fixture(autouse=True)
def _quick_hashes(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def juniper():
    return make_person(email="juniper@aldersea.example", name="Juniper Aldersea", password=PASSWORD)


def telephone(person, shift: int = 0) -> str:
    """What the telephone shows now, or so many half-minutes from now."""
    totp = pyotp.TOTP(SecondStep.objects.get(person=person).secret)
    return totp.at(timezone.now(), counter_offset=shift)


def forget_used(person) -> None:
    """Let half a minute pass for a test that types a second code."""
    SecondStep.objects.filter(person=person).update(last_counter=0)


@pytest.fixture
def codes(juniper) -> list[str]:
    """Her second step is on; the recovery codes she wrote down."""
    second_step.begin_second_step(juniper)
    found = second_step.confirm_second_step(juniper, telephone(juniper))
    forget_used(juniper)
    return found


def half_in(client: Client, password: str = PASSWORD, **more: str):
    return client.post(SIGN_IN, {"username": "juniper@aldersea.example", "password": password, **more})


def is_in(client: Client) -> bool:
    return client.get("/").status_code == 200


def test_it_is_set_up_by_password_picture_and_first_code_and_codes_are_shown_once(client, juniper):
    sign_in(client, juniper)
    assert "Set up a second step" in client.get("/you/").content.decode()
    assert client.post(OWN + "begin/", {"now": "wrong"}).status_code == 422
    assert not SecondStep.objects.exists()
    assert client.post(OWN + "begin/", {"now": PASSWORD})["Location"] == OWN
    page = client.get(OWN).content.decode()
    assert 'src="data:image/svg+xml' in page
    secret = SecondStep.objects.get().secret
    assert secret in page.replace(" ", "")
    assert half_in(Client())["Location"] == "/", "nothing is asked for until the first code was right"

    wrong = client.post(OWN + "confirm/", {"code": "000000"})
    assert wrong.status_code == 422
    assert "not the code that your telephone shows" in html.unescape(wrong.content.decode())
    shown = client.post(OWN + "confirm/", {"code": telephone(juniper)}).content.decode()
    written = re.findall(r"<code>([a-z2-9]{5}-[a-z2-9]{5})</code>", shown)
    assert len(set(written)) == second_step.N_RECOVERY_CODES
    later = client.get(OWN).content.decode()
    assert not [code for code in written if code in later]
    assert "10 recovery codes left" in later
    assert secret not in later.replace(" ", "")


def test_what_the_picture_says_is_what_apps_read(client, juniper):
    import cv2
    import numpy as np
    import segno

    sign_in(client, juniper)
    client.post(OWN + "begin/", {"now": PASSWORD})
    client.get(OWN)
    step = SecondStep.objects.get()
    uri = pyotp.TOTP(step.secret).provisioning_uri(name=juniper.email, issuer_name="Roughproof")
    rows = np.array([list(row) for row in segno.make(uri, error="m").matrix_iter(scale=6, border=4)], np.uint8)
    read, *_ = cv2.QRCodeDetector().detectAndDecode(255 - 255 * rows)
    parsed = pyotp.parse_uri(read)
    assert (parsed.secret, parsed.issuer, parsed.name) == (step.secret, "Roughproof", juniper.email)


def test_password_alone_opens_nothing_and_the_code_leads_on(client, juniper, codes):
    assert half_in(client, next="/books/new/")["Location"] == CODE
    assert not is_in(client)
    assert client.get(reverse("reviews:own-page")).status_code == 302
    assert "six figures" in client.get(CODE).content.decode()
    before = client.session.session_key
    assert client.post(CODE, {"code": telephone(juniper)})["Location"] == "/books/new/"
    assert is_in(client)
    assert client.session.session_key != before


def test_a_code_works_once_and_only_in_its_own_half_minute_or_the_next(client, juniper, codes):
    for shift in (-3, 3):
        half_in(client)
        assert client.post(CODE, {"code": telephone(juniper, shift)}).status_code == 200
    code = telephone(juniper)
    assert client.post(CODE, {"code": f"{code[:3]} {code[3:]}"}).status_code == 302
    other = Client()
    half_in(other)
    assert other.post(CODE, {"code": code}).status_code == 200
    assert not is_in(other)


def test_a_recovery_code_works_once(client, juniper, codes):
    half_in(client)
    assert client.post(CODE, {"code": codes[3].upper()}).status_code == 302
    assert is_in(client)
    other = Client()
    half_in(other)
    assert other.post(CODE, {"code": codes[3]}).status_code == 200
    assert RecoveryCode.objects.filter(used_at=None).count() == 9
    assert codes[4].replace("-", "") not in str(list(RecoveryCode.objects.values()))


def test_anothers_recovery_code_opens_nothing(client, juniper, codes):
    petra = make_person(email="petra@thimblereed.example", name="Petra", password=PASSWORD)
    second_step.begin_second_step(petra)
    theirs = second_step.confirm_second_step(petra, telephone(petra))
    half_in(client)
    assert client.post(CODE, {"code": theirs[0]}).status_code == 200


def test_codes_are_not_guessed(client, juniper, codes):
    half_in(client)
    answers = [client.post(CODE, {"code": f"{i:06}"}).status_code for i in range(MOST_FROM_ONE_PLACE + 1)]
    assert answers == [200] * MOST_FROM_ONE_PLACE + [429]
    assert client.post(CODE, {"code": telephone(juniper)}).status_code == 429


def test_the_half_way_ends_after_ten_minutes_and_with_the_password(client, juniper, codes):
    assert client.get(CODE)["Location"] == SIGN_IN, "without a password there is no half way"
    half_in(client)
    session = client.session
    session["half_in"] = {**session["half_in"], "at": (timezone.now() - timedelta(minutes=11)).timestamp()}
    session.save()
    assert client.post(CODE, {"code": telephone(juniper)})["Location"] == SIGN_IN
    half_in(client)
    juniper.set_password("another pail altogether")
    juniper.save()
    assert client.post(CODE, {"code": telephone(juniper)})["Location"] == SIGN_IN
    assert not is_in(client)


def test_a_new_password_by_mail_does_not_go_round_the_second_step(client, juniper, codes):
    path = reverse("reviews:new-password", args=[password_secret(juniper)])
    client.post(path, {"password": "a heron on one leg", "again": "a heron on one leg"})
    assert half_in(client, "a heron on one leg")["Location"] == CODE
    assert not is_in(client)


def test_it_is_taken_away_with_the_password_only(client, juniper, codes):
    sign_in(client, juniper)
    assert client.post(OWN + "off/", {"now": "wrong"}).status_code == 422
    assert client.post(OWN + "codes/", {"now": "wrong"}).status_code == 422
    assert half_in(Client())["Location"] == CODE
    fresh = client.post(OWN + "codes/", {"now": PASSWORD}).content.decode()
    assert codes[0] not in fresh
    assert client.post(OWN + "begin/", {"now": PASSWORD}).status_code in (302, 409)
    assert SecondStep.objects.get().confirmed_at, "beginning anew does not take away what is on"
    assert client.post(OWN + "off/", {"now": PASSWORD})["Location"] == OWN
    assert half_in(Client())["Location"] == "/"
    assert not RecoveryCode.objects.exists()


def test_the_database_alone_does_not_make_codes(juniper, codes, settings):
    step = SecondStep.objects.get()
    secret = step.secret
    assert secret not in str(SecondStep.objects.values().get())
    settings.SECRET_KEY = "another " * 10
    assert step.secret != secret


def test_whoever_runs_it_helps_somebody_who_lost_the_telephone(client, juniper, codes, capsys):
    sign_in(client, juniper)
    call_command("sign_out", "Juniper@aldersea.example", "--without-second-step")
    assert "The second step is off." in capsys.readouterr().out
    assert not is_in(client)
    assert not LiveSession.objects.filter(person=juniper).exists()
    assert half_in(Client())["Location"] == "/"


def test_somebody_without_a_password_is_offered_none(client):
    wilf = make_person(email="wilf@thimblereed.example", name="Wilf Sandor", password=None)
    sign_in(client, wilf)
    assert "there is no second step to it" in client.get(OWN).content.decode()
    assert client.post(OWN + "begin/", {"now": ""}).status_code == 422
