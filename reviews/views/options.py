"""The options of an idea on one board."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from reviews.pages import review_table
from reviews.pages.option_board import board_of
from reviews.pages.table_answer import answer_here
from reviews.queries.access import NotThere, get_passage
from reviews.queries.votes import open_vote_on
from reviews.rules import permits
from reviews.rules.states import Role, StageKind
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def options(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, thing="votes")
    seen = review_table.hand_ins_seen(passage, seat)
    if passage.stage.kind != StageKind.IDEAS:
        raise NotThere
    shown = seen[-1] if seen else None
    table = review_table.table_data(passage, shown, seat)
    trail = crumbs(passage.book, (passage.where, reverse("reviews:passage", args=[passage.pk])), (_("Options"), ""))
    context = {
        "row": passage,
        "seat": seat,
        "table_data": table,
        "board": board_of(table["pictures"], seat, by=request.GET.get("by", "")),
        "answer": answer_here(passage, shown, seat, table=table, agreement=None),
        "vote": open_vote_on(passage.pk),
        "crumbs": trail if permits.sees(Role(seat.role), "book") else trail[1:],
    }
    return render(request, "reviews/options/board.html", context)
