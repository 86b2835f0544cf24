"""What was approved beneath the pictures of a table."""

from __future__ import annotations

from django.http import JsonResponse
from django.views.decorators.http import require_GET

from reviews.pages.beneath import approved_under
from reviews.queries.access import get_passage
from reviews.views.signed_in import SignedInRequest


@require_GET
def approved_beneath(request: SignedInRequest, passage_id: int) -> JsonResponse:
    passage, seat = get_passage(request.user, passage_id, thing="comparisons")
    return JsonResponse(approved_under(passage, seat))
