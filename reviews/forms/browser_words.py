"""A browser as people call it, made of what it says about itself."""

from __future__ import annotations

#: What stands in the line a browser sends, and what people call it; the first that is found counts, as most say that
#: they are all the others too.
_BROWSERS = (
    ("Edg", "Edge"), ("OPR", "Opera"), ("Vivaldi", "Vivaldi"), ("Firefox", "Firefox"), ("FxiOS", "Firefox"),
    ("SamsungBrowser", "Samsung Internet"), ("Chrome", "Chrome or Chromium"), ("CriOS", "Chrome"), ("Safari", "Safari"),
)  # fmt: skip
_MACHINES = (
    ("iPhone", "an iPhone"), ("iPad", "an iPad"), ("Android", "an Android device"), ("Windows", "Windows"),
    ("Mac OS X", "a Mac"), ("CrOS", "a Chromebook"), ("Linux", "Linux"),
)  # fmt: skip


def browser_named(says: str) -> str:
    """Name browser and machine, as far as they say; it is their own word, and proves nothing."""
    browser = next((words for sign, words in _BROWSERS if sign in says), "")
    machine = next((words for sign, words in _MACHINES if sign in says), "")
    if browser:
        return f"{browser} on {machine}" if machine else browser
    return says[:60] or "A browser that did not say which"
