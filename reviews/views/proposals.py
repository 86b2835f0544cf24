"""Proposals: read by both sides, made by one, answered by the other."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import pauses
from reviews.actions import proposals as actions
from reviews.actions.dates import ask_for_date
from reviews.forms.due_dates import AcceptForm, DueDateForm, ProposalWordsForm
from reviews.forms.filled import filled_in
from reviews.forms.pauses import PauseForm
from reviews.pages.letter_loses import answers_written, out_of_letter_words
from reviews.pages.proposals import proposals_page
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.term_sets import CAUTION
from reviews.queries.access import get_book, get_passage
from reviews.queries.proposals import get_proposal
from reviews.rules.states import Deed
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def proposals(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="account")
    context = {
        "book": book,
        "seat": seat,
        "page": proposals_page(book, seat, at=timezone.now()),
        "caution_words": CAUTION,
        "crumbs": crumbs(book, ("Account", reverse("reviews:account", args=[book.pk])), ("Proposals", "")),
    }
    return render(request, "reviews/proposals/proposals.html", context)


@require_POST
def move_due_date(request: SignedInRequest, passage_id: int) -> HttpResponse:
    """Propose a date, answer a proposed one with another, or give the own side less time."""
    passage, seat = get_passage(request.user, passage_id, deed=Deed.PROPOSE)
    given = filled_in(DueDateForm(request.POST), "date-unreadable")
    made = ask_for_date(passage.pk, **given, actor=seat)
    day = day_words(given["to"])
    if made is None:
        messages.success(request, f"{passage.where}: moved to {day}. Both sides are told why.")
        return redirect("reviews:passage", passage.pk)
    words = f"{passage.where}: {day} is proposed. Until the other side agrees, the date before holds."
    messages.success(request, words)
    return redirect("reviews:proposals", passage.book_id) if given["seen"] else redirect("reviews:passage", passage.pk)


@require_POST
def propose_pause(request: SignedInRequest, book_id: int) -> HttpResponse:
    """Propose that the work rests, or other days for a pause that stands, or to call it off."""
    book, seat = get_book(request.user, book_id, deed=Deed.PROPOSE)
    made = pauses.propose_pause(book.pk, **filled_in(PauseForm(request.POST), "date-unreadable"), actor=seat)
    messages.success(request, f"Proposal {made.number} is made. Until the other side agrees, every date holds.")
    return redirect("reviews:proposals", book.pk)


@require_POST
def accept_proposal(request: SignedInRequest, proposal_id: int) -> HttpResponse:
    proposal, seat = get_proposal(request.user, proposal_id, deed=Deed.MOVE_DUE_DATE)
    given = filled_in(AcceptForm(request.POST), "date-unreadable")
    written = answers_written(proposal.book, seat)
    done = actions.accept_proposal(proposal.pk, **given, actor=seat)
    gone = out_of_letter_words(written, answers_written(proposal.book, seat))
    messages.success(request, f"You agreed to proposal {done.number}. Both sides are being told.{gone}")
    return redirect("reviews:proposals", proposal.book_id)


@require_POST
def decline_proposal(request: SignedInRequest, proposal_id: int) -> HttpResponse:
    proposal, seat = get_proposal(request.user, proposal_id, deed=Deed.DECLINE_PROPOSAL)
    given = filled_in(ProposalWordsForm(request.POST), "proposal-words")
    actions.decline_proposal(proposal.pk, given["words"], actor=seat)
    messages.success(request, f"You declined proposal {proposal.number}. What held before still holds.")
    return redirect("reviews:proposals", proposal.book_id)


@require_POST
def withdraw_proposal(request: SignedInRequest, proposal_id: int) -> HttpResponse:
    proposal, seat = get_proposal(request.user, proposal_id, deed=Deed.WITHDRAW_PROPOSAL)
    given = filled_in(ProposalWordsForm(request.POST), "proposal-words")
    actions.withdraw_proposal(proposal.pk, given["words"], actor=seat)
    messages.success(request, f"You withdrew proposal {proposal.number}. What held before still holds.")
    return redirect("reviews:proposals", proposal.book_id)
