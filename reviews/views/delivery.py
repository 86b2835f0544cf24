"""The delivery folder: approved originals for the printer."""

from __future__ import annotations

from django.http import StreamingHttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from reviews import storage
from reviews.forms.delivery import DeliveryForm
from reviews.forms.filled import filled_in
from reviews.notices.delivery_folder import folder_of
from reviews.pages.delivery import files_of
from reviews.pages.wording.press import DELIVERY_NOTE
from reviews.press.delivery_names import check_pattern
from reviews.press.refused import CannotPrint
from reviews.queries.access import get_book
from reviews.queries.final_art import art_for_press
from reviews.queries.store_turns import store_turn
from reviews.rules.states import Refused
from reviews.views.signed_in import SignedInRequest


@require_GET
def delivery(request: SignedInRequest, book_id: int) -> StreamingHttpResponse:
    book, _ = get_book(request.user, book_id, thing="originals")
    try:
        pattern = check_pattern(filled_in(DeliveryForm(request.GET), "delivery-pattern")["pattern"])
    except CannotPrint as no:
        raise Refused(no.code, **no.values) from no
    files = files_of(book, art_for_press(book), pattern)
    if not files:
        raise Refused("nothing-to-deliver")
    # Once it is being sent it can only break off: where the store is silent or lacks a file, that is said now.
    for file in files:
        with store_turn():
            if not storage.exists(storage.original_name(file.picture.sha256)):
                raise Refused("original-missing", where=file.where, file=file.picture.file_name)
    note = str(DELIVERY_NOTE).format(title=book.title, n=len(files))
    response = StreamingHttpResponse(folder_of(files, timezone.now(), note), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="{slugify(book.title) or f"book-{book.pk}"}-delivery.zip"'
    response["Cache-Control"] = "private, no-store"
    return response
