"""Terms as text: the form in which the ledger, an export and a recount carry them.

One JSON object per version; days are ISO dates, money a string of figures with its currency, shares per
cent::

    {"version": 1, "from_on": "2026-01-05", "places": ["GB-ENG"], "own_places": false,
     "shut": [], "closures": [{"first": "2026-12-24", "last": "2027-01-02", "side": "illustrator"}], "worked": [],
     "printer_place": "", "zone": "Europe/London",
     "cut_off": "17:00", "late_receipt": "next-working-day", "counts_receipt": false,
     "stages": [{"stage": "sketch", "hand_in_days": 20, "answer_days": 10, "part": ""}],
     "groups": [{"name": "sketches", "stages": ["sketch"], "rounds": 2, "part": "", "per": "spread"}],
     "brief_counts": false, "new_work_after": "", "publisher_late_moves": true,
     "silence_approves_after": null, "when_over": "tell",
     "fee": {"amount": "9000.00", "currency": "GBP"}, "round_fee": null, "hour_fee": null,
     "instalments": [{"name": "On signature", "falls": "start", "stage": "", "on": null, "share": "100",
                      "amount": null, "pay_within_days": 30}],
     "cancellation": [{"reached": "start", "share": "25", "stage": ""}]}
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, time
from decimal import Decimal, InvalidOperation
from typing import Any, TypeVar

from reviews.rules.contract.day_ranges import ranges_from_text, ranges_text
from reviews.rules.contract.terms import (
    EVERY_SPREAD,
    CancellationStep,
    Instalment,
    Milestone,
    Money,
    RoundGroup,
    RoundsPer,
    StageDays,
    Terms,
    TermsHistory,
    WhenOver,
    check_terms,
)
from reviews.rules.states import Refused

T = TypeVar("T")


def terms_to_text(terms: Terms) -> dict[str, Any]:
    """Write one version of the terms as plain JSON values."""
    return {
        "version": terms.version,
        "from_on": terms.from_on.isoformat(),
        "places": list(terms.places),
        "own_places": terms.own_places,
        "shut": [day.isoformat() for day in terms.shut],
        "closures": ranges_text(terms.closures),
        "worked": ranges_text(terms.worked),
        "printer_place": terms.printer_place,
        "zone": terms.zone,
        "cut_off": terms.cut_off.isoformat("minutes") if terms.cut_off else None,
        "late_receipt": terms.late_receipt,
        "counts_receipt": terms.counts_receipt,
        "stages": [vars(line) for line in terms.stages],
        "groups": [vars(group) | {"stages": list(group.stages), "per": group.per.value} for group in terms.groups],
        "brief_counts": terms.brief_counts,
        "new_work_after": terms.new_work_after,
        "publisher_late_moves": terms.publisher_late_moves,
        "silence_approves_after": terms.silence_approves_after,
        "when_over": terms.when_over.value,
        "fee": _money_text(terms.fee),
        "round_fee": _money_text(terms.round_fee),
        "hour_fee": _money_text(terms.hour_fee),
        "instalments": [_instalment_text(part) for part in terms.instalments],
        "cancellation": [
            {"reached": step.reached.value, "share": str(step.share), "stage": step.stage}
            for step in terms.cancellation
        ],
    }


def fees_text(terms: Terms) -> dict[str, Any]:
    """Write what a round beyond the fee costs under these terms, and no more of them."""
    return {"round_fee": _money_text(terms.round_fee), "hour_fee": _money_text(terms.hour_fee)}


def money_from_text(text: Mapping[str, Any] | None) -> Money | None:
    """Read an amount of money back; None where there is none."""
    return _maybe(_money, text)


def terms_from_text(text: Mapping[str, Any]) -> Terms:
    """Read one version of the terms, and refuse what cannot be read or kept.

    Raises
    ------
    Refused
        ``bad-terms`` if a value is missing or of the wrong kind, else as ``check_terms``.
    """
    try:
        terms = _read(text)
    except Refused:
        raise
    except KeyError as missing:
        raise Refused("bad-terms-missing", key=missing.args[0]) from missing
    except (TypeError, ValueError, AttributeError, InvalidOperation) as wrong:
        if not str(wrong):
            raise Refused("bad-terms-figure") from wrong
        raise Refused("bad-terms", why=str(wrong)) from wrong
    check_terms(terms)
    return terms


def history_from_text(versions: list[Mapping[str, Any]]) -> TermsHistory:
    """Read all versions of a book's terms, oldest first."""
    if not versions:
        raise Refused("bad-terms-empty")
    return TermsHistory(tuple(sorted((terms_from_text(text) for text in versions), key=_age)))


def _age(terms: Terms) -> tuple[int, date]:
    return terms.version, terms.from_on


def _read(text: Mapping[str, Any]) -> Terms:
    late_receipt = text["late_receipt"]
    if late_receipt not in ("as-is", "next-working-day"):
        raise ValueError(f"“{late_receipt}” is no way to take a late receipt")
    return Terms(
        version=_whole(text["version"]),
        from_on=date.fromisoformat(text["from_on"]),
        stages=tuple(_stage(line) for line in text["stages"]),
        groups=tuple(_group(line) for line in text["groups"]),
        places=tuple(str(place).strip() for place in text["places"]),
        own_places=_yes(text.get("own_places", False)),
        shut=tuple(date.fromisoformat(day) for day in text["shut"]),
        closures=ranges_from_text(text.get("closures", ())),
        worked=ranges_from_text(text.get("worked", ())),
        printer_place=str(text.get("printer_place", "")).strip(),
        zone=str(text["zone"]),
        cut_off=_maybe(time.fromisoformat, text["cut_off"]),
        late_receipt=late_receipt,
        counts_receipt=_yes(text["counts_receipt"]),
        brief_counts=_yes(text["brief_counts"]),
        new_work_after=str(text.get("new_work_after", "")),
        publisher_late_moves=_yes(text["publisher_late_moves"]),
        silence_approves_after=_maybe(_whole, text["silence_approves_after"]),
        when_over=WhenOver(text["when_over"]),
        fee=_maybe(_money, text["fee"]),
        round_fee=_maybe(_money, text["round_fee"]),
        hour_fee=_maybe(_money, text["hour_fee"]),
        instalments=tuple(_instalment(part) for part in text["instalments"]),
        cancellation=tuple(
            CancellationStep(Milestone(step["reached"]), Decimal(step["share"]), str(step["stage"]))
            for step in text["cancellation"]
        ),
    )


def _stage(line: Mapping[str, Any]) -> StageDays:
    return StageDays(
        str(line["stage"]),
        _whole(line["hand_in_days"]),
        _whole(line["answer_days"]),
        str(line.get("part", EVERY_SPREAD)),
    )


def _group(line: Mapping[str, Any]) -> RoundGroup:
    stages = tuple(str(stage) for stage in line["stages"])
    return RoundGroup(
        str(line["name"]),
        stages,
        _whole(line["rounds"]),
        str(line.get("part", EVERY_SPREAD)),
        RoundsPer(line.get("per", RoundsPer.SPREAD)),
    )


def _instalment(part: Mapping[str, Any]) -> Instalment:
    return Instalment(
        name=str(part["name"]),
        falls=Milestone(part["falls"]),
        stage=str(part["stage"]),
        on=_maybe(date.fromisoformat, part["on"]),
        share=_maybe(Decimal, part["share"]),
        amount=_maybe(_money, part["amount"]),
        pay_within_days=_whole(part["pay_within_days"]),
    )


def _instalment_text(part: Instalment) -> dict[str, Any]:
    return {
        "name": part.name,
        "falls": part.falls.value,
        "stage": part.stage,
        "on": part.on.isoformat() if part.on else None,
        "share": str(part.share) if part.share is not None else None,
        "amount": _money_text(part.amount),
        "pay_within_days": part.pay_within_days,
    }


def _money(text: Mapping[str, Any]) -> Money:
    if not isinstance(text["amount"], str):
        # A figure that has been through binary floating point may no longer be the one that was agreed.
        raise ValueError('amounts of money are written as text, such as "1250.50"')
    return Money(Decimal(text["amount"]), str(text["currency"]))


def _money_text(money: Money | None) -> dict[str, str] | None:
    return None if money is None else {"amount": str(money.amount), "currency": money.currency}


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError(f"“{value}” is not a whole number")
    return value


def _yes(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"“{value}” is neither true nor false")
    return value


def _maybe(read: Callable[[Any], T], value: Any) -> T | None:
    return None if value is None else read(value)
