"""The ledger as the rules see it: what happened, in order.

Keys of ``data`` that rules read (ids are database ids, days are ISO dates):

Wherever ``opens`` stands, ``dues`` stands beside it: {passage id as text: its hand-in date}.

make-book       start_on; spreads: [{spread, position, pages: [first, last]}];
                passages: [{passage, spread, stage, gate, position, due_on}]; opens: [passage, …]
change-book     changed: {"title" | "publisher" | "final_on": {from, to}}, reason
lay-out         the same keys as make-book, for the spreads that were redrawn; closes: [passage, …]
change-plan     stages: {stage: {gate, rounds, group, hand_in_days, answer_days, two_voices}};
                passages: [{passage, spread, stage, gate, position, due_on}] for stages that came;
                closes: [passage, …] for stages that went; opens: [passage, …]
move-due-date   from, to, reason, which: "hand-in" | "answer"
hand-in         number, pictures: [{picture, sha256}], to: passage state, answer_due_on, opens: [passage, …]
withdraw-hand-in  number, to: passage state
send-letter     letter, answers: [{passage, hand_in, answer, causes: [cause, …], reopened: bool,
                picture, sha256, waits_for_second: bool, to: passage state, opens: [passage, …],
                due_on}], notes: [note, …], held: [note, …]    (entry.passage is None)
agree-approval  hand_in, completes: bool, and when it completes: picture, sha256, to, opens
object-to-approval  hand_in, words, to
answer-note, place-note    note, number, of_letter: the number of its letter (older entries lack it)
announce-silence    hand_in, number, silent_on: the day with whose end silence counts as approval
approve-by-silence  hand_in, number, silent_on, picture, sha256, to, opens
ask-consent         words, number: which round it would be, included: rounds in the fee, price: in words
change-terms        version, from_on, words, terms: as ``terms_text`` writes them
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True)
class Entry:
    """One line of a book's ledger.

    ``seq`` is its place in the chain; what a reader calls it is in ``line_names``.

    ``at`` is an aware UTC moment, ``role`` and ``by`` say who (role ``machine`` for the portal
    itself), ``passage`` is None where a deed concerns the book or several passages.
    """

    seq: int
    at: datetime
    deed: str
    role: str
    by: str
    passage: int | None
    data: Mapping[str, Any]
