import pytest
from django.contrib.auth.middleware import AuthenticationMiddleware
from django.contrib.sessions.middleware import SessionMiddleware
from django.core import signing
from django.http import Http404
from django.test import RequestFactory
from django.urls import NoReverseMatch, get_resolver, reverse
from django.utils import timezone

from reviews.models.people import Person
from reviews.queries import demo_sign_in as words
from reviews.views.demo_sign_in import demo_sign_in


@pytest.fixture(autouse=True)
def _addresses_are_known_before_settings_change():
    assert get_resolver().url_patterns


@pytest.fixture
def person(db) -> Person:
    return Person.objects.create(email="juniper@aldersea.example", name="Juniper Aldersea", joined_at=timezone.now())


def visit(token: str, **meta: str):
    request = RequestFactory().get("/", **{"REMOTE_ADDR": "127.0.0.1", **meta})
    SessionMiddleware(lambda r: None).process_request(request)
    AuthenticationMiddleware(lambda r: None).process_request(request)
    return request, demo_sign_in(request, token)


def token_for(email: str) -> str:
    return words.sign_in_path(email).rsplit("/", 1)[1]


def test_one_click_signs_the_person_in(person, settings):
    settings.DEMO, settings.LOGIN_REDIRECT_URL = True, "/"
    request, answer = visit(token_for(person.email))
    assert request.user == person
    assert (answer.status_code, answer.url) == (302, "/")


@pytest.mark.parametrize(
    ("demo", "meta"),
    [
        (False, {}),
        (True, {"REMOTE_ADDR": "192.0.2.7"}),
        (True, {"REMOTE_ADDR": "::ffff:192.0.2.7"}),
        (True, {"REMOTE_ADDR": ""}),
        (True, {"HTTP_X_FORWARDED_FOR": "192.0.2.7"}),
        (True, {"HTTP_FORWARDED": "for=192.0.2.7"}),
    ],
)
def test_nothing_is_there_outside_the_demo_and_for_other_machines(person, settings, demo, meta):
    settings.DEMO = demo
    with pytest.raises(Http404):
        visit(token_for(person.email), **meta)


def test_forged_stale_and_foreign_tokens_open_nothing(person, settings, monkeypatch):
    settings.DEMO = True
    other_salt = signing.dumps(person.email, salt="something else")
    for token in ("", "x", token_for(person.email)[:-2] + "xx", other_salt, token_for("nobody@x.example")):
        with pytest.raises(Http404):
            visit(token)
    good = token_for(person.email)
    monkeypatch.setattr(words, "GOOD_FOR_SECONDS", -1)
    with pytest.raises(Http404):
        visit(good)


def test_address_does_not_exist_in_ordinary_settings(settings):
    assert not settings.DEMO
    with pytest.raises(NoReverseMatch):
        reverse("demo-sign-in", args=["x"])
