"""The trail at a page's head: the book, then where in it we are."""

from __future__ import annotations

from django.urls import reverse

from reviews.models import Book


def crumbs(book: Book, *more: tuple[str, str]) -> list[dict[str, str]]:
    """Say where we are: the book, then ``more`` as label and address."""
    here = [{"label": book.title, "url": reverse("reviews:book-map", args=[book.pk])}]
    return here + [{"label": label, "url": url} for label, url in more]
