"""Who came through a proxy, from where, and whether by https: believed of the proxies named in the settings only."""

from __future__ import annotations

import logging
from collections.abc import Callable
from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from reviews.views.responses import answer

log = logging.getLogger(__name__)

#: Set for every request that says it came through a proxy, believed or not.
PROXIED = "roughproof.came_through_a_proxy"
_SAYS_PROXY = ("HTTP_FORWARDED", "HTTP_VIA", "HTTP_X_REAL_IP")
_MISSET = (
    "This Roughproof and the proxy in front of it do not agree on their settings, so nothing can be shown. "
    "Whoever runs it finds in its log what to change."
)


class ThroughProxy:
    """Middleware, the first of all: put the visitor's own address and scheme in the place of the proxy's.

    Whatever else says “forwarded” is taken off the request: further in, nobody can be fooled by it. A setting that
    cannot work is said in words; left to itself it would send the browser round in a circle.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        said = _taken_off(request)
        request.META[PROXIED] = bool(said)
        if said and settings.BEHIND_PROXY:
            peer = request.META.get("REMOTE_ADDR", "")
            if not _is_trusted(peer):
                return _misset(request, f"{peer} passes requests on and is not named in ROUGHPROOF_TRUSTED_PROXY")
            if settings.HTTPS and not _read(said, "x-forwarded-proto"):
                return _misset(request, f"the proxy at {peer} does not set X-Forwarded-Proto")
            _believe(request, said)
        return self.get_response(request)


def came_through_a_proxy(request: HttpRequest) -> bool:
    """Say whether anything about a request tells of a proxy; browsers on this machine speak HTTP/1.1 and name none."""
    said = request.META.get(PROXIED) or any(map(_says_proxy, request.META))
    return bool(said) or request.META.get("SERVER_PROTOCOL") == "HTTP/1.0"


def _taken_off(request: HttpRequest) -> dict[str, str]:
    return {name: request.META.pop(name) for name in list(request.META) if _says_proxy(name)}


def _says_proxy(name: str) -> bool:
    return name.startswith("HTTP_X_FORWARDED_") or name in _SAYS_PROXY


def _is_trusted(peer: str) -> bool:
    try:
        address = ip_address(peer)
    except ValueError:
        # A socket in the file system has no address: whoever may open it is let in by its permissions.
        return not peer and "unix" in settings.TRUSTED_PROXIES
    return any(address in network for network in settings.TRUSTED_PROXIES if network != "unix")


def _read(said: dict[str, str], header: str) -> str:
    """Read what the outermost of our own proxies wrote; what stands before it, anybody could have sent."""
    if header not in settings.TRUSTED_PROXY_HEADERS:
        return ""
    parts = [part.strip() for part in said.get(f"HTTP_{header.upper().replace('-', '_')}", "").split(",")]
    return parts[-min(settings.TRUSTED_PROXY_COUNT, len(parts))]


def _believe(request: HttpRequest, said: dict[str, str]) -> None:
    if client := _address_in(_read(said, "x-forwarded-for")):
        request.META["REMOTE_ADDR"] = client
    if scheme := _read(said, "x-forwarded-proto").lower():
        request.META["wsgi.url_scheme"] = "https" if scheme == "https" else "http"
    if host := _read(said, "x-forwarded-host"):
        request.META["HTTP_HOST"] = host


def _address_in(text: str) -> str:
    """Find the address in "192.0.2.7", "192.0.2.7:4711" or "[2001:db8::1]:4711"; nothing where there is none."""
    if text.startswith("["):
        text = text[1:].partition("]")[0]
    elif text.count(":") == 1:
        text = text.partition(":")[0]
    try:
        return str(ip_address(text))
    except ValueError:
        return ""


def _misset(request: HttpRequest, why: str) -> HttpResponse:
    log.warning("Refused: %s. README.md says what the proxy must send and where its address goes.", why)
    return answer(request, _MISSET, status=400)
