"""What to answer where something was named at a prompt that does not exist."""

from __future__ import annotations

from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reviews.queries.lookup import NoSuchThing

NO_SUCH_THING: dict[str, Promise] = {
    "no-book": gettext_lazy("There is no book “{words}”. Books here: {books}."),
    "several-books": gettext_lazy("Several books have that title; name one by its number. Books here: {books}."),
    "no-stage": gettext_lazy("There is no stage “{stage}”. Stages: {stages}."),
    "no-spread": gettext_lazy("“{title}” has no spread “{spread}”. Spreads: {spreads}."),
    "no-stage-there": gettext_lazy("{spread} has no stage “{stage}”. Its stages: {stages}."),
    "no-illustrator": gettext_lazy("No illustrator with that address has a seat on this book. Invite one first."),
    "several-illustrator": gettext_lazy("Several illustrators have a seat on this book. Name one with --as ADDRESS."),
    "no-production": gettext_lazy(
        "Production hands in what the printer made, or the art director; nobody with that address has such a seat on"
        " this book."
    ),
    "several-production": gettext_lazy("Several people can hand this in. Name one with --as ADDRESS."),
}


def no_such_thing(problem: NoSuchThing) -> str:
    """Say what does not exist, and what does."""
    values = {name: _listed(name, value) for name, value in problem.values.items()}
    return str(NO_SUCH_THING[problem.code]).format(**values)


def _listed(name: str, value: Any) -> Any:
    if name == "books":
        return ", ".join(f"{pk} “{title}”" for pk, title in value) or _("none yet")
    return ", ".join(value) if isinstance(value, list) else value
