"""The text on the pages: read by whoever reads the brief, placed by editor, art director and designer."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import text_blocks
from reviews.forms.filled import filled_in
from reviews.forms.text_blocks import BaseBlocks, TextBlocks, TextSeenForm, initial_of, new_block
from reviews.models import Seat, Spread
from reviews.pages.pieces import flat_for
from reviews.pages.text_blocks import faults_of, shown, text_page
from reviews.pages.wording.refusals import sentence_for
from reviews.press.flats import Flat, PanelKind
from reviews.press.text_text import blocks_from_text
from reviews.queries.briefs import get_spread_for_brief, newest_brief
from reviews.queries.faces import lines_of
from reviews.queries.text_blocks import newest_text
from reviews.rules.briefs import BriefPart
from reviews.rules.states import Deed, Refused
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def spread_text(request: SignedInRequest, spread_id: int) -> HttpResponse:
    spread, seat = get_spread_for_brief(request.user, spread_id)
    text = newest_text(spread)
    stand = [initial_of(block) for block in blocks_from_text(text.blocks)] if text else []
    return _shown(request, spread, seat, TextBlocks(prefix="block", initial=stand))


@require_POST
def set_text(request: SignedInRequest, spread_id: int) -> HttpResponse:
    spread, seat = get_spread_for_brief(request.user, spread_id, deed=Deed.SET_TEXT)
    blocks = TextBlocks(request.POST, prefix="block")
    try:
        seen = filled_in(TextSeenForm(request.POST), "text-unreadable")["seen"]
        if not blocks.is_valid():
            raise Refused("text-unreadable")
        kept = blocks.kept(_brief_text(spread))
        placed = text_blocks.set_text(spread.pk, kept, seen=seen, actor=seat)
    except Refused as refused:
        return _shown(request, spread, seat, blocks, refusal=refused, status=409)
    messages.success(request, _told(placed.version, is_change=placed.is_change))
    return redirect("reviews:spread-text", spread.pk)


@require_POST
def break_text(request: SignedInRequest, spread_id: int) -> HttpResponse:
    """Break what is being typed into lines, and say what is wrong with where it stands; nothing is kept."""
    spread, _seat = get_spread_for_brief(request.user, spread_id, deed=Deed.SET_TEXT)
    flat = _flat(spread)
    found = [(at, lines_of(block)) for at, block in TextBlocks(request.POST, prefix="block").readable("")]
    blocks = [{**shown(block), "at": at} for at, block in found]
    return JsonResponse({"blocks": blocks, "faults": faults_of(flat, [block for _at, block in found])})


def _told(version: int, *, is_change: bool) -> str:
    told = _("Version {n} of the text is saved. The illustrator is told.").format(n=version)
    if not is_change:
        return told
    return f"{told} {_('It came after an approved sketch, so both sides are told that it is a change of text.')}"


def _brief_text(spread: Spread) -> str:
    brief = newest_brief(spread.book, spread)
    return brief.parts.get(BriefPart.TEXT, "") if brief else ""


def _flat(spread: Spread) -> Flat:
    flat = flat_for(spread)
    if flat is None:
        raise Refused("text-on-cover")
    return flat


def _blank(blocks: BaseBlocks, flat: Flat) -> forms.Form:
    """Give the form of a new block, and begin those that are offered in the same way."""
    panel = next((one for one in flat.panels if one.kind == PanelKind.FRONT), flat.panels[0])
    inset = flat.safety_mm + 7
    corner = panel.left_mm + inset, flat.turn_in_mm + inset
    fresh = new_block(corner, (panel.width_mm / 2, flat.height_mm / 4))
    blank = blocks.empty_form
    for form in (blank, *(() if blocks.is_bound else blocks.extra_forms)):
        form.initial = fresh
    return blank


def _shown(
    request: SignedInRequest,
    spread: Spread,
    seat: Seat,
    blocks: BaseBlocks,
    *,
    refusal: Refused | None = None,
    status: int = 200,
) -> HttpResponse:
    flat = _flat(spread)
    typed = [lines_of(block) for _at, block in blocks.readable(_brief_text(spread))] if blocks.is_bound else None
    context = {
        "page": text_page(spread, flat, seat, placed=typed),
        "blocks": blocks,
        "blank": _blank(blocks, flat),
        "book": spread.book,
        "seat": seat,
        "crumbs": crumbs(spread.book, (_("Text: {spread}").format(spread=spread.label), "")),
        "refusal": sentence_for(refusal) if refusal else "",
    }
    return render(request, "reviews/text/text.html", context, status=status)
