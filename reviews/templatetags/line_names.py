"""The names of ledger lines in links and in words."""

from __future__ import annotations

from collections.abc import Iterable

from django import template

from reviews.queries import line_names

register = template.Library()


@register.filter
def named(entries: Iterable[int] | int, names: dict[int, str]) -> str:
    """Name ledger lines, with commas between, as the ledger's address takes them.

    Usage: {% load line_names %}{{ figure.entries|named:line_names }}
    """
    return ",".join(line_names.named([entries] if isinstance(entries, int) else entries, names))
