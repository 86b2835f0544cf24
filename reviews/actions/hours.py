"""Hours that a round by the hour took: told by the illustrator's side, counted once the publisher agrees."""

from __future__ import annotations

from decimal import Decimal

from reviews.actions._deed import Act, deed_on
from reviews.models import LedgerEntry, LetterAnswer, RoundHours, Seat
from reviews.queries.reckoning import reckon_one
from reviews.rules.contract.fees import PricedBy
from reviews.rules.money_payloads import HoursData
from reviews.rules.states import Deed, Refused

MOST_HOURS = Decimal(1000)


def tell_hours(answer_id: int, hours: Decimal, *, actor: Seat) -> RoundHours:
    """Tell how many hours the changes of one letter on one passage took; anew while they are not agreed to."""
    with deed_on(LetterAnswer, answer_id, Deed.TELL_HOURS, actor) as act:
        if not (hours.is_finite() and 0 < hours <= MOST_HOURS and hours == round(hours, 2)):
            raise Refused("bad-hours")
        answer, entry = _answer(answer_id, act)
        known = RoundHours.objects.filter(answer=answer).first()
        if known is not None and known.agreed_at is not None:
            raise Refused("hours-agreed")
        told, _ = RoundHours.objects.update_or_create(
            answer=answer, defaults={"hours": hours, "told_by": act.by, "told_at": act.now}
        )
        _record(told, entry, act)
    return told


def agree_hours(answer_id: int, hours: Decimal, *, actor: Seat) -> None:
    """Agree to the hours that were told; ``hours`` are those that were looked at, and no others are agreed to."""
    with deed_on(LetterAnswer, answer_id, Deed.AGREE_HOURS, actor) as act:
        answer, entry = _answer(answer_id, act)
        told = RoundHours.objects.filter(answer=answer).first()
        if told is None or told.hours != hours:
            raise Refused("hours-changed")
        if told.agreed_at is not None:
            raise Refused("hours-agreed")
        told.agreed_by, told.agreed_at = act.by, act.now
        told.save(update_fields=["agreed_by", "agreed_at"])
        _record(told, entry, act)


def _answer(answer_id: int, act: Act) -> tuple[LetterAnswer, LedgerEntry]:
    """Find an answer whose round is paid by the hour, and the entry that sent it."""
    answer = LetterAnswer.objects.select_related("letter", "passage__spread", "passage__stage", "passage__book").get(
        pk=answer_id
    )
    entry = LedgerEntry.objects.filter(book=act.book, deed=Deed.SEND_LETTER, data__letter=answer.letter_id).first()
    if entry is None or answer.letter.taken_back_at is not None:
        raise Refused("hours-not-priced")
    extras = reckon_one(act.book, act.now).statement.money.extras
    priced = any(
        extra.round.seq == entry.seq and extra.round.passage == answer.passage_id
        and extra.price is not None and extra.price.by == PricedBy.HOUR
        for extra in extras
    )  # fmt: skip
    if not priced:
        raise Refused("hours-not-priced")
    return answer, entry


def _record(told: RoundHours, entry: LedgerEntry, act: Act) -> None:
    answer = told.answer
    data = HoursData(
        where=answer.passage.where,
        round=entry.seq,
        letter=answer.letter.given_number,
        hours=f"{told.hours.normalize():f}",
    )
    act.holds(told)
    act.record(data, passage=answer.passage)
