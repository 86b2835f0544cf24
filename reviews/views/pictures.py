"""Pictures: previews, tiles, originals, and how far a new one has come."""

from __future__ import annotations

import logging

from django.http import FileResponse, HttpResponse, JsonResponse
from django.utils.translation import gettext, gettext_noop
from django.views.decorators.http import require_GET

from reviews import storage
from reviews.imaging.results import MINI_NAME, PLATE_NAMES, PREVIEW_NAME, THUMB_NAME
from reviews.pages.picture_state import picture_standing
from reviews.queries import pictures
from reviews.queries.access import NotThere, get_picture
from reviews.queries.store_turns import store_turn
from reviews.queries.trouble import READING, troubles
from reviews.rules.states import PictureState
from reviews.views.responses import answer
from reviews.views.signed_in import SignedInRequest

log = logging.getLogger(__name__)

# Named by content and served only to those with a seat: a browser may keep it, a shared cache may not.
KEEP = "private, max-age=86400, immutable"
MISSING = gettext_noop(
    "The file itself is missing from the store, although the ledger says it was handed in. You did nothing wrong. "
    "Tell whoever runs this portal: a backup may still hold it."
)


def _drawn(data: bytes | None, kind: str = "image/jpeg") -> HttpResponse:
    if data is None:
        raise NotThere
    return HttpResponse(data, content_type=kind, headers={"Cache-Control": KEEP})


@require_GET
def preview(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, _ = get_picture(request.user, picture_id)
    return _drawn(pictures.rendition(picture, PREVIEW_NAME))


@require_GET
def thumb(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, _ = get_picture(request.user, picture_id)
    return _drawn(pictures.rendition(picture, THUMB_NAME))


@require_GET
def mini(request: SignedInRequest, picture_id: int) -> HttpResponse:
    """Send the smallest picture; one read before there were any has its thumb until the worker has made it."""
    picture, _ = get_picture(request.user, picture_id)
    return _drawn(pictures.rendition(picture, MINI_NAME) or pictures.rendition(picture, THUMB_NAME))


@require_GET
def plate(request: SignedInRequest, picture_id: int, number: int) -> HttpResponse:
    """Send one spot plate as a sheet to lay over the art; `number` counts from 1."""
    picture, _ = get_picture(request.user, picture_id)
    if not 1 <= number <= len(picture.facts.get("plates", ())):
        raise NotThere
    return _drawn(pictures.rendition(picture, PLATE_NAMES[number - 1]), "image/png")


@require_GET
def tile(request: SignedInRequest, picture_id: int, address: str) -> HttpResponse:
    picture, _ = get_picture(request.user, picture_id)
    return _drawn(pictures.tile(picture, address))


@require_GET
def original(request: SignedInRequest, picture_id: int) -> FileResponse | HttpResponse:
    """Send the file bit for bit, always as a download: what strangers drew never opens as a page here."""
    picture, _ = get_picture(request.user, picture_id, thing="originals")
    try:
        with store_turn(picture.n_bytes):
            stored = storage.fetch_stored(storage.original_name(picture.sha256))
    except FileNotFoundError:
        log.exception("The original of picture %s is missing from the store.", picture.pk)
        return answer(request, gettext(MISSING), status=404)
    response = FileResponse(
        stored, as_attachment=True, filename=picture.file_name, content_type="application/octet-stream"
    )
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    response["Cache-Control"] = "private, no-store"
    return response


@require_GET
def state(request: SignedInRequest, picture_id: int) -> JsonResponse:
    """Say how far a picture has come; asked by the page while it waits."""
    picture, _ = get_picture(request.user, picture_id)
    trouble = troubles(READING, [picture.pk]).get(picture.pk) if picture.state == PictureState.RECEIVED else None
    return JsonResponse(dict(picture_standing(picture, trouble)))
