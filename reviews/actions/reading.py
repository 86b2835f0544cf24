"""Asking an author or an expert reader about spreads, and stopping to ask."""

from __future__ import annotations

from collections.abc import Iterable

from reviews.actions._deed import Act, deed_on
from reviews.actions._outbox import owe_entry
from reviews.models import Book, ReadingAsk, Seat, Spread
from reviews.rules.seat_payloads import AskToReadData, StopAskingData
from reviews.rules.states import READERS, Deed, Refused, Role, Sight

MOST_WORDS = 600


def ask_to_read(book_id: int, seat_id: int, spread_ids: Iterable[int], words: str, *, actor: Seat) -> list[ReadingAsk]:
    """Ask somebody about spreads: they are written to, and an expert reader sees those spreads from now on.

    Spreads they are asked about already are not asked again; where that leaves none, it is refused.
    """
    with deed_on(Book, book_id, Deed.ASK_TO_READ, actor) as act:
        said = words.strip()
        if not said:
            raise Refused("ask-needs-words")
        if len(said) > MOST_WORDS:
            raise Refused("ask-too-long", n=MOST_WORDS)
        seat = _reader(seat_id, act)
        spreads = _spreads(spread_ids, seat, act)
        asks = [
            ReadingAsk.objects.create(book=act.book, seat=seat, spread=spread, words=said, asked_by=act.by, at=act.now)
            for spread in spreads
        ]
        act.holds(*asks)
        payload = AskToReadData(
            name=seat.person.name,
            role=seat.role,
            seat=seat.pk,
            spreads=[spread.pk for spread in spreads],
            labels=[spread.label for spread in spreads],
            words=said,
        )
        # Whom the publisher asks is the publisher's own affair; the one who is asked is told by name.
        entry = act.record(payload, sight=Sight.PUBLISHER)
        owe_entry(entry, seat.person)
    return asks


def stop_asking(ask_id: int, *, actor: Seat) -> ReadingAsk:
    """End an ask about one spread: an expert reader sees it no longer. What they wrote stays."""
    with deed_on(ReadingAsk, ask_id, Deed.STOP_ASKING, actor) as act:
        ask = ReadingAsk.objects.select_related("seat__person", "spread").get(pk=ask_id)
        if ask.ended_at is not None:
            raise Refused("ask-has-ended")
        ask.ended_at = act.now
        ask.save(update_fields=["ended_at"])
        act.holds(ask)
        payload = StopAskingData(
            name=ask.seat.person.name,
            role=ask.seat.role,
            seat=ask.seat_id,
            spread=ask.spread_id,
            label=ask.spread.label,
        )
        act.record(payload, sight=Sight.PUBLISHER)
    return ask


def _reader(seat_id: int, act: Act) -> Seat:
    seat = Seat.objects.select_related("person").filter(pk=seat_id, book=act.book, ended_at=None).first()
    if seat is None or Role(seat.role) not in READERS:
        raise Refused("nobody-to-ask")
    return seat


def _spreads(spread_ids: Iterable[int], seat: Seat, act: Act) -> list[Spread]:
    """Find the spreads that are to be asked about and are not yet."""
    wanted = set(spread_ids)
    rows = list(Spread.objects.filter(book=act.book, pk__in=wanted, removed_at=None).order_by("position"))
    if not wanted or len(rows) != len(wanted):
        raise Refused("ask-names-no-spread")
    asked = set(ReadingAsk.objects.filter(seat=seat, ended_at=None).values_list("spread_id", flat=True))
    new = [row for row in rows if row.pk not in asked]
    if not new:
        raise Refused("asked-already", name=seat.person.name)
    return new
