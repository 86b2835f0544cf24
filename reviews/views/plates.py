"""Tell what a plate of a special finish is for."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from reviews.actions.plates import tell_plate as tell
from reviews.forms.filled import filled_in
from reviews.forms.plates import PlateForm
from reviews.pages.wording.plates import plate_told as told_words
from reviews.press.finish import Finish, Metal, PlateWay
from reviews.queries.access import get_picture
from reviews.rules.states import Deed, HandInState
from reviews.views.signed_in import SignedInRequest


@require_POST
def tell_plate(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, deed=Deed.TELL_PLATE)
    given = filled_in(PlateForm(request.POST), "no-plate")
    metal = Metal(given["metal"]) if given["metal"] else None
    told = tell(
        picture.pk, finish=Finish(given["finish"]), way=PlateWay(given["way"]), metal=metal,
        channel=given["channel"], actor=seat,
    )  # fmt: skip
    messages.success(request, told_words(is_channel=told.channel is not None))
    is_draft = picture.hand_in.state == HandInState.DRAFT
    return redirect("reviews:draft-hand-in" if is_draft else "reviews:passage", picture.hand_in.passage_id)
