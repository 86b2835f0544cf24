"""How a book is printed: looked at by its seats, set by who has it printed."""

from __future__ import annotations

from dataclasses import replace

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.print_set_up import set_print as set_figures
from reviews.forms.print_set_up import PrintForm
from reviews.models import Book, KeptPrinter, Seat
from reviews.pages.delivery import files_of, finals_shown
from reviews.pages.print_page import page_of_print
from reviews.pages.wording.refusals import sentence_for
from reviews.pages.wording.soft_proofs import INDICATIVE
from reviews.press.delivery_names import USUAL_PATTERN
from reviews.press.set_up import BookPrint, Unit
from reviews.press.set_up_text import figures_from_text
from reviews.queries.access import get_book
from reviews.queries.final_art import art_for_press
from reviews.queries.print_profiles import profiles_for
from reviews.queries.print_set_ups import print_of, printers_for, seen_of
from reviews.rules import permits
from reviews.rules.states import Deed, Refused, Role
from reviews.rules.trim import may_move_trim
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def print_set_up(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="geometry")
    stands = print_of(book)
    unit = _unit(request, stands)
    if not permits.may(Role(seat.role), Deed.SET_PRINT):
        return render(request, "reviews/print/print.html", _page(book, seat, stands, unit))
    kept = printers_for(seat)
    chosen = next((row for row in kept if str(row.pk) == request.GET.get("printer")), None)
    if chosen:
        stands = replace(stands, figures=figures_from_text(chosen.figures), printer=chosen.name)
        unit = stands.figures.unit
    form = PrintForm(stands=stands, unit=unit, seen=seen_of(book), moves_trim=may_move_trim(Role(seat.role)))
    return render(request, "reviews/print/print.html", _page(book, seat, stands, unit, form, kept, chosen))


@require_POST
def set_print(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.SET_PRINT)
    stands = print_of(book)
    unit = Unit.INCH if request.POST.get("typed_in") == Unit.INCH else Unit.MM
    form = PrintForm(
        request.POST,
        stands=replace(stands, figures=replace(stands.figures, unit=unit)),
        unit=unit,
        seen="",
        moves_trim=may_move_trim(Role(seat.role)),
    )
    refusal = ""
    if form.is_valid():
        try:
            set_figures(book.pk, form.as_change(), actor=seat)
        except Refused as refused:
            refusal = sentence_for(refused)
        else:
            messages.success(
                request, "The print set-up is changed. Guides, templates and checks follow it from now on."
            )
            return redirect("reviews:print", book.pk)
    page = _page(book, seat, stands, unit, form, printers_for(seat)) | {"refusal": refusal, "is_open": True}
    return render(request, "reviews/print/print.html", page, status=422)


def _unit(request: HttpRequest, stands: BookPrint) -> Unit:
    asked = request.GET.get("unit")
    return Unit(asked) if asked in set(Unit) else stands.figures.unit


def _page(
    book: Book,
    seat: Seat,
    shown: BookPrint,
    unit: Unit,
    form: PrintForm | None = None,
    kept: list[KeptPrinter] | None = None,
    chosen: KeptPrinter | None = None,
) -> dict:
    return {
        "book": book,
        "seat": seat,
        "page": page_of_print(book, shown, unit),
        **_for_press(book),
        **_profiles(book, seat),
        "unit": unit,
        "units": list(Unit),
        "form": form,
        "kept": kept or [],
        "chosen": chosen,
        "is_open": bool(chosen),
        "crumbs": crumbs(book, ("Print set-up", "")),
        "caution": True,
    }


def _profiles(book: Book, seat: Seat) -> dict:
    may_bring = permits.may(Role(seat.role), Deed.BRING_PROFILE)
    return {"profiles": profiles_for(book), "may_bring": may_bring, "indicative": INDICATIVE}


def _for_press(book: Book) -> dict:
    finals = art_for_press(book)
    deliver = files_of(book, finals, USUAL_PATTERN)
    return {"finals": finals_shown(finals), "deliver": deliver, "pattern": USUAL_PATTERN}
