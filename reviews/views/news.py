"""What a page that lies open asks again and again; where nothing is new the answer is empty (RFC 9110, 304)."""

from __future__ import annotations

import hashlib
import json
from datetime import datetime, timedelta

from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_GET

from reviews.actions.looking import looks_on
from reviews.pages import news
from reviews.queries.access import get_book, get_passage
from reviews.queries.news import looking_at
from reviews.views.signed_in import SignedInRequest

_LIES_OPEN = timedelta(days=30)  # a page that lies open for longer is told what came in that time


@require_GET
def passage_news(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id)
    looking = looking_at(passage, at=timezone.now())
    looks_on(passage, looking, actor=seat)
    known = request.GET.get("hand_in", "")
    number = int(known) if known.isascii() and known.isdigit() and len(known) < 6 else 0
    told = news.table_news(passage, seat, since=_since(request), known=number, looking=looking)
    return _if_new(request, told)


@require_GET
def book_news(request: SignedInRequest, book_id: int) -> HttpResponse:
    _book, seat = get_book(request.user, book_id)
    return _if_new(request, news.book_news(seat, since=_since(request), on=request.GET.get("on", "")))


def _since(request: HttpRequest) -> datetime:
    """Read when the page was opened; what is no moment is taken for now, and too long ago is cut short."""
    try:
        asked = parse_datetime(request.GET.get("since", ""))
    except ValueError:
        asked = None
    now = timezone.now()
    if asked is None or asked.tzinfo is None:
        return now
    # The first and the last of all days leave no room to reckon from.
    return min(max(asked, now - _LIES_OPEN), now)


def _if_new(request: HttpRequest, told: news.News) -> HttpResponse:
    body = json.dumps(told.as_data())
    tag = f'"{hashlib.sha256(body.encode()).hexdigest()[:32]}"'
    if request.headers.get("If-None-Match") == tag:
        answer: HttpResponse = HttpResponseNotModified()
    else:
        answer = HttpResponse(body, content_type="application/json")
    answer.headers["ETag"] = tag
    return answer
