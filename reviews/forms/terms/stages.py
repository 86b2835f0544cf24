"""Days and rounds, a row for each stage: of every spread, and of the cover where it differs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django import forms

from reviews.forms.terms.fields import TableRow, date_field
from reviews.pages.wording.names import stage_words
from reviews.rules.contract.periods import DayUnit
from reviews.rules.contract.terms import COVER, EVERY_SPREAD, RoundsPer
from reviews.rules.states import Refused, StageKind

_PARTS = ((EVERY_SPREAD, "Every spread"), (COVER, "Cover alone"))


_UNITS = ((DayUnit.WORKING.value, "Working days"), (DayUnit.CALENDAR.value, "Calendar days"))
_NEVER = "never"
_SILENCES = (
    ("", "As elsewhere"),
    (_NEVER, "Never"),
    (DayUnit.WORKING.value, "Working days"),
    (DayUnit.CALENDAR.value, "Calendar days"),
)
PER_CHOICES = (
    (RoundsPer.SPREAD.value, "Each spread’s"),
    (RoundsPer.DELIVERY.value, "The book’s, by letter"),
    (RoundsPer.BOOK.value, "The book’s, by spread"),
)


#: What the ordinary contract does not say: it stands folded away.
CLAUSES = ("redo_days", "second_look_days", "unit", "silence_in", "per")
FIXED = ("hand_in_on", "answer_on")
_DAYS = ("hand_in_days", "answer_days", "redo_days", "second_look_days")


class StageRow(TableRow):
    """Days and rounds of one stage; a row that is not ticked is not in the terms."""

    used = forms.BooleanField(label="In the terms", required=False)
    hand_in_days = forms.IntegerField(label="Days to hand in", required=False, min_value=0, max_value=400)
    answer_days = forms.IntegerField(label="Days to answer", required=False, min_value=0, max_value=400)
    rounds = forms.IntegerField(label="Rounds in the fee", required=False, min_value=0, max_value=100)
    group = forms.CharField(label="Shares rounds with", required=False, max_length=40)

    redo_days = forms.IntegerField(label="Days for a revision", required=False, min_value=0, max_value=400)
    second_look_days = forms.IntegerField(label="Days for a second look", required=False, min_value=0, max_value=400)
    unit = forms.ChoiceField(label="Days are", required=False, choices=_UNITS)
    silence_in = forms.ChoiceField(label="Silence", required=False, choices=_SILENCES)
    silence_days = forms.IntegerField(label="Days of silence", required=False, min_value=0, max_value=400)
    per = forms.ChoiceField(label="Whose rounds these are", required=False, choices=PER_CHOICES)

    hand_in_on = date_field("First version due on", required=False)
    answer_on = date_field("First answer due on", required=False)

    @property
    def has_dates(self) -> bool:
        """Say whether this stage has a date in place of its days."""
        return any(self[name].value() for name in FIXED)

    @property
    def has_clauses(self) -> bool:
        """Say whether this stage says more than days and rounds for each spread."""
        plain = {"per": RoundsPer.SPREAD.value, "unit": DayUnit.WORKING.value}
        given = ((self[name].value(), plain.get(name)) for name in CLAUSES)
        return any(value not in (None, "", ordinary) for value, ordinary in given)

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        if given.get("used"):
            for name in ("hand_in_days", "answer_days", "rounds"):
                if name not in self.errors and given.get(name) is None:
                    self.add_error(name, "A figure is missing here.")
            needs_days = given.get("silence_in") in (DayUnit.WORKING.value, DayUnit.CALENDAR.value)
            if needs_days and given.get("silence_days") is None and "silence_days" not in self.errors:
                self.add_error("silence_days", "A figure is missing here.")
        return given


class StageRows:
    """All rows of stages, by part of the book."""

    def __init__(self, data: Mapping[str, Any] | None, text: Mapping[str, Any]) -> None:
        self.parts = [
            (
                words,
                [
                    StageRow(data, prefix=f"{part or 'all'}-{kind}", title=stage_words(kind), initial=initial)
                    for kind in StageKind
                    for initial in [_initial(text, part, kind) if text else None]
                ],
            )
            for part, words in _PARTS
        ]

    def __iter__(self) -> Iterator[StageRow]:
        for _, rows in self.parts:
            yield from rows

    @property
    def has_part(self) -> bool:
        """Say whether the cover has figures of its own, or something there cannot be read."""
        return any(row["used"].value() or (row.is_bound and row.errors) for _, rows in self.parts[1:] for row in rows)

    @property
    def has_clauses(self) -> bool:
        """Say whether any stage says more than days and rounds for each spread."""
        return any(row["used"].value() and row.has_clauses for row in self)

    @property
    def has_dates(self) -> bool:
        """Say whether any stage has a date in place of its days, or one that cannot be read."""
        return any(row.has_dates or any(row.is_bound and row[name].errors for name in FIXED) for row in self)

    def text(self) -> dict[str, Any]:
        """Write what was given as the text of terms."""
        lines = list(self._lines())
        return {
            "stages": [line for line, _ in lines],
            "groups": _groups(lines),
            "silences": [_silence(line, given) for line, given in lines if given["silence_in"]],
        }

    def _lines(self) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
        for (part, _), (_, rows) in zip(_PARTS, self.parts, strict=True):
            for kind, row in zip(StageKind, rows, strict=True):
                given = row.cleaned_data
                if given["used"]:
                    days = {name: given[name] for name in _DAYS} | {"unit": given["unit"] or DayUnit.WORKING.value}
                    days |= {name: given[name].isoformat() if given[name] else None for name in FIXED}
                    yield {"stage": kind.value, "part": part, **days}, given


def _groups(lines: Iterable[tuple[dict[str, Any], dict[str, Any]]]) -> list[dict[str, Any]]:
    """Put the stages that carry the same word into one group, whose rounds they share."""
    groups: dict[tuple[str, str], dict[str, Any]] = {}
    for line, given in lines:
        name = given["group"].strip() or line["stage"]
        group = groups.setdefault(
            (line["part"], name),
            {"name": name, "stages": [], "rounds": given["rounds"], "part": line["part"], "per": _per(given)},
        )
        if group["rounds"] != given["rounds"]:
            raise Refused("group-rounds-differ", group=name)
        if group["per"] != _per(given):
            raise Refused("group-per-differs", group=name)
        group["stages"].append(line["stage"])
    return list(groups.values())


def _silence(line: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    is_never = given["silence_in"] == _NEVER
    return {
        "stage": line["stage"],
        "part": line["part"],
        "days": None if is_never else given["silence_days"],
        "unit": DayUnit.WORKING.value if is_never else given["silence_in"],
    }


def _per(given: Mapping[str, Any]) -> str:
    return given["per"] or RoundsPer.SPREAD.value


def _initial(text: Mapping[str, Any], part: str, kind: StageKind) -> dict[str, Any] | None:
    line = next((line for line in text["stages"] if (line["part"], line["stage"]) == (part, kind)), None)
    if line is None:
        return None
    groups = (one for one in text["groups"] if one["part"] == part and kind in one["stages"])
    group: Mapping[str, Any] = next(groups, {"name": "", "rounds": 0, "stages": [], "per": ""})
    silent = next((one for one in text["silences"] if (one["part"], one["stage"]) == (part, kind)), None)
    silence_in = "" if silent is None else _NEVER if silent["days"] is None else silent["unit"]
    silence = {"silence_in": silence_in, "silence_days": silent["days"] if silent else None}
    shared = group["name"] if len(group["stages"]) > 1 else ""
    return {"used": True, **line, **silence, "rounds": group["rounds"], "per": group["per"], "group": shared}
