"""Money under the terms: instalments due and met, changes beyond the fee, what is paid, what stopping would leave.

Decimal arithmetic, rounded once per amount to the currency's smallest coin; two currencies are never added. Every sum
comes with its working, whose lines add up to it. Every figure here is to be checked against the signed contract.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reviews.rules.contract.amounts import Step, Working, in_purse, together
from reviews.rules.contract.bills import Bill
from reviews.rules.contract.extras import ExtraRound, extra_rounds, extra_workings, free_of
from reviews.rules.contract.fees import Milestone, Money, check_payable
from reviews.rules.contract.instalments import InstalmentState, amounts_of, instalment_states
from reviews.rules.contract.kill_fee import Earned, Stopped, if_stopped
from reviews.rules.contract.rounds import Round
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.timeline import Story
from reviews.rules.contract.turn import Turn
from reviews.rules.states import Refused


@dataclass(frozen=True, kw_only=True)
class MoneyAccount:
    """All money of a book on one day. Sums are kept by currency; the entries behind each are those of its parts.

    extra_fees  all fees for changes; ``extra_owed`` is what is left after what the terms leave free of them
    bills       what was invoiced, whether it was paid, in parts or whole, or not; only what was received settles
                anything
    balance     what fell due and what changes cost, less what was received: below zero where more was received
    rejection   as ``cancellation``, if the work were rejected and the terms speak of that apart
    """

    instalments: tuple[InstalmentState, ...]
    extras: tuple[ExtraRound, ...]
    cancellation: Stopped
    rejection: Stopped
    bills: tuple[Bill, ...]
    free: Money | None
    extra_working: tuple[Working, ...]

    @property
    def met(self) -> list[InstalmentState]:
        """List the instalments that have fallen due."""
        return [part for part in self.instalments if part.met_on]

    @property
    def fallen_due(self) -> dict[str, Decimal]:
        return in_purse(part.money for part in self.met)

    @property
    def fallen_due_by(self) -> tuple[int, ...]:
        return together(part.entries for part in self.met)

    @property
    def fallen_due_working(self) -> tuple[Working, ...]:
        return _parts(self.met)

    @property
    def not_yet(self) -> dict[str, Decimal]:
        return in_purse(part.money for part in self._to_come)

    @property
    def not_yet_by(self) -> tuple[int, ...]:
        return together(part.entries for part in self._to_come)

    @property
    def not_yet_working(self) -> tuple[Working, ...]:
        return _parts(self._to_come)

    @property
    def _to_come(self) -> list[InstalmentState]:
        return [part for part in self.instalments if not part.met_on]

    @property
    def extra_fees(self) -> dict[str, Decimal]:
        return in_purse(extra.money for extra in self.extras if not extra.in_letter)

    @property
    def extra_fees_by(self) -> tuple[int, ...]:
        return together(extra.entries for extra in self.extras)

    @property
    def extra_owed(self) -> dict[str, Decimal]:
        return in_purse(line.money for line in self.extra_working)

    @property
    def invoiced(self) -> dict[str, Decimal]:
        return in_purse(bill.money for bill in self.bills)

    @property
    def received(self) -> dict[str, Decimal]:
        return in_purse(bill.received_sum for bill in self.bills if bill.received)

    @property
    def received_by(self) -> tuple[int, ...]:
        return together(bill.received_by for bill in self.bills)

    @property
    def unconfirmed(self) -> dict[str, Decimal]:
        """Give what the publisher says it paid, and the other side has not told as received."""
        return in_purse(bill.unconfirmed for bill in self._unconfirmed)

    @property
    def unconfirmed_by(self) -> tuple[int, ...]:
        return together(bill.entries for bill in self._unconfirmed)

    @property
    def _unconfirmed(self) -> list[Bill]:
        return [bill for bill in self.bills if bill.unconfirmed.amount]

    @property
    def overpaid(self) -> dict[str, Decimal]:
        """Give what came beyond all that is due so far: it stays, and counts against what falls due next."""
        return {currency: -amount for currency, amount in self.balance.items() if amount < 0}

    @property
    def balance(self) -> dict[str, Decimal]:
        return in_purse(line.money for line in self.balance_working)

    @property
    def balance_working(self) -> tuple[Working, ...]:
        """Write the balance as what fell due, what changes cost, and less what was received."""
        lines = [_sums(Step.FALLEN_DUE, self.fallen_due, self.fallen_due_by)]
        lines.append(_sums(Step.EXTRAS, self.extra_owed, self.extra_fees_by))
        paid = {currency: -amount for currency, amount in self.received.items()}
        lines.append(_sums(Step.PAID, paid, self.received_by))
        return tuple(line for some in lines for line in some)

    @property
    def balance_by(self) -> tuple[int, ...]:
        return together(line.entries for line in self.balance_working)


def _parts(parts: Iterable[InstalmentState]) -> tuple[Working, ...]:
    return tuple(line for part in parts for line in part.working)


def _sums(step: Step, purse: Mapping[str, Decimal], entries: tuple[int, ...]) -> list[Working]:
    return [Working(step=step, money=Money(amount, currency), entries=entries) for currency, amount in purse.items()]


def account(
    story: Story,
    terms: TermsHistory,
    turns: Mapping[int, Sequence[Turn]],
    rounds: Iterable[Round],
    as_of: date,
) -> MoneyAccount:
    """Work out every amount of a book on one day."""
    now = terms.on(as_of)
    instalments = instalment_states(story, now, turns, as_of)
    extras = extra_rounds(story, terms, rounds)
    free = free_of(now, in_purse(extra.money for extra in extras))
    extra_working = extra_workings(extras, free, now)
    bills = tuple(story.bills.values())
    met = [part for part in instalments if part.met_on]
    earned = Earned(
        fallen_due=in_purse(part.money for part in met),
        extras=in_purse(line.money for line in extra_working),
        received=in_purse(bill.received_sum for bill in bills if bill.received),
        entries=together(
            [
                *(part.entries for part in met),
                *(extra.entries for extra in extras),
                *(bill.received_by for bill in bills),
            ]
        ),
    )
    return MoneyAccount(
        instalments=instalments,
        extras=extras,
        cancellation=if_stopped(now.cancellation, story, now, turns, earned, as_of),
        rejection=if_stopped(now.rejection, story, now, turns, earned, as_of),
        bills=bills,
        free=free,
        extra_working=extra_working,
    )


def check_entered(terms: Terms) -> None:
    """Refuse money that is new and cannot be paid as it stands; versions kept from before stay as both signed them.

    Raises
    ------
    Refused
        ``bad-currency``, ``bad-decimals``, ``signature-needs-date``, ``instalment-name-twice``, or
        ``instalments-not-whole`` where all are in the currency of the fee and come to another sum.
    """
    for entered in terms.amounts:
        check_payable(entered)
    names: set[str] = set()
    for part in terms.instalments:
        if part.falls == Milestone.SIGNATURE and terms.signed_on is None:
            raise Refused("signature-needs-date", name=part.name)
        if part.name in names:
            raise Refused("instalment-name-twice", name=part.name)
        names.add(part.name)
    amounts = [money for money in amounts_of(terms) if money is not None]
    fee = terms.fee
    if fee is None or not amounts or any(money.currency != fee.currency for money in amounts):
        return
    total = sum((money.amount for money in amounts), Decimal(0))
    if total != fee.amount:
        raise Refused("instalments-not-whole", total=total, fee=fee.amount, currency=fee.currency)
