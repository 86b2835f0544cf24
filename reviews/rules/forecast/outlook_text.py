"""A forecast as plain text to keep, and read back; and the fingerprint of what one is computed from."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from reviews.rules.contract.calendars import Calendar
from reviews.rules.forecast.outlook import Outlook, Setting, SpreadOutlook, SupposedChange, WhatIf
from reviews.rules.forecast.pace import Pace, SpreadLeft

#: Goes up when the simulation itself changes, so that no figure of an older one is shown as if it were new.
METHOD = 4

#: The same inputs give the same figures.
SEED = 1


@dataclass(frozen=True)
class Question:
    """All that a forecast of a book is computed from."""

    pieces: tuple[SpreadLeft, ...]
    pace: Pace
    setting: Setting

    @property
    def fingerprint(self) -> str:
        """Give a SHA-256 that changes whenever a figure could."""
        setting = self.setting
        fixed = (METHOD, SEED, setting.today, setting.letters_every, setting.target_on, sorted(setting.answered_today))
        calendars = (_words(setting.hands), _words(setting.desk))
        return hashlib.sha256(repr((fixed, calendars, self.pieces, self.pace)).encode()).hexdigest()


@dataclass(frozen=True)
class Told:
    """A forecast, and what single changes would do to it."""

    outlook: Outlook
    what_ifs: tuple[WhatIf, ...]


def _words(calendar: Calendar) -> str:
    # A frozen set is not always written in the same order.
    rest = sorted(calendar.rest) if calendar.rest is not None else None
    closed = (sorted(calendar.shut), sorted(calendar.worked), sorted(calendar.paused))
    return repr((calendar.name, calendar.observed, rest, *closed))


def told_to_text(told: Told) -> dict[str, Any]:
    """Write a forecast as values that JSON can hold."""
    return {
        "outlook": _plain(asdict(told.outlook)),
        "what_ifs": [_plain(asdict(what_if)) for what_if in told.what_ifs],
    }


def told_from_text(text: Mapping[str, Any]) -> Told:
    """Read a forecast back."""
    outlook = _dated(text["outlook"], ("today", "p50_on", "p80_on", "target_on"))
    spreads = tuple(SpreadOutlook(**_dated(told, ("p50_on", "p80_on"))) for told in outlook.pop("spreads"))
    outlook["n_cases"] = tuple(outlook["n_cases"])
    return Told(Outlook(spreads=spreads, **outlook), tuple(_what_if(told) for told in text["what_ifs"]))


def _what_if(text: Mapping[str, Any]) -> WhatIf:
    told = _dated(text, ("p50_on", "p80_on"))
    return WhatIf(**told | {"change": SupposedChange(told["change"])})


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(kept) for key, kept in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(kept) for kept in value]
    return value.isoformat() if isinstance(value, date) else value


def _dated(values: Mapping[str, Any], names: Sequence[str]) -> dict[str, Any]:
    return {
        key: date.fromisoformat(value) if key in names and value is not None else value for key, value in values.items()
    }
