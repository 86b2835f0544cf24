"""Votes among options: opened, given, closed, decided, and on paper."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import votes as deeds
from reviews.forms.filled import filled_in
from reviews.forms.votes import DecideForm, OpenVoteForm, ranks_given
from reviews.models import Passage, Seat
from reviews.notices.vote_paper import small_of, vote_pdf
from reviews.pages.votes import deciders_on, vote_line, vote_page
from reviews.pages.wording.votes import PAIR_WORDS
from reviews.queries.access import get_passage, get_vote
from reviews.queries.store_turns import store_turn
from reviews.queries.votes import options_of, votes_on
from reviews.rules import permits
from reviews.rules.states import Deed, PassageState, Refused, Role, StageKind
from reviews.views.responses import done
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def votes(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, thing="votes")
    found = votes_on(passage)
    context = {
        "row": passage,
        "seat": seat,
        "votes": [(vote, vote_line(vote)) for vote in found],
        "form": _form(passage, seat, is_open=any(vote.closed_at is None for vote in found)),
        "n_options": options_of(passage.hand_in).count() if passage.hand_in else 0,
        "crumbs": _crumbs(passage, seat, _("Votes")),
    }
    return render(request, "reviews/votes/votes.html", context)


def _form(passage: Passage, seat: Seat, *, is_open: bool) -> OpenVoteForm | None:
    may = permits.may(Role(seat.role), Deed.OPEN_VOTE, PassageState(passage.state))
    if is_open or not may or passage.stage.kind != StageKind.IDEAS:
        return None
    return OpenVoteForm(deciders=deciders_on(passage), initial={"decider": seat.pk})


@require_POST
def open_vote(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.OPEN_VOTE)
    given = filled_in(OpenVoteForm(request.POST, deciders=deciders_on(passage)), "vote-unreadable")
    vote = deeds.open_vote(
        passage.pk, words=given["words"], until=given["until"], decider_id=given["decider"], actor=seat
    )
    return redirect("reviews:vote", vote.pk)


@require_GET
def vote(request: SignedInRequest, vote_id: int) -> HttpResponse:
    found, seat = get_vote(request.user, vote_id)
    context = {
        "page": vote_page(found, seat),
        "row": found.passage,
        "seat": seat,
        "is_guest": seat.role == Role.GUEST,
        "pair_words": PAIR_WORDS,
        "may_invite": permits.may(Role(seat.role), Deed.INVITE),
        "crumbs": _crumbs(found.passage, seat, _("Vote")),
    }
    return render(request, "reviews/votes/vote.html", context)


@require_POST
def cast_ballot(request: SignedInRequest, vote_id: int) -> HttpResponse:
    found, seat = get_vote(request.user, vote_id, deed=Deed.CAST_BALLOT)
    deeds.cast_ballot(found.pk, ranks_given(request.POST, found.options), actor=seat)
    return done(request, _("Your ballot is kept. You can change it until the vote is closed."))


@require_POST
def close_vote(request: SignedInRequest, vote_id: int) -> HttpResponse:
    found, seat = get_vote(request.user, vote_id, deed=Deed.CLOSE_VOTE)
    deeds.close_vote(found.pk, actor=seat)
    return done(request, _("The vote is closed."))


@require_POST
def decide_vote(request: SignedInRequest, vote_id: int) -> HttpResponse:
    found, seat = get_vote(request.user, vote_id, deed=Deed.DECIDE_VOTE)
    given = filled_in(DecideForm(request.POST), "vote-unreadable")
    deeds.decide_vote(found.pk, picture_id=given["picture"], reasons=given["reasons"], actor=seat)
    if found.hand_in_id == found.passage.hand_in_id and found.passage.state == PassageState.ANSWERING:
        return done(request, _("The decision is kept. The letter tells the illustrator: approve the option there."))
    return done(request, _("The decision is kept. These options are not waiting for an answer now, and it sends none."))


@require_GET
def vote_paper(request: SignedInRequest, vote_id: int) -> HttpResponse:
    found, seat = get_vote(request.user, vote_id, thing="vote-results")
    if found.closed_at is None:
        raise Refused("vote-still-open")
    with store_turn():
        pdf = vote_pdf(vote_page(found, seat), small_of(found))
    response = HttpResponse(pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = 'inline; filename="vote.pdf"'
    return response


def _crumbs(passage: Passage, seat: Seat, last: str) -> list[dict[str, str]]:
    trail = crumbs(passage.book, (passage.where, reverse("reviews:passage", args=[passage.pk])), (last, ""))
    # A guest has no page of the book.
    return trail if permits.sees(Role(seat.role), "book") else trail[1:]
