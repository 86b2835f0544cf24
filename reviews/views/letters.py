"""The letter: written, looked at, sent, read."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from reviews import storage
from reviews.actions import letters
from reviews.forms.answers import RefusedAnswerForm
from reviews.forms.filled import filled_in
from reviews.forms.letters import LookedForm, OpenedForm, SendForm, WeighForm, WordsForm
from reviews.models import Book, Letter, Seat
from reviews.pages.letter_draft import draft_page
from reviews.pages.letter_pages import RESPONSES, LetterPage, letter_page, letters_of
from reviews.pages.news import book_news_url
from reviews.pages.sending import sending_page
from reviews.pages.wording.letters import weighed_words
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import get_book, get_letter, get_note
from reviews.queries.letters import draft_letter as find_draft
from reviews.queries.store_turns import store_turn
from reviews.queries.taking_back import why_not_back
from reviews.queries.trouble import PAPER, letter_troubles, troubles
from reviews.rules import permits
from reviews.rules.states import Deed, Refused, Role
from reviews.views.responses import say_refused, wants_json
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


def _letters_url(book: Book) -> str:
    return reverse("reviews:letters", args=[book.pk])


@require_GET
def all_letters(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="letters")
    may_draft = permits.sees(Role(seat.role), "draft-letter")
    context = {
        "book": book,
        "seat": seat,
        "letters": letters_of(book),
        "draft": find_draft(book) if may_draft else None,
        "may_draft": may_draft,
        "crumbs": crumbs(book, ("Letters", "")),
    }
    return render(request, "reviews/letters/letters.html", context)


@require_GET
def draft_letter(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="draft-letter", with_seats=True)
    asked = OpenedForm(request.GET)
    context = {
        "book": book,
        "draft": draft_page(book),
        "opened": asked.cleaned_data["open"] if asked.is_valid() else None,
        "may_write": permits.may(Role(seat.role), Deed.SET_ANSWER),
        "news_url": book_news_url(book.pk, "draft-letter"),
        "caution": True,
        "crumbs": crumbs(book, ("Letters", _letters_url(book)), ("The letter being written", "")),
    }
    return render(request, "reviews/letters/draft.html", context)


@require_POST
def word_letter(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.WORD_LETTER)
    given = filled_in(WordsForm(request.POST), "words-too-long")
    letters.word_letter(book.pk, given["words"], seen=given["seen"], actor=seat)
    messages.success(request, "The opening lines are saved.")
    return redirect("reviews:draft-letter", book.pk)


@require_POST
def weigh_note(request: SignedInRequest, note_id: int) -> HttpResponse:
    note, seat = get_note(request.user, note_id, deed=Deed.WEIGH_NOTE)
    given = filled_in(WeighForm(request.POST), "weigh-how")
    words, others, seen = given["letter_words"], given["others"], given["seen"]
    if others:
        letters.settle_overlap(note.pk, others=others, letter_words=words, seen=seen, actor=seat)
        messages.success(request, "Your decision between these notes is kept.")
    else:
        letters.weigh_note(note.pk, weighing=given["weighing"], letter_words=words, seen=seen, actor=seat)
        messages.success(request, weighed_words(note.passage, given["weighing"]))
    draft_url = reverse("reviews:draft-letter", args=[note.passage.book_id])
    return redirect(f"{draft_url}?open={note.passage_id}#weigh-{note.pk}")


@require_http_methods(["GET", "HEAD", "POST"])
def send_letter(request: SignedInRequest, letter_id: int) -> HttpResponse:
    """GET: the letter as it would go. POST: send what was read; where it changed since, show what changed."""
    letter, seat = get_letter(request.user, letter_id, deed=Deed.SEND_LETTER)
    looked = None
    if request.method == "POST":
        given = filled_in(SendForm(request.POST), "letter-changed")
        try:
            letters.send_letter(letter.pk, **given, actor=seat)
        except Refused as refused:
            if refused.code != "letter-changed" or wants_json(request):
                raise
            say_refused(request, sentence_for(refused))
            looked = LookedForm(request.POST).looked
        else:
            messages.success(request, "The letter is sent. Everybody it concerns is being told.")
    if looked is None and (request.method == "POST" or letter.sent_at):
        return redirect("reviews:letter", letter.pk)
    return _before_sending(request, letter, seat, looked)


def _before_sending(
    request: SignedInRequest, letter: Letter, seat: Seat, looked: dict[str, Any] | None
) -> HttpResponse:
    book = letter.book
    draft_url = reverse("reviews:draft-letter", args=[book.pk])
    context = {
        "book": book,
        "sending": sending_page(letter, seat, at=timezone.now(), looked=looked),
        "crumbs": crumbs(book, ("The letter being written", draft_url), ("Read it before it goes", "")),
    }
    return render(request, "reviews/letters/send.html", context, status=200 if looked is None else 409)


def _refused_answer(request: HttpRequest) -> tuple[int, str] | None:
    """Read back from the address which answer was refused for want of words, so that the choice is not lost."""
    asked = RefusedAnswerForm(request.GET)
    return (asked.cleaned_data["note"], asked.cleaned_data["response"]) if asked.is_valid() else None


def _may_take_back(page: LetterPage, seat: Seat) -> bool:
    if page.letter.taken_back_at is not None or page.entry is None:
        return False
    return permits.may(Role(seat.role), Deed.TAKE_BACK_LETTER) and why_not_back(page.entry, timezone.now()) is None


@require_GET
def letter(request: SignedInRequest, letter_id: int) -> HttpResponse:
    letter, seat = get_letter(request.user, letter_id)
    if letter.sent_at is None:
        return redirect("reviews:draft-letter", letter.book_id)
    title, page = f"Letter {letter.number}", letter_page(letter, Role(seat.role), refused=_refused_answer(request))
    context = {
        "book": letter.book,
        "page": page,
        "troubles": letter_troubles(letter),
        "may_answer": permits.may(Role(seat.role), Deed.ANSWER_NOTE),
        "answers_proofs": seat.role != Role.ILLUSTRATOR,
        "may_reply": permits.may(Role(seat.role), Deed.REPLY),
        "responses": RESPONSES,
        "may_take_back": _may_take_back(page, seat),
        "crumbs": crumbs(letter.book, ("Letters", _letters_url(letter.book)), (title, "")),
    }
    return render(request, "reviews/letters/letter.html", context)


@require_GET
def letter_paper(request: SignedInRequest, letter_id: int) -> HttpResponse | FileResponse:
    """Serve the letter's PDF; while it is being made, say so."""
    letter, _ = get_letter(request.user, letter_id)
    if not letter.paper:
        trouble = troubles(PAPER, [letter.pk]).get(letter.pk)
        context = {"letter": letter, "trouble": trouble, "crumbs": crumbs(letter.book, ("Being made", ""))}
        is_given_up = trouble is not None and trouble.is_given_up
        return render(request, "reviews/letters/paper_waits.html", context, status=503 if is_given_up else 202)
    name = f"{letter.book.title}, letter {letter.number}.pdf"
    with store_turn():
        stored = storage.fetch_stored(letter.paper)
    return FileResponse(stored, filename=name, content_type="application/pdf")
