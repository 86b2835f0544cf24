"""Browsers lent to the people of a test and cleaned for the next: a new one takes a second of the processor, each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

#: How many lie ready at once: each holds a process with some 80 MB.
MOST_READY = 8
DESKTOP = {"width": 1440, "height": 900}


class Lending:
    """Chromium's contexts, each lent to one person at a time.

    What makes a context dear is its process and what that has to compile anew, so one page of the same server stays
    open in it from one borrower to the next. All that a borrower can leave behind is taken away as it comes back:
    pages, cookies, what pages stored, what was fetched, routes, being offline. A window's size is set for each.
    """

    def __init__(self, chromium: Any) -> None:
        self.chromium = chromium
        self.ready: list[tuple[Any, Any]] = []
        self.lent: dict[Any, Any] = {}

    def lend(self, at: str, **options: Any) -> Any:
        """Give a context for the server at this address that holds nothing, with one new page of the size asked for."""
        size = options.pop("viewport", DESKTOP)
        key = (urlsplit(at).hostname, tuple(sorted(options.items())))
        found = next((one for one in reversed(self.ready) if one[0] == key), None)
        if found:
            self.ready.remove(found)
            context = found[1]
        else:
            context = self.chromium.new_context(viewport=size, **options)
            keeper = context.new_page()
            keeper.goto(f"{at}/static/icons/mark.svg")
        self.lent[context] = key
        page = context.new_page()
        page.set_viewport_size(size)
        return page

    def take_back(self, context: Any) -> None:
        """Clean a context and keep it for the next, or close what has lain ready longest."""
        key = self.lent.pop(context)
        keeper, *pages = context.pages
        origins = {origin_of(page.url) for page in context.pages}
        for page in pages:
            page.close()
        clean(context, keeper, origins)
        self.ready.append((key, context))
        while len(self.ready) > MOST_READY:
            self.ready.pop(0)[1].close()

    def close(self) -> None:
        for context in [*self.lent, *(context for _, context in self.ready)]:
            context.close()


def origin_of(url: str) -> str:
    parts = urlsplit(url)
    return f"{parts.scheme}://{parts.netloc}"


def clean(context: Any, keeper: Any, origins: set[str]) -> None:
    """Take away what pages of these servers left in a context."""
    context.unroute_all()
    context.set_offline(False)
    context.clear_cookies()
    context.clear_permissions()
    tools = context.new_cdp_session(keeper)
    for origin in origins:
        tools.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"})
    tools.send("Network.enable")
    tools.send("Network.clearBrowserCache")
    # What the process holds in memory goes as the cache is switched off, and only then.
    for is_off in (True, False):
        tools.send("Network.setCacheDisabled", {"cacheDisabled": is_off})
    tools.detach()


def give_cookies(context: Any, at: str, cookies: Mapping[str, Any]) -> None:
    """Let a browser have what a test's client was given."""
    context.add_cookies([{"name": key, "value": morsel.value, "url": at} for key, morsel in cookies.items()])
