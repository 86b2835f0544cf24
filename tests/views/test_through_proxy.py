"""What is believed of a request that came through a proxy, and of whom."""

from __future__ import annotations

from ipaddress import ip_network

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from portal import environment
from reviews.views.proxy import ThroughProxy, came_through_a_proxy

FOR, PROTO, HOST = "HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO", "HTTP_X_FORWARDED_HOST"


@pytest.fixture(autouse=True)
def _behind_one(settings):
    settings.BEHIND_PROXY, settings.HTTPS = True, False
    settings.TRUSTED_PROXIES = [ip_network("127.0.0.1/32"), ip_network("10.0.0.0/8")]
    settings.TRUSTED_PROXY_COUNT = 1
    settings.TRUSTED_PROXY_HEADERS = frozenset({"x-forwarded-for", "x-forwarded-proto"})


def seen(**meta: str):
    """Let a request pass, and return it as everything further in sees it, with the answer."""
    request = RequestFactory().get("/", REMOTE_ADDR=meta.pop("REMOTE_ADDR", "127.0.0.1"), **meta)
    return request, ThroughProxy(lambda r: HttpResponse("in"))(request)


def test_a_trusted_proxy_is_believed():
    request, _ = seen(**{FOR: "192.0.2.7", PROTO: "https"})
    assert (request.META["REMOTE_ADDR"], request.scheme, request.is_secure()) == ("192.0.2.7", "https", True)
    assert FOR not in request.META
    assert came_through_a_proxy(request)


def test_what_a_visitor_wrote_before_the_proxy_is_not_believed():
    request, _ = seen(**{FOR: "198.51.100.1, 192.0.2.7", PROTO: "https, http"})
    assert (request.META["REMOTE_ADDR"], request.scheme) == ("192.0.2.7", "http")


def test_with_two_proxies_the_outer_ones_word_counts(settings):
    settings.TRUSTED_PROXY_COUNT = 2
    request, _ = seen(**{FOR: "198.51.100.1, 192.0.2.7, 10.0.0.3", PROTO: "https"})
    assert (request.META["REMOTE_ADDR"], request.scheme) == ("192.0.2.7", "https")


def test_a_stranger_who_says_to_be_a_proxy_is_told_that_it_is_none():
    _, answer = seen(REMOTE_ADDR="192.0.2.9", **{FOR: "127.0.0.1", PROTO: "https"})
    assert answer.status_code == 400
    assert b"do not agree on their settings" in answer.content


def test_without_a_proxy_the_headers_mean_nothing(settings):
    settings.BEHIND_PROXY = False
    request, answer = seen(**{FOR: "192.0.2.7", PROTO: "https", HOST: "evil.example"})
    assert answer.content == b"in"
    assert (request.META["REMOTE_ADDR"], request.is_secure(), request.get_host()) == ("127.0.0.1", False, "testserver")
    assert came_through_a_proxy(request)


def test_a_proxy_that_hides_https_is_told_so_and_makes_no_circle(settings):
    settings.HTTPS = True
    _, answer = seen(**{FOR: "192.0.2.7"})
    assert answer.status_code == 400


def test_the_host_is_taken_only_where_the_settings_say_so(settings):
    assert seen(**{FOR: "192.0.2.7", HOST: "localhost"})[0].get_host() == "testserver"
    settings.TRUSTED_PROXY_HEADERS |= {"x-forwarded-host"}
    assert seen(**{FOR: "192.0.2.7", HOST: "localhost"})[0].get_host() == "localhost"


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("192.0.2.7:4711", "192.0.2.7"), ("[2001:db8::1]:4711", "2001:db8::1"), ("2001:db8::1", "2001:db8::1"),
        ("unknown", "127.0.0.1"), ("", "127.0.0.1"), ("192.0.2.7, ", "127.0.0.1"), ("'; drop", "127.0.0.1"),
    ],
)  # fmt: skip
def test_an_address_is_read_in_every_way_proxies_write_it(written, read):
    assert seen(**{FOR: written, PROTO: "https"})[0].META["REMOTE_ADDR"] == read


def test_a_socket_in_the_file_system_is_trusted_where_it_is_named(settings):
    assert seen(REMOTE_ADDR="", **{FOR: "192.0.2.7"})[1].status_code == 400
    settings.TRUSTED_PROXIES = ["unix"]
    assert seen(REMOTE_ADDR="", **{FOR: "192.0.2.7"})[0].META["REMOTE_ADDR"] == "192.0.2.7"


def test_settings_that_are_no_address_or_no_header_are_refused_in_words(monkeypatch):
    monkeypatch.setenv("PROXIES", "10.0.0.0/8, front.example")
    with pytest.raises(environment.ImproperlyConfigured, match=r"“front\.example”; write addresses or networks"):
        environment.networks("PROXIES", "127.0.0.1")
    monkeypatch.setenv("HEADERS", "X-Forwarded-For,cookie")
    with pytest.raises(environment.ImproperlyConfigured, match="names cookie; it may name x-forwarded-for"):
        environment.words("HEADERS", "", choices={"x-forwarded-for"})
