"""The money clauses as text, as they stand inside a version of the terms (``terms_text``)::

    "instalments": [{"name": "On signature", "falls": "signature", "stage": "", "on": null, "share": "100",
                     "amount": null, "pay_within_days": 30, "part": "", "of_spreads": 100, "after_days": null}],
    "cancellation": [{"reached": "start", "share": "25", "stage": ""}],
    "signed_on": "2026-01-05", "published_on": null,
    "prices": [{"by": "round", "stage": "", "after_approval": true, "amount": null, "share": "2"}],
    "free_share": null, "kill_pro_rata": false, "rejection": []

What came later may be missing from a version that was written before; it then has its default.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypedDict, TypeVar

from reviews.rules.contract.fees import (
    EVERY_SPREAD,
    CancellationStep,
    Instalment,
    Milestone,
    Money,
    Price,
    PricedBy,
)

T = TypeVar("T")


class LaterClauses(TypedDict):
    """The money clauses that terms did not have at first."""

    signed_on: date | None
    published_on: date | None
    prices: tuple[Price, ...]
    free_share: Decimal | None
    kill_pro_rata: bool
    rejection: tuple[CancellationStep, ...]


def money_text(money: Money | None) -> dict[str, str] | None:
    """Write an amount as text."""
    return None if money is None else {"amount": str(money.amount), "currency": money.currency}


def money_read(text: Mapping[str, Any]) -> Money:
    """Read an amount."""
    if not isinstance(text["amount"], str):
        # A figure that has been through binary floating point may no longer be the one that was agreed.
        raise ValueError('amounts of money are written as text, such as "1250.50"')
    return Money(Decimal(text["amount"]), str(text["currency"]))


def instalment_text(part: Instalment) -> dict[str, Any]:
    """Write one instalment."""
    return {
        "name": part.name,
        "falls": part.falls.value,
        "stage": part.stage,
        "on": _day_text(part.on),
        "share": str(part.share) if part.share is not None else None,
        "amount": money_text(part.amount),
        "pay_within_days": part.pay_within_days,
        "part": part.part,
        "of_spreads": part.of_spreads,
        "after_days": part.after_days,
    }


def instalment_read(part: Mapping[str, Any]) -> Instalment:
    """Read one instalment."""
    return Instalment(
        name=str(part["name"]),
        falls=Milestone(part["falls"]),
        stage=str(part["stage"]),
        on=maybe(date.fromisoformat, part["on"]),
        share=maybe(Decimal, part["share"]),
        amount=maybe(money_read, part["amount"]),
        pay_within_days=whole(part["pay_within_days"]),
        part=str(part.get("part", EVERY_SPREAD)),
        of_spreads=whole(part.get("of_spreads", 100)),
        after_days=maybe(whole, part.get("after_days")),
    )


def steps_text(steps: Iterable[CancellationStep]) -> list[dict[str, str]]:
    """Write the steps of a kill fee."""
    return [{"reached": step.reached.value, "share": str(step.share), "stage": step.stage} for step in steps]


def steps_read(steps: Iterable[Mapping[str, Any]]) -> tuple[CancellationStep, ...]:
    """Read the steps of a kill fee."""
    return tuple(
        CancellationStep(Milestone(step["reached"]), Decimal(step["share"]), str(step["stage"])) for step in steps
    )


def later_text(
    *,
    signed_on: date | None,
    published_on: date | None,
    prices: Iterable[Price],
    free_share: Decimal | None,
    kill_pro_rata: bool,
    rejection: Iterable[CancellationStep],
) -> dict[str, Any]:
    """Write the clauses that terms did not have at first."""
    return {
        "signed_on": _day_text(signed_on),
        "published_on": _day_text(published_on),
        "prices": [_price_text(price) for price in prices],
        "free_share": None if free_share is None else str(free_share),
        "kill_pro_rata": kill_pro_rata,
        "rejection": steps_text(rejection),
    }


def later_read(text: Mapping[str, Any]) -> LaterClauses:
    """Read them; each that is missing has its default."""
    return {
        "signed_on": maybe(date.fromisoformat, text.get("signed_on")),
        "published_on": maybe(date.fromisoformat, text.get("published_on")),
        "prices": tuple(_price(price) for price in text.get("prices", ())),
        "free_share": maybe(Decimal, text.get("free_share")),
        "kill_pro_rata": yes(text.get("kill_pro_rata", False)),
        "rejection": steps_read(text.get("rejection", ())),
    }


def whole(value: Any) -> int:
    """Read a whole number, and nothing that only looks like one."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError(f"“{value}” is not a whole number")
    return value


def yes(value: Any) -> bool:
    """Read a yes or a no."""
    if not isinstance(value, bool):
        raise ValueError(f"“{value}” is neither true nor false")
    return value


def maybe(read: Callable[[Any], T], value: Any) -> T | None:
    """Read a value that may be missing."""
    return None if value is None else read(value)


def _price_text(price: Price) -> dict[str, Any]:
    return {
        "by": price.by.value,
        "stage": price.stage,
        "after_approval": price.after_approval,
        "amount": money_text(price.amount),
        "share": None if price.share is None else str(price.share),
    }


def _price(text: Mapping[str, Any]) -> Price:
    return Price(
        by=PricedBy(text["by"]),
        stage=str(text["stage"]),
        after_approval=yes(text["after_approval"]),
        amount=maybe(money_read, text["amount"]),
        share=maybe(Decimal, text["share"]),
    )


def _day_text(day: date | None) -> str | None:
    return day.isoformat() if day else None
