"""Rounds paid by the hour, and the answers on which their hours are told."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from reviews.models import LedgerEntry, LetterAnswer
from reviews.rules.contract.extras import ExtraRound
from reviews.rules.contract.fees import PricedBy


@dataclass(frozen=True)
class HourlyRound:
    """One round by the hour whose hours are not agreed yet, and the answer on which they are told."""

    answer: LetterAnswer
    extra: ExtraRound


def hourly_rounds(book_id: int, extras: Iterable[ExtraRound]) -> list[HourlyRound]:
    """List the rounds by the hour that wait for hours or for a word on them (no query where there are none, else 2)."""
    found = [
        extra for extra in extras
        if extra.price is not None and extra.price.by == PricedBy.HOUR and extra.money is None
    ]  # fmt: skip
    if not found:
        return []
    seqs = {extra.round.seq for extra in found}
    sent = LedgerEntry.objects.filter(book=book_id, seq__in=seqs).values_list("seq", "data__letter")
    letters: dict[int, int] = {seq: int(letter) for seq, letter in sent}
    joined = ("letter", "passage__book", "passage__spread", "passage__stage")
    rows = LetterAnswer.objects.select_related(*joined).filter(letter__in=letters.values())
    answers = {(row.letter_id, row.passage_id): row for row in rows}
    pairs = ((answers.get((letters.get(extra.round.seq, 0), extra.round.passage)), extra) for extra in found)
    return [HourlyRound(answer, extra) for answer, extra in pairs if answer is not None]
