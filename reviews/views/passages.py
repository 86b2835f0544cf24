"""The review table: one passage, its pictures, its letter."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from reviews.actions.opened import table_opened
from reviews.models import HandIn, Passage, Picture, Seat
from reviews.pages import review_table
from reviews.pages.briefs import on_table
from reviews.pages.changes import changes_seen
from reviews.pages.guides import GUIDE_KINDS
from reviews.pages.letter_pages import RESPONSES
from reviews.pages.news import table_news_url
from reviews.pages.on_page import on_pages
from reviews.pages.plates import plates_shown
from reviews.pages.proposals import date_forms, proposals_on
from reviews.pages.stoppers import before_print
from reviews.pages.table_answer import answer_here, leaves
from reviews.pages.table_shapes import TableData
from reviews.pages.wording.plates import PLATE_WORDS
from reviews.queries.access import get_passage
from reviews.queries.bound import is_changed_among
from reviews.queries.briefs import briefs_concerning
from reviews.queries.reading import asked_of
from reviews.queries.soft_proofs import PRINTED_STAGES
from reviews.queries.stoppers import ProofArt, art_of_proof
from reviews.queries.votes import open_vote_on
from reviews.rules import permits
from reviews.rules.hands import hands_in
from reviews.rules.states import ADVISERS, READERS, Deed, PassageState, Role, StageKind
from reviews.views.responses import wants_json
from reviews.views.sessions import is_by_itself
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def passage(request: SignedInRequest, passage_id: int) -> HttpResponse:
    opened_at = timezone.now()
    passage, seat = get_passage(request.user, passage_id)
    seen = review_table.hand_ins_seen(passage, seat)
    shown = _opened(request, seen, seat)
    versions = briefs_concerning(passage)
    pictures = review_table.pictures_in(passage, shown, seat)
    table = review_table.table_data(passage, shown, seat, briefs=versions, pictures=pictures)
    around = review_table.rows_around(passage, whole_book=True)
    art = art_of_proof(passage, review_table.of_spread(passage, around))
    is_held = art.is_held or is_changed_among(passage, around)
    context = {
        **_answering(passage, shown, seat, table, around),
        "passage": review_table.passage_words(passage, seat=seat, around=around, is_held=is_held),
        "table_data": table,
        **_hand_ins(passage, seen, shown, opened_at),
        **_for_print(pictures, passage, seat, around, art),
        "seat": seat,
        "row": passage,
        "brief": on_table(passage, shown, seat, versions=versions),
        **_may_be_done(passage, shown, seat, table),
        **_dated(passage, seat),
        "crumbs": _crumbs(passage, seat),
    }
    return render(request, "reviews/passages/table.html", context)


def _may_be_done(passage: Passage, shown: HandIn | None, seat: Seat, table: TableData) -> dict[str, Any]:
    return {"deeds": _deeds(passage, seat, table), "may": _rights(passage, shown, seat)}


def _dated(passage: Passage, seat: Seat) -> dict[str, Any]:
    proposed = proposals_on(passage, seat, at=timezone.now()) if permits.sees(Role(seat.role), "account") else []
    return {"proposed": proposed, "dates": date_forms(passage, seat, proposed, at=timezone.now())}


def _for_print(
    pictures: list[Picture], passage: Passage, seat: Seat, around: list[Passage], art: ProofArt
) -> dict[str, Any]:
    row = review_table.of_spread(passage, around)
    if not permits.sees(Role(seat.role), "geometry"):
        return {"guide_kinds": GUIDE_KINDS}
    return {
        "guide_kinds": GUIDE_KINDS,
        "is_proof_stage": passage.stage.kind == StageKind.PROOF,
        "is_printed_stage": passage.stage.kind in PRINTED_STAGES,
        "proofs_url": reverse("reviews:soft-proof", args=[0]).replace("0", "_"),
        "on_page": on_pages(pictures, passage),
        "before": before_print(passage, seat, art),
        "plates": plates_shown(pictures, passage, seat, row),
        "plate_words": PLATE_WORDS,
    }


def _answering(
    passage: Passage, shown: HandIn | None, seat: Seat, table: TableData, around: list[Passage]
) -> dict[str, Any]:
    """Say what the second voice said, what may be answered here, and where to turn next."""
    agreement = review_table.agreement_on(shown, seat) if passage.stage.two_voices else None
    answer = answer_here(passage, shown, seat, table=table, agreement=agreement)
    role = Role(seat.role)
    sides = {
        "is_guest": role == Role.GUEST,
        "is_hidden": review_table.is_hidden_from(passage, seat),
        "is_sales": role == Role.SALES,
        "advises": role in ADVISERS,
        "responses": RESPONSES,
        "asked": asked_of(seat, passage.spread_id) if role in READERS else None,
        "shows_cover_note": permits.sees(role, "cover-notes"),
    }
    return {"agreement": agreement, "answer": answer, "leaves": leaves(passage, seat, around), **sides}


@require_GET
def changes(request: SignedInRequest, passage_id: int) -> HttpResponse:
    """Tell what changed: JSON for the table's script, a page to read for people."""
    passage, seat = get_passage(request.user, passage_id, thing="comparisons")
    shown = _chosen(review_table.hand_ins_seen(passage, seat), request.GET.get("hand_in"))
    seen = changes_seen(passage, shown, seat)
    if wants_json(request):
        return JsonResponse(dict(seen))
    context = {**seen, "row": passage, "hand_in": shown, "seat": seat, "crumbs": _crumbs(passage, seat)}
    return render(request, "reviews/passages/changes.html", context)


def _opened(request: SignedInRequest, seen: list[HandIn], seat: Seat) -> HandIn | None:
    """Choose what lies on the table, and remember that it lay open there, unless the page asks by itself for its notes.

    What was handed in since is then read by a script, for a table on which nothing lay or whose version was taken back.
    """
    shown = _chosen(seen, request.GET.get("hand_in"))
    if not is_by_itself(request):
        table_opened(shown, actor=seat)
    return shown


def _chosen(seen: list[HandIn], asked: str | None) -> HandIn | None:
    for hand_in in seen:
        if asked == str(hand_in.number):
            return hand_in
    return seen[-1] if seen else None


def _hand_ins(passage: Passage, seen: list[HandIn], shown: HandIn | None, opened_at: datetime) -> dict[str, Any]:
    links = [_hand_in_link(passage, hand_in, shown) for hand_in in seen]
    return {
        "hand_in": shown,
        "hand_ins": links,
        "here_url": next((link["url"] for link in links if link["is_current"]), ""),
        "news_url": table_news_url(passage, newest=seen[-1].number if seen else None, at=opened_at),
    }


def _hand_in_link(passage: Passage, hand_in: HandIn, shown: HandIn | None) -> dict[str, Any]:
    url = reverse("reviews:passage", args=[passage.pk])
    return {"number": hand_in.number, "url": f"{url}?hand_in={hand_in.number}", "is_current": hand_in == shown}


def _deeds(passage: Passage, seat: Seat, table: TableData) -> list[dict[str, str]]:
    """Offer the next step from here, in plain words."""
    role, state = Role(seat.role), PassageState(passage.state)
    deeds = []
    if sent := [note for note in table["notes"] if note["letter_number"] and note["letter_url"]]:
        asked = hands_in(role, StageKind(passage.stage.kind)) and any(not note["response"] for note in sent)
        label = f"{'Answer' if asked else 'Read'} letter {sent[-1]['letter_number']}"
        deeds.append({"label": label, "url": f"{sent[-1]['letter_url']}#passage-{passage.pk}", "icon": "letter"})
    if permits.may(role, Deed.ADD_PICTURE, state) and hands_in(role, StageKind(passage.stage.kind)):
        first = "Hand in pictures" if passage.hand_in_id is None else "Hand in the next version"
        url = reverse("reviews:draft-hand-in", args=[passage.pk])
        deeds.append({"label": first, "url": url, "kind": "main", "icon": "hand-in"})
    if passage.stage.kind == StageKind.IDEAS and permits.sees(role, "votes") and len(table["pictures"]) > 1:
        deeds += _choosing(passage, role)
    if passage.pending_id and permits.may(role, Deed.AGREE):
        url = reverse("reviews:passage", args=[passage.pk])
        deeds.append({"label": "Agree or object", "url": f"{url}#second-voice", "kind": "main", "icon": "done"})
    if role == Role.ART_DIRECTOR and state in (PassageState.ANSWERING, PassageState.APPROVED):
        url = f"{reverse('reviews:draft-letter', args=[passage.book_id])}?open={passage.pk}#passage-{passage.pk}"
        deeds.append({"label": "Go to the letter", "url": url, "icon": "letter"})
    return deeds


def _choosing(passage: Passage, role: Role) -> list[dict[str, str]]:
    """Lead to the board of the options, from which votes are opened and read, and to the vote that is open."""
    board = {"label": _("Options"), "url": reverse("reviews:options", args=[passage.pk]), "icon": "map"}
    vote = open_vote_on(passage.pk)
    if vote is None:
        return [board]
    kind = {} if role == Role.ART_DIRECTOR else {"kind": "main"}
    url = reverse("reviews:vote", args=[vote.pk])
    return [board, {"label": _("Vote on the options"), "url": url, "icon": "vote", **kind}]


def _rights(passage: Passage, shown: HandIn | None, seat: Seat) -> dict[str, bool]:
    role, state = Role(seat.role), PassageState(passage.state)
    is_newest = shown is not None and shown.pk == passage.hand_in_id
    is_maker = hands_in(role, StageKind(passage.stage.kind))
    answering = is_newest and state == PassageState.ANSWERING
    return {
        "withdraw": answering and passage.pending_id is None and is_maker and permits.may(role, Deed.WITHDRAW_HAND_IN),
        "agree": answering and passage.stage.two_voices and permits.may(role, Deed.AGREE),
        "hand_in": permits.may(role, Deed.ADD_PICTURE, state) and is_maker,
        "look_over": answering and permits.may(role, Deed.LOOK_OVER, state),
        "reopen": state == PassageState.APPROVED and permits.may(role, Deed.PIN_NOTE, state),
    }


def _crumbs(passage: Passage, seat: Seat) -> list[dict[str, str]]:
    trail = crumbs(passage.book, (passage.where, ""))
    # A guest and an expert reader have no page of the book.
    return trail if permits.sees(Role(seat.role), "book") else trail[1:]
