"""A person at a browser: what every test in Chromium begins with."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client

from reviews.models import Person
from tests.browser.lending import Lending, give_cookies


@pytest.fixture(scope="session")
def lending(chromium: Any) -> Iterator[Lending]:
    """Yield what lends browsers: to each person of each test one that holds nothing."""
    lending = Lending(chromium)
    yield lending
    lending.close()


@pytest.fixture
def visit(live_server: Any, lending: Lending) -> Iterator[Callable[..., Any]]:
    """Give `visit(person, path, **options)`: a page of a browser of its own, signed in, at that path.

    `page.problems` gathers what the page's scripts threw and what the browser complained of; `page.visits` the
    addresses it went to. Options are the context's, a viewport of 1440 × 900 unless one is given. Where a test's
    pictures were never drawn (`has_pictures` False), the browser's complaints about them are not heard.
    """
    contexts: list[Any] = []

    def open_page(person: Person, path: str, *, has_pictures: bool = True, **options: Any) -> Any:
        page = lending.lend(live_server.url, **options)
        contexts.append(page.context)
        client = Client()
        client.force_login(person)
        give_cookies(page.context, live_server.url, client.cookies)
        page.problems, page.visits = [], []
        page.on("pageerror", lambda error: page.problems.append(str(error)))
        if has_pictures:
            page.on("console", lambda said: said.type == "error" and page.problems.append(said.text))
        page.on("framenavigated", lambda frame: page.visits.append(frame.url))
        page.goto(live_server.url + path)
        return page

    yield open_page
    for context in contexts:
        lending.take_back(context)
