"""The terms of a book: read by both sides, entered by one and confirmed by the other, and the agent's consent."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import terms as actions
from reviews.forms.filled import filled_in
from reviews.forms.terms import CURRENCIES, ConfirmForm, ConsentForm, SeenForm, TermsForm
from reviews.forms.where import offered
from reviews.models import Book, Seat
from reviews.pages.closed_days import ClosedDays, closed_days_of
from reviews.pages.ready_sets import look_at
from reviews.pages.terms import terms_page
from reviews.pages.wording.refusals import sentence_for
from reviews.pages.wording.term_sets import CAUTION
from reviews.queries.access import get_book, get_passage
from reviews.queries.letters import draft_letter
from reviews.queries.line_names import names_of
from reviews.rules import permits
from reviews.rules.contract.term_sets import READY_SETS, filled_from
from reviews.rules.states import Deed, Refused, Role
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def terms(request: SignedInRequest, book_id: int) -> HttpResponse:
    """``?look=`` shows what a ready set would change, ``?start=`` fills the form with it."""
    book, seat = get_book(request.user, book_id, thing="terms")
    start, look = (request.GET.get(name, "") for name in ("start", "look"))
    return render(request, "reviews/terms/terms.html", _page(book, seat, start=start, look=look))


@require_POST
def change_terms(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.CHANGE_TERMS)
    form = TermsForm(request.POST)
    if form.is_valid() and form.read is not None:
        seen = filled_in(SeenForm(request.POST), "terms-fresh")
        told = {name: form.rules.cleaned_data[name] for name in ("house_remark", "reaches_back")}
        try:
            actions.propose_terms(book.pk, form.read, **told, **seen, actor=seat)
        except Refused as refused:
            form.error = sentence_for(refused)
        else:
            messages.success(
                request, "The terms are entered by your side. They hold once the other side agrees; it is being asked."
            )
            return redirect("reviews:terms", book.pk)
    page = _page(book, seat, form=form, start=request.POST.get("started", ""))
    return render(request, "reviews/terms/terms.html", page, status=422)


@require_POST
def confirm_terms(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.CONFIRM_TERMS)
    given = filled_in(ConfirmForm(request.POST), "terms-fresh")
    actions.confirm_terms(book.pk, given["version"], actor=seat)
    messages.success(request, f"You confirmed version {given['version']} as it stands. Both sides are being told.")
    return redirect("reviews:terms", book.pk)


@require_POST
def ask_consent(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.ASK_CONSENT)
    given = filled_in(ConsentForm(request.POST), "words-too-long")
    actions.ask_consent(passage.pk, given["words"], actor=seat)
    messages.success(request, f"Consent to one more round on {passage.where} is asked for. You are told when it comes.")
    draft = draft_letter(passage.book)
    return redirect("reviews:send-letter", draft.pk) if draft else redirect("reviews:draft-letter", passage.book_id)


@require_POST
def give_consent(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.GIVE_CONSENT)
    actions.give_consent(passage.pk, actor=seat)
    messages.success(request, f"You consent to one more round on {passage.where}. The art director is being told.")
    return redirect("reviews:terms", passage.book_id)


@require_POST
def decline_consent(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.DECLINE_CONSENT)
    given = filled_in(ConsentForm(request.POST), "words-too-long")
    actions.decline_consent(passage.pk, given["words"], actor=seat)
    messages.success(request, f"You declined one more round on {passage.where}. The art director is being told why.")
    return redirect("reviews:terms", passage.book_id)


@require_POST
def withdraw_consent(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.WITHDRAW_CONSENT)
    given = filled_in(ConsentForm(request.POST), "words-too-long")
    actions.withdraw_consent(passage.pk, given["words"], actor=seat)
    messages.success(request, f"Your consent to one more round on {passage.where} is withdrawn. No letter had used it.")
    return redirect("reviews:terms", passage.book_id)


def _closed(form: TermsForm, today: date) -> dict[str, ClosedDays]:
    fields = ("place", "other_place", "printer_place")
    return {name: closed_days_of(form.rules[name].value() or "", today) for name in fields}


def _page(book: Book, seat: Seat, *, start: str = "", look: str = "", form: TermsForm | None = None) -> dict:
    """Gather the page; ``form`` is one that must be shown again with what is wrong in it."""
    may_enter = permits.may(Role(seat.role), Deed.CHANGE_TERMS)
    page = terms_page(book, seat, at=timezone.now())
    ready, looked_at = READY_SETS.get(start), READY_SETS.get(start or look)
    shown, held = form, page.now.terms
    if may_enter and form is None:
        from_on = book.start_on if page.held.is_implied else page.today
        shown = TermsForm.to_start_from(filled_from(ready, held) if ready else held, from_on)
    return {
        "book": book,
        "seat": seat,
        "page": page,
        "form": shown if may_enter else None,
        "is_open": form is not None or ready is not None,
        "started": ready,
        "look": look_at(looked_at, held) if may_enter and looked_at and form is None else None,
        "line_names": names_of(book.pk, Role(seat.role)),
        "ready_sets": READY_SETS.values(),
        **(offered() if may_enter else {}),
        "closed": _closed(shown, page.today) if may_enter and shown else {},
        "currencies": CURRENCIES,
        "sees_remark": permits.sees(Role(seat.role), "terms-remark"),
        "caution_words": CAUTION,
        "crumbs": crumbs(book, ("Account", reverse("reviews:account", args=[book.pk])), ("Terms", "")),
    }
