"""What one letter asked for beyond the rounds in the fee, and what the next one would."""

from __future__ import annotations

from django.utils.translation import gettext as _

from reviews.models import LedgerEntry
from reviews.pages.wording.names import standing_words
from reviews.queries.reckoning import Reckoning, reckon_one
from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.statement import PassageLine
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed, Gate

_BEYOND = frozenset({RoundStanding.OVER, RoundStanding.OUTSIDE})


def warned_of_fee(entry: LedgerEntry) -> str:
    """Warn, when something is handed in, that no round is left in the fee to ask for changes with (3 or 4 queries).

    Nothing where a round is left, or nobody answers the stage.
    """
    if entry.deed != Deed.HAND_IN or entry.passage_id is None:
        return ""
    reckoned = reckon_one(entry.book, entry.at)
    line = next((line for line in reckoned.statement.lines if line.passage == entry.passage_id), None)
    if line is None or reckoned.story.passages[line.passage].gate != Gate.ANSWERS:
        return ""
    if line.rounds.left or _used_since(entry, line, reckoned):
        return ""
    n = line.rounds.included
    used = {
        0: _("The fee includes no rounds of changes: asking for changes now is an extra round."),
        1: _("The one round of changes in the fee is used: asking for changes now is an extra round."),
        2: _("Both rounds of changes in the fee are used: asking for changes now is an extra round."),
    }
    more = _("All {n} rounds of changes in the fee are used: asking for changes now is an extra round.")
    return used.get(n, more).format(n=n)


def _used_since(entry: LedgerEntry, line: PassageLine, reckoned: Reckoning) -> bool:
    """Say whether a round of the fee was used later on the entry's own day, so that it was left at its moment."""
    key = reckoned.group_of(line)
    sharing = {other.passage for other in reckoned.statement.every_line if reckoned.group_of(other) == key}
    return any(
        one.seq > entry.seq and one.standing == RoundStanding.IN_FEE and one.passage in sharing
        for one in reckoned.statement.rounds.rounds
    )


def asks_beyond_fee(entry: LedgerEntry) -> list[str]:
    """Tell each passage of a sent letter that went beyond the fee, by the terms of the day it went (3 or 4 queries)."""
    reckoned = reckon_one(entry.book, entry.at)
    where = {answer["passage"]: answer["where"] for answer in payload_of(entry, SendLetterData)["answers"]}
    return [
        f"{where[one.passage]}: {standing_words(one.standing)}"
        for one in reckoned.statement.rounds.rounds
        if one.seq == entry.seq and one.standing in _BEYOND and one.passage in where
    ]
