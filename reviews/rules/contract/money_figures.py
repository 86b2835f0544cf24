"""The money of a statement as plain JSON values: each sum with its working and the entries that made it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from reviews.rules.contract.amounts import Working, in_purse
from reviews.rules.contract.bills import Bill, BillPayment
from reviews.rules.contract.extras import ExtraRound
from reviews.rules.contract.fees import Money
from reviews.rules.contract.instalments import InstalmentState
from reviews.rules.contract.kill_fee import Stopped
from reviews.rules.contract.money import MoneyAccount


def figures_of_money(found: MoneyAccount) -> dict[str, Any]:
    """Write everything that the account says of money."""
    return {
        "instalments": [_instalment(part) for part in found.instalments],
        "fallen_due": _sum(found.fallen_due, found.fallen_due_by, found.fallen_due_working),
        "not_yet": _sum(found.not_yet, found.not_yet_by, found.not_yet_working),
        "extra_fees": _sum(found.extra_fees, found.extra_fees_by, ()),
        "extra_free": _amounts([found.free]),
        "extra_owed": _sum(found.extra_owed, found.extra_fees_by, found.extra_working),
        "extra_rounds": [_extra(extra) for extra in found.extras],
        "invoices": [_bill(bill) for bill in found.bills],
        "balance": _sum(found.balance, found.balance_by, found.balance_working),
        # Only where there is some, so that files of before are counted as they were.
        **({"unconfirmed": _sum(found.unconfirmed, found.unconfirmed_by, ())} if found.unconfirmed else {}),
        "if_stopped": _stopped(found.cancellation),
        "if_rejected": _stopped(found.rejection),
    }


def _instalment(part: InstalmentState) -> dict[str, Any]:
    return {
        "name": part.name,
        "money": _amounts([part.money]),
        "met_on": _day(part.met_on),
        "pay_by_on": _day(part.pay_by_on),
        "reached": part.n_reached,
        "needed": part.n_needed,
        "entries": list(part.entries),
    }


def _extra(extra: ExtraRound) -> dict[str, Any]:
    return {
        "entry": extra.round.seq,
        "passage": extra.round.passage,
        "priced_by": extra.price.by.value if extra.price else None,
        "with_its_letter": extra.in_letter,
        "hours_told": str(extra.hours.told) if extra.hours else None,
        "hours_agreed": str(extra.hours.agreed) if extra.hours and extra.hours.agreed is not None else None,
        "money": _amounts([extra.money]),
        "entries": list(extra.entries),
    }


def _bill(bill: Bill) -> dict[str, Any]:
    return {
        "number": bill.number,
        "for": bill.name,
        "money": _amounts([bill.money]),
        "invoiced_on": _day(bill.invoiced_on),
        "said_paid_on": _day(bill.paid_on),
        "received_on": _day(bill.received_on),
        **({"said_paid": _payments(bill.said_paid), "received": _payments(bill.received)} if bill.is_in_parts else {}),
        "entries": list(bill.entries),
    }


def _payments(payments: Iterable[BillPayment]) -> list[dict[str, Any]]:
    return [{"money": _amounts([one.money]), "on": _day(one.on), "entries": [one.seq]} for one in payments]


def _stopped(found: Stopped) -> dict[str, Any]:
    return {
        "kill_fee": _amounts([found.kill_fee]),
        "due_already": _amounts([found.due_already]),
        "of_the_fee": _amounts([found.of_the_fee]),
        "extra_owed": _amounts([found.extras]),
        "owed": _amounts([found.owed]),
        "received": _amounts([found.paid]),
        "balance": _amounts([found.balance]),
        "kill_fee_working": [_working(line) for line in found.kill_working],
        "owed_working": [_working(line) for line in found.working],
        "entries": list(found.entries),
    }


def _sum(amounts: Mapping[str, Decimal], entries: Iterable[int], working: Iterable[Working]) -> dict[str, Any]:
    """Write sums, each currency for itself, with the entries that made them."""
    return {
        "amounts": {currency: str(amount) for currency, amount in amounts.items()},
        "working": [_working(line) for line in working],
        "entries": list(entries),
    }


def _working(line: Working) -> dict[str, Any]:
    return {
        "step": line.step.value,
        "name": line.name,
        "n": str(line.n),
        "each": _amounts([line.each]),
        "share": str(line.share) if line.share is not None else None,
        "money": _amounts([line.money]),
        "entries": list(line.entries),
    }


def _amounts(moneys: Iterable[Money | None]) -> dict[str, str]:
    return {currency: str(amount) for currency, amount in in_purse(moneys).items()}


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None
