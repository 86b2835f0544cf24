"""Spreads dropped, added and brought back, another number of pages, and what is kept of a dropped spread."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.page_changes import ask_for_pages
from reviews.forms.filled import filled_in
from reviews.forms.page_changes import PagesForm
from reviews.pages.page_changes import get_dropped, kept_briefs, kept_references, kept_stages, why_dropped
from reviews.queries.access import get_book
from reviews.rules.states import Deed
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_POST
def change_pages(request: SignedInRequest, book_id: int) -> HttpResponse:
    """Drop, add or bring back a spread or change the number of pages: at once, or as a proposal to the other side."""
    book, seat = get_book(request.user, book_id, deed=Deed.REPAGE)
    form = PagesForm(request.POST)
    given = filled_in(form, "pages-unreadable")
    made = ask_for_pages(book.pk, form.wanted, given["reason"], seen=given["seen"], actor=seat)
    if made is None:
        messages.success(request, "The pages are changed. Both sides are being told.")
        return redirect("reviews:plan", book.pk)
    messages.success(
        request, f"Proposal {made.number} is made. Until the other side agrees, the pages stay as they are."
    )
    return redirect("reviews:proposals", book.pk)


@require_GET
def dropped_spread(request: SignedInRequest, dropped_id: int) -> HttpResponse:
    """Show the art, notes and history of a spread that was dropped; nothing can be done to them here."""
    spread, seat = get_dropped(request.user, dropped_id)
    plan = ("Stages and pages", reverse("reviews:plan", args=[spread.book_id]))
    context = {
        "book": spread.book,
        "seat": seat,
        "spread": spread,
        "stages": kept_stages(spread, seat),
        "why": why_dropped(spread),
        "briefs": kept_briefs(spread, seat),
        "references": kept_references(spread, seat),
        "crumbs": crumbs(spread.book, plan, (f"{spread.label}, dropped", "")),
    }
    return render(request, "reviews/plans/dropped.html", context)
