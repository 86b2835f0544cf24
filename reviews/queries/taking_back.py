"""Whether a letter was answered since it went: only one that was not can be taken back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from reviews.models import LedgerEntry, Letter, Passage
from reviews.queries.reckoning import reckon_one
from reviews.rules.letter_payloads import LetterAnswerData, SendLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed

#: What may come about a passage after a letter without answering it: the publisher's own unsent work, pictures that lie
#: in the illustrator's draft, and what the portal does by itself.
_NO_ANSWER = frozenset(
    {
        Deed.PIN_NOTE, Deed.EDIT_NOTE, Deed.WITHDRAW_NOTE, Deed.RESTORE_NOTE, Deed.WEIGH_NOTE, Deed.SET_ANSWER,
        Deed.DROP_ANSWER, Deed.WORD_LETTER, Deed.MARK_OPTION, Deed.LOOK_OVER, Deed.ADD_PICTURE, Deed.REMOVE_PICTURE,
        Deed.ORDER_PICTURES, Deed.WORD_HAND_IN, Deed.READ_PICTURE, Deed.MAKE_DERIVED, Deed.DERIVE_PICTURE,
        Deed.CHOOSE_DERIVED, Deed.TRY_AGAIN,
    }
)  # fmt: skip


def entry_that_sent(letter: Letter) -> LedgerEntry:
    """Find the entry with which a letter went (1 query)."""
    return LedgerEntry.objects.get(book=letter.book_id, deed=Deed.SEND_LETTER, data__letter=letter.pk)


def touched_by(answers: Iterable[LetterAnswerData]) -> list[int]:
    """Name the passages that a letter answered, those that it opened, and those whose dates it moved by being late."""
    found: dict[int, None] = {}
    for answer in answers:
        late = [moved["passage"] for moved in answer.get("late_moves", ())]
        found |= dict.fromkeys((answer["passage"], *answer["opens"], *late))
    return list(found)


def moved_on_since(sent: LedgerEntry) -> Passage | None:
    """Find a passage of a letter about which anything came that both sides go by (1 query, 2 if there is one)."""
    passages = set(touched_by(payload_of(sent, SendLetterData)["answers"]))
    later = LedgerEntry.objects.filter(book=sent.book_id, seq__gt=sent.seq).exclude(deed__in=_NO_ANSWER)
    for passage_id, data in later.order_by("seq").values_list("passage", "data"):
        if found := ({passage_id} | _named_in(data)) & passages:
            return Passage.objects.with_places().get(pk=min(found))
    return None


def invoiced_since(sent: LedgerEntry, now: datetime) -> str | None:
    """Name an invoice for what a letter made due: an instalment, or its changes (1 query, 5 if any was told since)."""
    told = LedgerEntry.objects.filter(book=sent.book_id, seq__gt=sent.seq, deed=Deed.INVOICE)
    if not told.exists():
        return None
    money = reckon_one(sent.book, now).statement.money
    due = {part.name for part in money.met if sent.seq in part.entries}
    due |= {""} if any(extra.round.seq == sent.seq for extra in money.extras) else set()
    return next((bill.number for bill in money.bills if bill.entries[0] > sent.seq and bill.name in due), None)


def _named_in(data: Mapping[str, Any]) -> set[int]:
    """Name the passages that an entry tells of."""
    found = {*data.get("opens", ()), *data.get("closes", ())}
    for listed in ("late_moves", "restated", "passages"):
        found |= {one["passage"] for one in data.get(listed, ()) if isinstance(one, dict)}
    return found | set(touched_by(data.get("answers", ())))


def can_take_back(letter: Letter, now: datetime) -> bool:
    """Say whether a letter may still be taken back (at most 4 queries, 8 where an invoice was told since)."""
    if letter.taken_back_at is not None:
        return False
    sent = entry_that_sent(letter)
    return moved_on_since(sent) is None and invoiced_since(sent, now) is None
