"""The way around one book: four doors, and behind each the pages that belong together."""

from __future__ import annotations

from dataclasses import dataclass

from django import template
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from reviews.models import Seat
from reviews.pages.news import book_news_url
from reviews.rules import permits
from reviews.rules.addresses import PAGES
from reviews.rules.states import Deed, Role

register = template.Library()

_Pages = tuple[tuple[str, str | Promise], ...]

#: Each door with its drawing, and the pages behind it by their names in the URLconf; the first is where the door leads.
DOORS: tuple[tuple[str, str | Promise, str, _Pages], ...] = (
    ("art", _("Art"), "map", (("book-map", _("Book map")), ("wall", _("Wall")), ("dummy", _("Dummy")))),
    ("letters", _("Letters"), "letter", (("letters", _("Sent")), ("draft-letter", _("Being written")))),
    (
        "agreement",
        _("Agreement"),
        "terms",
        (
            ("account", _("Account")),
            ("terms", _("Terms")),
            ("schedule", _("Schedule")),
            ("proposals", _("Proposals")),
            ("statement", _("Statement")),
            ("ledger", _("Ledger")),
        ),
    ),
    (
        "set-up",
        _("Set-up"),
        "settings",
        (
            ("book-brief", _("Brief")),
            ("manuscript", _("Manuscript")),
            ("plan", _("Stages and pages")),
            ("print", _("Print set-up")),
            ("seats", _("Seats")),
        ),
    ),
)


@dataclass(frozen=True, kw_only=True)
class Way:
    """A page behind a door."""

    label: str | Promise
    url: str
    is_here: bool


@dataclass(frozen=True, kw_only=True)
class Door:
    """A door, and what this seat finds behind it."""

    name: str
    label: str | Promise
    icon: str
    ways: list[Way]

    @property
    def url(self) -> str:
        return self.ways[0].url

    @property
    def is_here(self) -> bool:
        return any(way.is_here for way in self.ways)


def doors_for(seat: Seat, here: str) -> list[Door]:
    """List the doors that open for a seat, each with the pages it may look at."""
    doors = []
    for name, label, icon, pages in DOORS:
        ways = [
            Way(label=words, url=reverse(f"reviews:{page}", args=[seat.book_id]), is_here=page == here)
            for page, words in pages
            if may_open(seat, page)
        ]
        if ways:
            doors.append(Door(name=name, label=label, icon=icon, ways=ways))
    return doors


@register.inclusion_tag("reviews/books/_book_nav.html")
def book_nav(seat: Seat, here: str) -> dict:
    """Show the doors of a book, and the pages behind the one that stands open.

    ``here`` is the URL name of the page it stands on. Usage: {% load book_nav %}{% book_nav seat "plan" %}
    """
    doors = doors_for(seat, here)
    # Who reads no ledger has nothing to be told on the pages of a book, which then do not ask.
    news_url = book_news_url(seat.book_id, here) if permits.sights_of(Role(seat.role)) else ""
    return {"doors": doors, "open": next((door for door in doors if door.is_here), None), "news_url": news_url}


@register.filter
def may_open(seat: Seat, page: str) -> bool:
    """Say whether whoever reads may follow a link to a page of the book, by the name of its address.

    Usage: {% load book_nav %}{% if seat|may_open:"ledger" %}
    """
    role, asks = Role(seat.role), PAGES[page]
    return permits.may(role, asks) if isinstance(asks, Deed) else permits.sees(role, asks)
