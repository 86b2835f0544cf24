"""The dummy: a book read page by page."""

from __future__ import annotations

from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from reviews.imaging.results import PREVIEW_NAME
from reviews.models import Picture
from reviews.notices.dummy_paper import dummy_pdf
from reviews.pages.dummy import dummy_page
from reviews.pages.wording.dates import day_words
from reviews.queries.access import get_book
from reviews.queries.pictures import rendition
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def dummy(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id)
    laid = dummy_page(book, seat)
    context = {
        "book": book,
        "dummy": laid,
        "shown": laid.at(request.GET.get("at")),
        "art": "approved" if request.GET.get("art") == "approved" else "newest",
        "crumbs": crumbs(book, ("Dummy", "")),
    }
    return render(request, "reviews/books/dummy.html", context)


@require_GET
def dummy_paper(request: SignedInRequest, book_id: int) -> StreamingHttpResponse:
    """Give the dummy as PDF, begun at once and made page by page while it is read: nothing of it is kept."""
    book, seat = get_book(request.user, book_id)
    when = "approved" if request.GET.get("art") == "approved" else "newest"
    laid = dummy_page(book, seat)
    wanted = {art.picture for opening in laid.openings for pages in opening.pages for art in pages.arts}
    rows = {picture.pk: picture for picture in Picture.objects.filter(pk__in=wanted)}
    day = day_words(book.day_rule.local_date(timezone.now()))
    foot = _("Approved pictures as of {day}.") if when == "approved" else _("Newest pictures as of {day}; not final.")
    pages = dummy_pdf(
        laid, book.title, when, lambda number: rendition(rows[number], PREVIEW_NAME), foot.format(day=day)
    )
    response = StreamingHttpResponse(pages, content_type="application/pdf")
    name = _("{title}, dummy.pdf").format(title=book.title)
    response.headers["Content-Disposition"] = str(content_disposition_header(False, name))
    return response
