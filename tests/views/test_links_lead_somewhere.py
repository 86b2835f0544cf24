"""Every link on every page of a book leads its reader somewhere: no page offers what it would then refuse."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from urllib.parse import urldefrag

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from reviews.rules.states import Role
from tests.agreed import move_due_date
from tests.cast import sign_in
from tests.views.access_world import World, world

pytestmark = pytest.mark.django_db

__all__ = ["world"]

_LINK = re.compile(r'<a\b[^>]*?\bhref="([^"]+)"')
#: A book of one scene has some; a walk that found none of them would prove nothing.
_FEWEST = 6


def followed(client: Client, start: str) -> dict[str, tuple[int, str]]:
    """Follow every link within the portal from a page on; give each address its status and the page it stood on."""
    found: dict[str, tuple[int, str]] = {}
    waiting = [(start, "")]
    while waiting:
        url, stood_on = waiting.pop()
        if url in found:
            continue
        response = client.get(url)
        found[url] = (response.status_code, stood_on)
        if response.streaming:
            b"".join(response.streaming_content)
        if response.status_code != 200 or "text/html" not in response.get("Content-Type", ""):
            continue
        for href in _LINK.findall(response.content.decode()):
            address = urldefrag(unescape(href))[0]
            address = url.split("?")[0] + address if address.startswith("?") else address
            # One look at each page is enough: what differs by its query is the same page.
            if address.startswith("/") and address.split("?")[0] not in {seen.split("?")[0] for seen in found}:
                waiting.append((address, url))
    return found


@pytest.mark.parametrize("role", list(Role))
def test_no_link_is_refused_to_whoever_reads_it(world: World, role):
    """With a date that was moved, so that the schedule has a reason to cite the ledger."""
    passage = world.cast.passage("Pages 6–7", "ideas")
    later = timezone.localdate() + timedelta(days=60)
    move_due_date(passage.pk, to=later, reason="The fair.", actor=world.cast.art_director)
    seats = {Role.GUEST: world.guest, **world.advisers}
    client = Client()
    sign_in(client, (seats.get(role) or world.cast.seat(role)).person)
    found = followed(client, reverse("reviews:desk"))
    # No worker has made the previews, which are not there yet for anybody.
    closed = {url: told for url, told in found.items() if told[0] >= 400 and not url.endswith("/preview.jpg")}
    assert closed == {}
    assert len(found) >= _FEWEST or role == Role.GUEST, found
