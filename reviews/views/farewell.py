"""What somebody keeps of a book on which their seat ended: to be read, and to be taken home."""

from __future__ import annotations

from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from reviews import storage
from reviews.forms.codes import CodesForm
from reviews.notices.farewell_archive import archive_of
from reviews.pages.farewell import (
    briefs_kept,
    get_farewell,
    letter_read,
    letters_read,
    lines_kept,
    own_picture,
    own_pictures,
    statement_kept,
    texts_kept,
)
from reviews.queries.access import NotThere
from reviews.queries.codes import checked
from reviews.queries.store_turns import store_turn
from reviews.views.signed_in import SignedInRequest


@require_GET
def farewell(request: SignedInRequest, book_id: int) -> HttpResponse:
    """``?codes=`` holds codes from letters against the ledger, as for those who have a seat."""
    kept = get_farewell(request.user, book_id)
    form = CodesForm(request.GET if "codes" in request.GET else None)
    context = {
        "book": kept.book,
        "kept": kept,
        "letters": letters_read(kept),
        "briefs": briefs_kept(kept),
        "texts": texts_kept(kept),
        "pictures": own_pictures(kept),
        "lines": lines_kept(kept),
        "page": statement_kept(kept),
        "form": form,
        "found": checked(kept.book, kept.role, form.cleaned_data["codes"]) if form.is_valid() else None,
        "crumbs": [{"label": f"What you keep of {kept.book.title}", "url": ""}],
    }
    return render(request, "reviews/farewell/farewell.html", context)


@require_GET
def archive(request: SignedInRequest, book_id: int) -> StreamingHttpResponse:
    kept = get_farewell(request.user, book_id)
    if pictures := own_pictures(kept):
        # Once it is being sent it can only break off: where the store is silent, that is said now.
        with store_turn():
            storage.exists(storage.original_name(pictures[0].sha256))
    response = StreamingHttpResponse(archive_of(kept), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="book-{kept.book.pk}-kept.zip"'
    response["Cache-Control"] = "private, no-store"
    return response


@require_GET
def original(request: SignedInRequest, book_id: int, picture_id: int) -> FileResponse:
    """Send one own file bit for bit, always as a download."""
    picture = own_picture(get_farewell(request.user, book_id), picture_id)
    name = storage.original_name(picture.sha256)
    with store_turn(picture.n_bytes):
        if not storage.exists(name):
            raise NotThere
        stored = storage.fetch_stored(name)
    response = FileResponse(
        stored, as_attachment=True, filename=picture.file_name,
        content_type="application/octet-stream",
    )  # fmt: skip
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    response["Cache-Control"] = "private, no-store"
    return response


@require_GET
def letter(request: SignedInRequest, book_id: int, letter_id: int) -> FileResponse:
    found = letter_read(get_farewell(request.user, book_id), letter_id)
    if not found.paper:
        raise NotThere
    name = f"{found.book.title}, letter {found.number}.pdf"
    with store_turn():
        stored = storage.fetch_stored(found.paper)
    return FileResponse(stored, filename=name, content_type="application/pdf")
