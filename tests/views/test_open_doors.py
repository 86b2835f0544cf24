"""No page offers a link that is shut to whoever reads it: from every seat, link after link is followed."""

from __future__ import annotations

import re
from urllib.parse import urldefrag

import pytest
from django.urls import resolve, reverse

from reviews.rules.states import Role
from tests.views.test_access_walk import _NOT_MADE, World, clients, close_file, world  # noqa: F401  # a fixture

pytestmark = pytest.mark.django_db
LINK = re.compile(r'<a\b[^>]*\bhref="(/[^"]*)"')


@pytest.mark.parametrize("role", list(Role))
def test_every_link_opens_to_whoever_is_offered_it(world: World, role: Role) -> None:  # noqa: F811
    client = clients(world)[role]
    seen: set[str] = set()
    shut, todo = [], [("the desk", reverse("reviews:desk"))]
    while todo:
        at, link = todo.pop()
        path = urldefrag(link.replace("&amp;", "&")).url
        kind = re.sub(r"=[^&]+", "=N", re.sub(r"\d+", "N", path))
        if kind in seen:  # one of a kind is enough
            continue
        seen.add(kind)
        answer = client.get(path, follow=True)
        name = resolve(path.partition("?")[0]).url_name
        if answer.status_code in (403, 405) or (answer.status_code == 404 and name not in _NOT_MADE):
            shut.append((at, path, answer.status_code))
        if answer.status_code == 200 and not answer.streaming and answer["Content-Type"].startswith("text/html"):
            todo += [(path, found) for found in LINK.findall(answer.content.decode())]
        close_file(answer)
    assert not shut
    assert len(seen) > 2, "something was followed"
