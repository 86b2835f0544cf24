"""The way around one book: the same row of links on each of its pages."""

from __future__ import annotations

from django import template
from django.urls import reverse

from reviews.models import Seat
from reviews.rules import permits
from reviews.rules.addresses import PAGES
from reviews.rules.states import Deed, Role

register = template.Library()

_LINKS = (
    ("book-map", "Book map", "map"),
    ("dummy", "Dummy", "book"),
    ("book-brief", "Brief", "edit"),
    ("draft-letter", "Letter being written", "edit"),
    ("letters", "Letters", "letter"),
    ("account", "Account", "terms"),
    ("schedule", "Schedule", "due"),
    ("statement", "Statement", "ledger"),
    ("terms", "Terms", "terms"),
    ("ledger", "Ledger", "ledger"),
    ("plan", "Stages and pages", "settings"),
    ("print", "Print set-up", "ruler"),
    ("seats", "Seats", "seat"),
)


@register.inclusion_tag("reviews/books/_book_nav.html")
def book_nav(seat: Seat, here: str) -> dict:
    """Show the pages of a book that this seat may open. ``here`` is the URL name of the page it stands on.

    Usage: {% load book_nav %}{% book_nav seat "plan" %}
    """
    links = []
    for name, label, icon in _LINKS:
        if may_open(seat, name):
            url = reverse(f"reviews:{name}", args=[seat.book_id])
            links.append({"label": label, "icon": icon, "url": url, "is_here": name == here})
    return {"links": links}


@register.filter
def may_open(seat: Seat, page: str) -> bool:
    """Say whether whoever reads may follow a link to a page of the book, by the name of its address.

    Usage: {% load book_nav %}{% if seat|may_open:"ledger" %}
    """
    role, asks = Role(seat.role), PAGES[page]
    return permits.may(role, asks) if isinstance(asks, Deed) else permits.sees(role, asks)
