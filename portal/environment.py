"""Reading the environment: three small functions that refuse nonsense instead of guessing.

Every value may also come from a file: `NAME_FILE=/run/secrets/x` instead of `NAME=…`, as
container platforms hand out secrets.
"""

import os
from collections.abc import Collection
from ipaddress import IPv4Network, IPv6Network, ip_network
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

YES = {"1", "true", "yes", "on"}
NO = {"0", "false", "no", "off"}


def text(name: str, default: str | None = None, *, choices: Collection[str] = (), why: str = "") -> str:
    """Return the value of `name`; without a default its absence is an error that says `why` it is needed."""
    value = _raw(name)
    if value is None:
        if default is None:
            raise ImproperlyConfigured(f"{name} is not set. {why} Set {name}, or {name}_FILE to read it from a file.")
        return default
    if choices and value not in choices:
        raise ImproperlyConfigured(f"{name} is “{value}”; it must be one of {', '.join(sorted(choices))}.")
    return value


def flag(name: str, default: bool) -> bool:
    """Return a yes or no; anything else is an error, never silently a no."""
    value = _raw(name)
    if value is None:
        return default
    if value.lower() in YES:
        return True
    if value.lower() in NO:
        return False
    raise ImproperlyConfigured(f"{name} is “{value}”; write 1 for yes or 0 for no.")


def number(name: str, default: int, *, low: int, high: int) -> int:
    """Return a whole number between `low` and `high`, both allowed."""
    value = _raw(name)
    if value is None:
        return default
    try:
        figure = int(value)
    except ValueError:
        raise ImproperlyConfigured(f"{name} is “{value}”; it must be a whole number.") from None
    if not low <= figure <= high:
        raise ImproperlyConfigured(f"{name} is {figure}; it must lie between {low} and {high}.")
    return figure


def words(name: str, default: str, *, choices: Collection[str]) -> frozenset[str]:
    """Return the words of a list with commas, in small letters, each one of `choices`."""
    found = frozenset(word.strip().lower() for word in text(name, default).split(",") if word.strip())
    if not found <= set(choices):
        raise ImproperlyConfigured(
            f"{name} names {', '.join(sorted(found - set(choices)))}; it may name {', '.join(sorted(choices))}."
        )
    return found


def networks(name: str, default: str, *, also: Collection[str] = ()) -> list[IPv4Network | IPv6Network | str]:
    """Return the addresses and networks of a list with commas; `also` are words that may stand in it too."""
    found: list[IPv4Network | IPv6Network | str] = []
    for part in (part.strip() for part in text(name, default).split(",")):
        try:
            found.append(part if part in also else ip_network(part))
        except ValueError:
            raise ImproperlyConfigured(
                f"{name} names “{part}”; write addresses or networks such as 10.0.0.0/8, with commas."
            ) from None
    return found


def _raw(name: str) -> str | None:
    """Return the bare value, from the environment or from the file it points at; empty counts as unset."""
    value = os.environ.get(name, "").strip()
    file_name = os.environ.get(f"{name}_FILE", "").strip()
    if value and file_name:
        raise ImproperlyConfigured(f"Both {name} and {name}_FILE are set; keep one of them.")
    if file_name:
        try:
            value = Path(file_name).read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError) as problem:
            raise ImproperlyConfigured(f"{name}_FILE names {file_name}, which cannot be read: {problem}.") from None
        if not value:
            raise ImproperlyConfigured(f"{name}_FILE names {file_name}, which is empty.")
    return value or None
