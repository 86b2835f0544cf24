"""The one button that has given-up work tried again."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from reviews.actions import again
from reviews.queries.access import get_letter, get_passage, get_picture
from reviews.queries.seats import get_invitation
from reviews.rules.states import Deed
from reviews.views.responses import came_from, wants_json
from reviews.views.signed_in import SignedInRequest


@require_POST
def read_again(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, deed=Deed.TRY_AGAIN)
    return _done(request, again.read_again(picture.pk, actor=seat), "The picture is being processed again.")


@require_POST
def compare_again(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.TRY_AGAIN)
    return _done(request, again.compare_again(passage.pk, actor=seat), "The pictures are being compared again.")


@require_POST
def paper_again(request: SignedInRequest, letter_id: int) -> HttpResponse:
    letter, seat = get_letter(request.user, letter_id, deed=Deed.TRY_AGAIN)
    return _done(request, again.paper_again(letter.pk, actor=seat), "It is being tried again.")


@require_POST
def invite_again(request: SignedInRequest, invitation_id: int) -> HttpResponse:
    invitation, seat = get_invitation(request.user, invitation_id, deed=Deed.INVITE)
    return _done(request, again.invite_again(invitation.pk, actor=seat), "The mail is being sent again.")


def _done(request: HttpRequest, n_begun: int, sentence: str) -> HttpResponse:
    told = sentence if n_begun else "Nothing has to be tried again here: it is done, or under way."
    if wants_json(request):
        return JsonResponse({"sentence": told})
    messages.success(request, told)
    return redirect(came_from(request))
