"""Pictures as a printing condition would print them, and the profiles that are brought for it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.print_profiles import ask_for_soft_proof, bring_profile
from reviews.forms.filled import filled_in
from reviews.forms.print_profiles import ProfileForm, SoftProofForm
from reviews.pages.soft_proofs import page_of_soft_proofs, soft_proofs_on_board
from reviews.pages.wording.soft_proofs import INDICATIVE
from reviews.queries.access import NotThere, get_book, get_picture
from reviews.queries.soft_proofs import soft_file, soft_proof_of
from reviews.rules.states import Deed
from reviews.views.responses import wants_json
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs

_KINDS = {"jpg": "image/jpeg", "png": "image/png"}
KEEP = "private, max-age=86400"


@require_GET
def soft_proof(request: SignedInRequest, picture_id: int) -> HttpResponse:
    """Show a picture as printed: JSON for the table's script, a page to look at for people."""
    picture, seat = get_picture(request.user, picture_id, thing="geometry")
    page_url = reverse("reviews:soft-proof", args=[picture.pk])
    if wants_json(request):
        return JsonResponse({"proofs": soft_proofs_on_board(picture), "page_url": page_url, "caution": str(INDICATIVE)})
    passage = picture.hand_in.passage
    above = (passage.where, reverse("reviews:passage", args=[passage.pk]))
    context = {
        "soft": page_of_soft_proofs(picture, request.GET.get("proof")),
        "row": passage,
        "seat": seat,
        "indicative": INDICATIVE,
        "crumbs": crumbs(passage.book, above, (_("As printed"), "")),
    }
    return render(request, "reviews/print/soft_proof.html", context)


@require_POST
def ask_soft_proof(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, thing="geometry")
    form = SoftProofForm(request.POST)
    filled_in(form, "no-such-profile")
    row = ask_for_soft_proof(picture, form.as_choice(), actor=seat)
    return redirect(f"{reverse('reviews:soft-proof', args=[picture.pk])}?proof={row.pk}")


@require_GET
def soft_proof_file(request: SignedInRequest, picture_id: int, proof_id: int, ending: str) -> HttpResponse:
    """Send the picture as printed, or the sheet of what lies outside: to whoever may see the picture itself."""
    picture, _seat = get_picture(request.user, picture_id, thing="geometry")
    row = soft_proof_of(picture, proof_id)
    data = soft_file(row, ending) if row and ending in _KINDS else None
    if data is None:
        raise NotThere
    return HttpResponse(data, content_type=_KINDS[ending], headers={"Cache-Control": KEEP})


@require_POST
def bring_print_profile(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.BRING_PROFILE)
    given = filled_in(ProfileForm(request.POST, request.FILES), "no-profile-file")["profile"]
    row = bring_profile(book.pk, file_name=given.name, data=given.read(), actor=seat)
    messages.success(request, _("The profile “{name}” is kept on the book.").format(name=row.name))
    return redirect(f"{reverse('reviews:print', args=[book.pk])}#profiles")
