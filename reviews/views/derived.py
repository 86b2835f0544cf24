"""Made from scans: join the sheets of a draft, leave only the ink, and keep or drop what comes of it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import derived
from reviews.pages.derived import derived_state
from reviews.pages.pencil import can_be_pointed_at, pencil_page
from reviews.queries.access import get_derivation, get_hand_in, get_picture
from reviews.rules.derived import Choice, Making, Pencil
from reviews.rules.states import Deed, Refused
from reviews.views.signed_in import SignedInRequest

_TURNS = {"": 0, "right": 1, "over": 2, "left": 3}
_SIDES = ("left", "top", "right", "bottom")
STARTED = {
    Making.JOIN: "The sheets are being joined. You can go on meanwhile; what comes of it is shown here.",
    Making.INK: "The pencil is being taken out. You can go on meanwhile; what comes of it is shown here.",
    Making.TURN: "The picture is being turned. You can go on meanwhile; what comes of it is shown here.",
}
CHOSEN = {
    Choice.KEEP: "{name} is in the draft now, in place of what it was made from.",
    Choice.DROP: "{name} is dropped. What it was made from is in the draft as before.",
    Choice.AGAIN: "That is taken back. Look at {name} once more, then keep or drop it.",
}


@require_POST
def make_derived(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    hand_in, seat = get_hand_in(request.user, hand_in_id, deed=Deed.MAKE_DERIVED)
    making, pencil = request.POST.get("making", ""), request.POST.get("pencil", "")
    if making not in STARTED or pencil not in {"", *Pencil}:
        raise Refused("bad-making")
    # Nineteen digits would not be a number that a database can hold.
    ticked = [int(word) for word in request.POST.getlist("picture") if word.isdecimal() and len(word) < 19]
    pencilled = Pencil(pencil) if pencil else None
    derived.make_derived(hand_in.pk, Making(making), ticked, pencil=pencilled, turning=_turning(request), actor=seat)
    messages.success(request, STARTED[Making(making)])
    return redirect(_page_of(hand_in.passage_id))


def _turning(request: HttpRequest) -> tuple[int, list[int]]:
    """Read how far to turn and what to cut; what is no number is refused with the others out of range."""
    cuts = [request.POST.get(f"cut_{side}", "").strip() or "0" for side in _SIDES]
    cut = [int(word) if word.isdecimal() and len(word) < 4 else -1 for word in cuts]
    return _TURNS.get(request.POST.get("turn", ""), 0), cut


@require_GET
def point_at_pencil(request: SignedInRequest, picture_id: int) -> HttpResponse:
    """Show a scan of the own draft to point at a stroke of its pencil."""
    picture, _ = get_picture(request.user, picture_id, thing="draft-hand-in")
    if not can_be_pointed_at(picture):
        return redirect(_page_of(picture.hand_in.passage_id))
    return render(request, "reviews/hand_ins/pencil.html", pencil_page(picture))


@require_POST
def take_pencil_out(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, deed=Deed.MAKE_DERIVED)
    stroke = _per_cent(request.POST.get("across", "")), _per_cent(request.POST.get("down", ""))
    derived.make_derived(picture.hand_in_id, Making.INK, [picture.pk], stroke=stroke, actor=seat)
    messages.success(request, STARTED[Making.INK])
    return redirect(_page_of(picture.hand_in.passage_id))


def _per_cent(word: str) -> float:
    """Read a number as people type it; what is none is out of every range."""
    try:
        return float(word.strip().rstrip("%").replace(",", ".")[:12])
    except ValueError:
        return -1.0


@require_POST
def take_pages(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, deed=Deed.MAKE_DERIVED)
    words = request.POST.get("pages", "") if request.POST.get("which") != "all" else ""
    if request.POST.get("which") != "all" and not words.strip():
        raise Refused("bad-pages", n=picture.facts.get("n_pages", 1))
    n = len(derived.take_pages(picture.pk, words, actor=seat))
    told = ngettext("{n} page is being taken out of {name}.", "{n} pages are being taken out of {name}.", n)
    messages.success(request, told.format(n=n, name=picture.file_name))
    return redirect("reviews:draft-hand-in", passage_id=picture.hand_in.passage_id)


@require_POST
def choose_derived(request: SignedInRequest, derivation_id: int, choice: str) -> HttpResponse:
    derivation, seat = get_derivation(request.user, derivation_id, deed=Deed.CHOOSE_DERIVED)
    if choice not in set(Choice):
        raise Refused("bad-choice")
    chosen = derived.choose_derived(derivation.pk, Choice(choice), actor=seat)
    if chosen.picture is None:
        messages.success(request, "Dismissed. The sheets are in the draft as before.")
    else:
        undo = "" if choice == Choice.AGAIN else reverse("reviews:choose-derived", args=[chosen.pk, Choice.AGAIN])
        messages.success(request, CHOSEN[Choice(choice)].format(name=chosen.picture.file_name), extra_tags=undo)
    return redirect(_page_of(derivation.hand_in.passage_id))


@require_GET
def state(request: SignedInRequest, derivation_id: int) -> JsonResponse:
    """Say how far it has come; asked by the page while it waits."""
    derivation, _ = get_derivation(request.user, derivation_id)
    return JsonResponse(derived_state(derivation))


def _page_of(passage_id: int) -> str:
    return f"{reverse('reviews:draft-hand-in', args=[passage_id])}#from-scans"
