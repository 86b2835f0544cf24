"""A book's title, publisher and last day, changed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from reviews.actions.book_facts import FACTS
from reviews.actions.book_facts import change_book as change
from reviews.forms.book_facts import BookFactsForm
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import get_book
from reviews.queries.briefs import is_sketch_approved
from reviews.rules.states import Deed, Refused, Role
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_http_methods(["GET", "POST"])
def change_book(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.CHANGE_BOOK)
    now = {name: getattr(book, name) for name in FACTS}
    may_trim = not is_sketch_approved(book, None)
    is_production = seat.role == Role.PRODUCTION
    form = BookFactsForm(request.POST or None, initial=now, day_alone=is_production, may_trim=may_trim)
    refusal = ""
    if request.method == "POST" and form.is_valid():
        try:
            changed = change(book.pk, **(now | form.cleaned_data), only=form.changed_data, actor=seat)
        except Refused as refused:
            refusal = sentence_for(refused)
        else:
            messages.success(request, f"“{changed.title}” is changed. Both sides read it in the ledger.")
            return redirect("reviews:plan", book.pk)
    here = crumbs(book, ("Title, page size and last day", ""))
    context = {"book": book, "form": form, "refusal": refusal, "may_trim": may_trim, "crumbs": here}
    return render(request, "reviews/books/facts.html", context, status=422 if request.method == "POST" else 200)
