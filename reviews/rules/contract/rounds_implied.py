"""Count rounds: how often changes were asked for, against what the fee includes.

A pure fold over the ledger, so that two people who recount from the same entries get the same
figures. One letter that asks for changes on a passage is one round on it, however many notes it
carries. Asking for changes to something that was approved once is outside the fee and counted apart, however often.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

from reviews.rules.entries import Entry
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.money_payloads import TakeBackLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Answer, Cause, Deed, Role


@dataclass(frozen=True)
class Allowance:
    """Rounds in the fee for the passages that share ``pool`` (one stage, or a group of stages, of one spread)."""

    pool: str
    included: int


@dataclass(frozen=True, kw_only=True)
class RoundCount:
    """Rounds of one passage; ``left`` and ``over`` are those of its pool.

    ``entries`` are the sequence numbers of the ledger lines that made the figures, ``pool`` names what is shared.
    """

    used: int
    pool_used: int
    included: int
    outside: int
    entries: tuple[int, ...] = ()
    pool: str = field(default="", compare=False)

    @property
    def left(self) -> int:
        return max(0, self.included - self.pool_used)

    @property
    def over(self) -> int:
        return max(0, self.pool_used - self.included)


@dataclass
class _Tally:
    used: int = 0
    outside: int = 0
    reopened: bool = False
    entries: list[int] = field(default_factory=list)


def is_counted(causes: Collection[str], *, brief_counts: bool = True) -> bool:
    """Say whether an answer that asks for changes, with notes of these causes, is a round at all.

    A letter that asks for changes on a passage is one round on it, inside the fee or outside. A question is no
    change: a letter of nothing else is no round, nor, where the terms say so, one in which every change only asks
    for the agreed brief to be met; a file that cannot be printed as it is, is held to what was agreed likewise. The
    printer's error is no change of the illustrator's, and praise is none at all. An answer whose causes were never
    noted counts.
    """
    if not causes:
        return True
    changes = set(causes) - {Cause.QUESTION, Cause.PRINTER, Cause.PRAISE}
    if changes <= {Cause.BRIEF, Cause.PRODUCTION}:
        return bool(changes) and brief_counts
    return True


def count_rounds(
    entries: Iterable[Entry], allowances: Mapping[int, Allowance], *, brief_counts: bool = True
) -> dict[int, RoundCount]:
    """Count for every passage in ``allowances`` the rounds used, shared and outside the fee."""
    tallies: dict[int, _Tally] = {passage: _Tally() for passage in allowances}
    told = list(entries)
    back = {payload_of(entry, TakeBackLetterData)["letter"] for entry in told if entry.deed == Deed.TAKE_BACK_LETTER}
    for entry in told:
        if entry.deed != Deed.SEND_LETTER or payload_of(entry, SendLetterData)["letter"] in back:
            continue
        for answer in payload_of(entry, SendLetterData)["answers"]:
            tally = tallies.get(answer["passage"])
            if tally is None or answer["answer"] != Answer.ASK:
                continue
            tally.entries.append(entry.seq)
            tally.reopened = tally.reopened or bool(answer.get("reopened"))
            if answer.get("handed_in_by", Role.ILLUSTRATOR) != Role.ILLUSTRATOR:
                continue  # what the printer made: it goes back there, and is no round of the illustrator's
            if not is_counted(answer.get("causes") or (), brief_counts=brief_counts):
                continue
            if tally.reopened:
                tally.outside += 1
            else:
                tally.used += 1
    pools: dict[str, int] = {}
    for passage, allowance in allowances.items():
        pools[allowance.pool] = pools.get(allowance.pool, 0) + tallies[passage].used
    return {
        passage: RoundCount(
            used=tallies[passage].used,
            pool_used=pools[allowance.pool],
            included=allowance.included,
            outside=tallies[passage].outside,
            entries=tuple(tallies[passage].entries),
            pool=allowance.pool,
        )
        for passage, allowance in allowances.items()
    }
