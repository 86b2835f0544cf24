"""Whether a letter was answered since it went: only one that was not can be taken back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from reviews.models import LedgerEntry, Letter, Passage
from reviews.queries.reckoning import reckon_one
from reviews.rules.letter_payloads import LetterAnswerData, SendLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed, Refused

#: What may come about a passage after a letter without answering it: the publisher's own unsent work, pictures that lie
#: in the illustrator's draft, and what the portal does by itself.
_NO_ANSWER = frozenset(
    {
        Deed.PIN_NOTE, Deed.EDIT_NOTE, Deed.WITHDRAW_NOTE, Deed.RESTORE_NOTE, Deed.WEIGH_NOTE, Deed.SET_ANSWER,
        Deed.DROP_ANSWER, Deed.WORD_LETTER, Deed.MARK_OPTION, Deed.UNMARK_OPTION, Deed.LOOK_OVER, Deed.ADD_PICTURE,
        Deed.REMOVE_PICTURE, Deed.ORDER_PICTURES, Deed.WORD_HAND_IN, Deed.READ_PICTURE, Deed.MAKE_DERIVED,
        Deed.DERIVE_PICTURE, Deed.CHOOSE_DERIVED, Deed.TRY_AGAIN,
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


def why_not_back(sent: LedgerEntry, now: datetime) -> Refused | None:
    """Say why a letter cannot be taken back any more, or nothing (1 query, 2 if answered, 5 if invoiced since).

    It was answered where anything came that both sides go by about a passage of it, and where what it made due was
    invoiced. A pause agreed since moved the dates that it gave.
    """
    passages = set(touched_by(payload_of(sent, SendLetterData)["answers"]))
    later = LedgerEntry.objects.filter(book=sent.book_id, seq__gt=sent.seq).exclude(deed__in=_NO_ANSWER)
    is_invoiced = False
    for deed, passage_id, data in later.order_by("seq").values_list("deed", "passage", "data"):
        if deed == Deed.AGREE_PAUSE:
            return Refused("letter-paused")
        if found := ({passage_id} | _named_in(data)) & passages:
            return Refused("letter-answered", where=Passage.objects.with_places().get(pk=min(found)).where)
        is_invoiced = is_invoiced or deed == Deed.INVOICE
    number = _invoiced_since(sent, now) if is_invoiced else None
    return None if number is None else Refused("letter-invoiced", number=number)


def _invoiced_since(sent: LedgerEntry, now: datetime) -> str | None:
    """Name an invoice for what a letter made due: an instalment, or its changes."""
    money = reckon_one(sent.book, now).statement.money
    due = {part.name for part in money.met if sent.seq in part.entries}
    due |= {""} if any(extra.round.seq == sent.seq for extra in money.extras) else set()
    return next((bill.number for bill in money.bills if bill.entries[0] > sent.seq and bill.name in due), None)


def _named_in(data: Mapping[str, Any]) -> set[int]:
    """Name the passages that an entry tells of."""
    found = {*data.get("opens", ()), *data.get("closes", ())}
    found |= {passage for one in (*data.get("dropped", ()), *data.get("back", ())) for passage in one["passages"]}
    for listed in ("late_moves", "restated", "fixes", "frees", "passages"):
        found |= {one["passage"] for one in data.get(listed, ()) if isinstance(one, dict)}
    return found | set(touched_by(data.get("answers", ())))
