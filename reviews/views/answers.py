"""Answers: the art director's to a spread, the illustrator's to a note."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from reviews.actions import letters, notes
from reviews.actions.book_notes import answer_on_spreads
from reviews.forms.answers import ResponseForm
from reviews.forms.filled import filled_in
from reviews.forms.letters import AnswerForm, NamedForm
from reviews.models import Seat
from reviews.pages.wording.letter_answers import answer_in_a_sentence
from reviews.pages.wording.names import response_words
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import get_book, get_note, get_passage
from reviews.rules.states import Deed, Refused
from reviews.views.responses import came_from, done, say_refused, wants_json
from reviews.views.signed_in import SignedInRequest


def _draft_at(book_id: int, passage_id: int) -> str:
    return f"{reverse('reviews:draft-letter', args=[book_id])}#passage-{passage_id}"


def _led_on(request: SignedInRequest, book_id: int, passage_id: int) -> str:
    """Lead back to the table it was answered on, or to the spread in the letter."""
    return came_from(request) if request.POST.get("back") else _draft_at(book_id, passage_id)


@require_POST
def set_answer(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.SET_ANSWER)
    given = filled_in(AnswerForm(request.POST), "choose-an-answer")
    written = letters.set_answer(passage.pk, answer=given["answer"], picture_id=given["picture"], actor=seat)
    undo = reverse("reviews:drop-answer", args=[passage.pk])
    said = answer_in_a_sentence(written.answer, passage.stage.kind)
    messages.success(request, f"{passage.where}: {said}, in the letter.", extra_tags=undo)
    return redirect(_led_on(request, passage.book_id, passage.pk))


@require_POST
def drop_answer(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.DROP_ANSWER)
    letters.drop_answer(passage.pk, actor=seat)
    messages.success(request, f"{passage.where} is out of the letter. Its notes wait for another one.")
    return redirect(_led_on(request, passage.book_id, passage.pk))


@require_POST
def approve_waiting(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.SET_ANSWER)
    named = filled_in(NamedForm(request.POST), "choose-an-answer")["passage"]
    n_approved = letters.approve_waiting(book.pk, named=named, actor=seat)
    said = ngettext(
        "{n} spread is approved in the letter. Nothing is sent yet.",
        "{n} spreads are approved in the letter. Nothing is sent yet.",
        n_approved,
    )
    messages.success(request, said.format(n=n_approved))
    return redirect("reviews:draft-letter", book.pk)


def _answer(note_id: int, given: dict[str, Any], seat: Seat) -> str:
    """Answer a note as a whole, or for the spreads that are named; say for which."""
    response, words = given["response"], given["words"]
    if not given["by_spread"]:
        notes.answer_note(note_id, response=response, words=words, actor=seat)
        return ""
    meant = answer_on_spreads(note_id, response=response, words=words, spreads=given["spread"], actor=seat)
    return f" on {', '.join(row.label for row in meant)}"


@require_POST
def answer_note(request: SignedInRequest, note_id: int) -> HttpResponse:
    note, seat = get_note(request.user, note_id, deed=Deed.ANSWER_NOTE)
    kept = ""
    try:
        given = filled_in(ResponseForm(request.POST), "response-needs-words")
        there = _answer(note.pk, given, seat)
    except Refused as refused:
        if wants_json(request) or note.letter_id is None:
            raise
        # A letter may hold forty notes: the refusal names the one, and the page opens there.
        say_refused(request, f"Note {note.number}: {sentence_for(refused)}")
        kept = "?" + urlencode({"note": note.pk, "response": request.POST.get("response", "")})
    else:
        said = f"Note {note.number}: {response_words(given['response']).lower()}{there}."
        if wants_json(request):
            return done(request, said)
        messages.success(request, said)
    if request.POST.get("back"):
        return redirect(came_from(request))
    return redirect(f"{reverse('reviews:letter', args=[note.letter_id])}{kept}#note-{note.pk}")
