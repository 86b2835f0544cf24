"""Hand in: gather pictures in a draft that nobody else sees, then hand them in once."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import hand_ins
from reviews.actions.presses import PressedBefore, part_of_press
from reviews.models import Passage, Picture, Seat
from reviews.pages import hand_in_draft
from reviews.pages.before_handing_in import draft_check
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import NotAllowed, get_hand_in, get_passage, get_picture
from reviews.rules.hands import hands_in
from reviews.rules.states import Deed, Refused, Role, StageKind
from reviews.uploads import HashedFile
from reviews.views.responses import done, say_refused, wants_json
from reviews.views.signed_in import SignedInRequest


def _own(request: SignedInRequest, passage_id: int) -> tuple[Passage, Seat]:
    """Fetch a passage for whoever hands in at its stage: the illustrator, or production what the printer made."""
    passage, seat = get_passage(request.user, passage_id, thing="draft-hand-in")
    if not hands_in(Role(seat.role), StageKind(passage.stage.kind)):
        raise NotAllowed
    return passage, seat


@require_GET
def draft(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = _own(request, passage_id)
    return render(request, "reviews/hand_ins/draft.html", hand_in_draft.draft_page(passage, seat))


@require_GET
def check(request: SignedInRequest, passage_id: int) -> HttpResponse:
    """Show the illustrator what the publisher would see of the draft; its script fetches this page too."""
    passage, seat = _own(request, passage_id)
    return render(request, "reviews/hand_ins/check.html", draft_check(passage, seat))


@require_POST
def add_picture(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.ADD_PICTURE)
    kept, refusals = _keep_all(request, passage, seat)
    if wants_json(request):
        if refusals:
            return JsonResponse({"sentence": " ".join(refusals)}, status=409)
        return JsonResponse(hand_in_draft.picture_row(kept[0]) if kept else {"sentence": "Choose a file first."})
    for sentence in refusals:
        say_refused(request, sentence)
    if kept:
        messages.success(
            request,
            ngettext("{n} picture put into the draft.", "{n} pictures put into the draft.", len(kept)).format(
                n=len(kept)
            ),
        )
    return redirect("reviews:draft-hand-in", passage_id=passage.pk)


def _keep_all(request: HttpRequest, passage: Passage, seat: Seat) -> tuple[list[Picture], list[str]]:
    """Keep each file on its own, so that one refused file costs nothing but itself.

    Where a failure ended the form in its middle, the same form again keeps the rest, and no file twice.
    """
    kept: list[Picture] = []
    refusals: list[str] = []
    uploads = cast(list[HashedFile], request.FILES.getlist("file"))
    for number, upload in enumerate(uploads):
        if (refusal := getattr(upload, "refusal", None)) is not None:
            refusals.append(sentence_for(refusal))
            continue
        try:
            place = _place(request) if number == 0 else None
            with part_of_press(number):
                kept.append(hand_ins.add_picture(passage.pk, upload, sha256=upload.sha256, place=place, actor=seat))
        except PressedBefore:
            if number == len(uploads) - 1 and not kept and not refusals:
                raise  # all of it arrived the first time
        except Refused as refused:
            refusals.append(sentence_for(refused))
    return kept, refusals


def _place(request: HttpRequest) -> int | None:
    """Read the place at which the page shows a picture that it sends; nothing else is worth a refusal."""
    word = request.POST.get("place", "")
    return int(word) if word.isdecimal() and len(word) < 5 and int(word) > 0 else None


@require_POST
def remove_picture(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, deed=Deed.REMOVE_PICTURE)
    hand_ins.remove_picture(picture.pk, actor=seat)
    return done(request, f"{picture.file_name} is out of the draft.")


@require_POST
def order_pictures(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    hand_in, seat = get_hand_in(request.user, hand_in_id, deed=Deed.ORDER_PICTURES)
    words = request.POST.get("order", "").split(",")
    order = [int(word) for word in words if word.strip().isdecimal() and len(word) < 19]
    hand_ins.order_pictures(hand_in.pk, order, actor=seat)
    return done(request, "The order is kept.")


@require_POST
def word_hand_in(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    hand_in, seat = get_hand_in(request.user, hand_in_id, deed=Deed.WORD_HAND_IN)
    hand_ins.word_hand_in(hand_in.pk, _words(request, "cover_note"), actor=seat)
    return done(request, "Your cover note is kept.")


@require_POST
def hand_in(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    draft, seat = get_hand_in(request.user, hand_in_id, deed=Deed.HAND_IN)
    try:
        handed = hand_ins.hand_in(draft.pk, cover_note=_words(request, "cover_note"), actor=seat)
    except Refused as refused:
        if refused.code != "already-handed-in":
            raise
        # The second click of a double click: the first one did it, and this one says the same.
        handed = draft
    messages.success(request, hand_in_draft.handed_in_words(handed.pk))
    return redirect("reviews:passage", passage_id=handed.passage_id)


@require_POST
def withdraw_hand_in(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    handed, seat = get_hand_in(request.user, hand_in_id, deed=Deed.WITHDRAW_HAND_IN)
    hand_ins.withdraw_hand_in(handed.pk, _words(request, "reason"), actor=seat)
    messages.success(request, f"Hand-in {handed.number} is withdrawn. The ledger keeps its trace.")
    return redirect("reviews:draft-hand-in", passage_id=handed.passage_id)


def _words(request: HttpRequest, name: str) -> str:
    """Read what was written; PostgreSQL keeps no NUL, which no keyboard types."""
    return request.POST.get(name, "").replace("\0", "")[:4000]
