"""What a change of a book's pages does to money: no amount of the terms moves, but what an instalment waits for may."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reviews.rules.contract.money import MoneyAccount
from reviews.rules.moving_payloads import InstalmentThen


@dataclass(frozen=True)
class PageEffects:
    """The instalments that wait for more or fewer spreads or fall due, and what stopping would leave, before and after.

    ``stopped`` is two amounts and their currency, or nothing where they are the same or the terms do not say.
    """

    instalments: tuple[InstalmentThen, ...]
    stopped: tuple[str, ...] = ()

    def as_text(self) -> dict[str, Any]:
        """Write it so that it can be kept beside a proposal."""
        return {"instalments": [dict(one) for one in self.instalments], "stopped": list(self.stopped)}


def effects_between(before: MoneyAccount, after: MoneyAccount) -> PageEffects:
    """Hold the account with the change against the one without."""
    found = []
    for was, now in zip(before.instalments, after.instalments, strict=True):
        falls_due = was.met_on is None and now.met_on is not None
        if falls_due or (was.met_on is None and was.n_needed != now.n_needed):
            found.append(
                InstalmentThen(name=was.name, needed_before=was.n_needed, needed=now.n_needed, falls_due=falls_due)
            )
    one, two = before.cancellation.owed, after.cancellation.owed
    stopped = (str(one.amount), str(two.amount), two.currency) if one and two and one != two else ()
    return PageEffects(tuple(found), stopped)
