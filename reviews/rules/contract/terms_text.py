"""Terms as text: the form in which the ledger, an export and a recount carry them.

One JSON object per version; days are ISO dates, money a string of figures with its currency, shares per
cent::

    {"version": 1, "from_on": "2026-01-05", "places": ["GB-ENG"], "own_places": false,
     "shut": [], "closures": [{"first": "2026-12-24", "last": "2027-01-02", "side": "illustrator"}], "worked": [],
     "printer_place": "", "zone": "Europe/London",
     "cut_off": "17:00", "late_receipt": "next-working-day", "counts_receipt": false,
     "stages": [{"stage": "sketch", "hand_in_days": 20, "answer_days": 10, "part": "",
                 "redo_days": 10, "second_look_days": null, "unit": "working",
                 "hand_in_on": "2026-09-01", "answer_on": null}],
     "fixed_runs_on": true,
     "groups": [{"name": "sketches", "stages": ["sketch"], "rounds": 2, "part": "", "per": "spread"}],
     "brief_counts": false, "new_work_after": "", "publisher_late_moves": true,
     "redo_from_letter": false, "silence_approves_after": null,
     "silences": [{"stage": "proof", "days": 14, "unit": "calendar", "part": ""}],
     "hand_in_grace": 0, "answer_grace": 0, "moves_at_most": null, "when_over": "tell",
     "fee": {"amount": "9000.00", "currency": "GBP"}, "round_fee": null, "hour_fee": null,
     "instalments": […], "cancellation": […], and the other clauses of ``fees_text``}
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from decimal import InvalidOperation
from typing import Any

from reviews.rules.contract.amounts import each_of
from reviews.rules.contract.day_ranges import ranges_from_text, ranges_text
from reviews.rules.contract.fees import EVERY_SPREAD, Money, Price, PricedBy
from reviews.rules.contract.fees_text import (
    instalment_read,
    instalment_text,
    later_read,
    later_text,
    maybe,
    money_read,
    money_text,
    steps_read,
    steps_text,
    whole,
    yes,
)
from reviews.rules.contract.periods import silence_from_text, silence_text, stage_from_text, stage_text
from reviews.rules.contract.terms import (
    RoundGroup,
    RoundsPer,
    Terms,
    TermsHistory,
    WhenOver,
    check_terms,
)
from reviews.rules.states import Refused


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
        **_counting_text(terms),
        "stages": [stage_text(line) for line in terms.stages],
        "groups": [vars(group) | {"stages": list(group.stages), "per": group.per.value} for group in terms.groups],
        "brief_counts": terms.brief_counts,
        "new_work_after": terms.new_work_after,
        "publisher_late_moves": terms.publisher_late_moves,
        "redo_from_letter": terms.redo_from_letter,
        "silence_approves_after": terms.silence_approves_after,
        "silences": [silence_text(line) for line in terms.silences],
        "hand_in_grace": terms.hand_in_grace,
        "answer_grace": terms.answer_grace,
        "moves_at_most": terms.moves_at_most,
        "when_over": terms.when_over.value,
        "fee": money_text(terms.fee),
        "round_fee": money_text(terms.round_fee),
        "hour_fee": money_text(terms.hour_fee),
        "instalments": [instalment_text(part) for part in terms.instalments],
        "cancellation": steps_text(terms.cancellation),
        **later_text(
            signed_on=terms.signed_on,
            published_on=terms.published_on,
            prices=terms.prices,
            free_share=terms.free_share,
            kill_pro_rata=terms.kill_pro_rata,
            rejection=terms.rejection,
        ),
    }


def _counting_text(terms: Terms) -> dict[str, Any]:
    """Write how what comes in is dated, and a fixed date on a closed day."""
    return {
        "cut_off": terms.cut_off.isoformat("minutes") if terms.cut_off else None,
        "late_receipt": terms.late_receipt,
        "counts_receipt": terms.counts_receipt,
        "fixed_runs_on": terms.fixed_runs_on,
    }


def fees_text(price: Price | None, fee: Money | None) -> dict[str, Any]:
    """Write what a round costs by its price, and no more of the terms."""
    each = None if price is None else each_of(price, fee)
    is_hourly = price is not None and price.by == PricedBy.HOUR
    return {"round_fee": None if is_hourly else money_text(each), "hour_fee": money_text(each) if is_hourly else None}


def money_from_text(text: Mapping[str, Any] | None) -> Money | None:
    """Read an amount of money back; None where there is none."""
    return maybe(money_read, text)


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
        version=whole(text["version"]),
        from_on=date.fromisoformat(text["from_on"]),
        stages=tuple(stage_from_text(line) for line in text["stages"]),
        groups=tuple(_group(line) for line in text["groups"]),
        places=tuple(str(place).strip() for place in text["places"]),
        own_places=yes(text.get("own_places", False)),
        shut=tuple(date.fromisoformat(day) for day in text["shut"]),
        closures=ranges_from_text(text.get("closures", ())),
        worked=ranges_from_text(text.get("worked", ())),
        printer_place=str(text.get("printer_place", "")).strip(),
        zone=str(text["zone"]),
        cut_off=maybe(time.fromisoformat, text["cut_off"]),
        late_receipt=late_receipt,
        counts_receipt=yes(text["counts_receipt"]),
        fixed_runs_on=yes(text.get("fixed_runs_on", True)),
        brief_counts=yes(text["brief_counts"]),
        new_work_after=str(text.get("new_work_after", "")),
        publisher_late_moves=yes(text["publisher_late_moves"]),
        redo_from_letter=yes(text.get("redo_from_letter", False)),
        silence_approves_after=maybe(whole, text["silence_approves_after"]),
        silences=tuple(silence_from_text(line) for line in text.get("silences", ())),
        hand_in_grace=whole(text.get("hand_in_grace", 0)),
        answer_grace=whole(text.get("answer_grace", 0)),
        moves_at_most=maybe(whole, text.get("moves_at_most")),
        when_over=WhenOver(text["when_over"]),
        fee=maybe(money_read, text["fee"]),
        round_fee=maybe(money_read, text["round_fee"]),
        hour_fee=maybe(money_read, text["hour_fee"]),
        instalments=tuple(instalment_read(part) for part in text["instalments"]),
        cancellation=steps_read(text["cancellation"]),
        **later_read(text),
    )


def _group(line: Mapping[str, Any]) -> RoundGroup:
    stages = tuple(str(stage) for stage in line["stages"])
    return RoundGroup(
        str(line["name"]),
        stages,
        whole(line["rounds"]),
        str(line.get("part", EVERY_SPREAD)),
        RoundsPer(line.get("per", RoundsPer.SPREAD)),
    )
