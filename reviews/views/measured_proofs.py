"""Measured proofs: a control strip held against aims, line by line."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.measured_proofs import judge_measured
from reviews.forms.measured_proofs import ProofForm
from reviews.models import Book, Seat
from reviews.pages.measured_proofs import newest_proof, proof_heads, whole_proof
from reviews.pages.wording.press import PROOF_CAUTION
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import get_book
from reviews.queries.measured_proofs import proof_passages, reference_sets
from reviews.rules import permits
from reviews.rules.states import Deed, Refused, Role
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def measured_proofs(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="geometry")
    form = None
    if permits.may(Role(seat.role), Deed.JUDGE_PROOF):
        form = ProofForm(sets=reference_sets(book), proofs=proof_passages(book))
    return render(request, "reviews/print/proofs.html", _page(book, seat, form))


@require_GET
def measured_proof(request: SignedInRequest, book_id: int, proof_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="geometry")
    proof = whole_proof(book, proof_id)
    if proof is None:
        raise Http404
    above = (_("Measured proofs"), reverse("reviews:measured-proofs", args=[book.pk]))
    way = crumbs(book, above, (proof.head.file_name, ""))
    page = {"book": book, "seat": seat, "proof": proof, "proof_caution": PROOF_CAUTION, "crumbs": way, "caution": True}
    return render(request, "reviews/print/proof.html", page)


@require_POST
def judge_proof(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.JUDGE_PROOF)
    form = ProofForm(request.POST, request.FILES, sets=reference_sets(book), proofs=proof_passages(book))
    refusal = ""
    if form.is_valid():
        try:
            proof = judge_measured(book.pk, form.as_asked(), actor=seat)
        except Refused as refused:
            refusal = sentence_for(refused)
        else:
            messages.success(request, f"{proof.file_name} is judged. The verdict is below, line by line.")
            return redirect("reviews:measured-proofs", book.pk)
    page = _page(book, seat, form) | {"refusal": refusal}
    return render(request, "reviews/print/proofs.html", page, status=422)


def _page(book: Book, seat: Seat, form: ProofForm | None) -> dict:
    return {
        "book": book,
        "seat": seat,
        "form": form,
        "heads": proof_heads(book),
        "proof": newest_proof(book),
        "proof_caution": PROOF_CAUTION,
        "crumbs": crumbs(book, ("Measured proofs", "")),
        "caution": True,
    }
