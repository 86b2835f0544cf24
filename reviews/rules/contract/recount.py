"""Count a book again from its exported ledger and terms, with no database: `python -m
reviews.rules.contract.recount FILE`.

Anybody who has the file and this folder gets the figures of the statement. The file is one JSON object::

    {"format": "roughproof-terms-1",
     "book": "Title", "as_of": "2026-11-25", "final_on": "2027-03-01" or null,
     "spreads": [{"spread": 7, "position": 1, "label": "Cover", "part": "cover"}, …],
     "terms": [one object per version, as in ``terms_text``, oldest first],
     "entries": [{"seq": 1, "at": "2026-01-05T09:00:00+00:00", "deed": "make-book", "role": "art_director",
                  "by": "Name", "passage": null, "data": {…}}, …],
     "figures": what the portal showed, as ``figures`` below writes it}

`data` is the ledger's own, with the keys of ``entries``; entries that rules do not read may be left out or
may
carry an empty `data`. The recount ends with status 0 if its figures equal those in the file, 1 if they
differ, and
2 if the file cannot be read.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

from reviews.rules.contract.clauses import clauses_of
from reviews.rules.contract.money_figures import figures_of_money
from reviews.rules.contract.pauses import Pause
from reviews.rules.contract.rounds import RoundSum
from reviews.rules.contract.rounds_used import GroupKey
from reviews.rules.contract.statement import PassageLine, Statement, draw_up
from reviews.rules.contract.terms import EVERY_SPREAD, TermsHistory
from reviews.rules.contract.terms_text import history_from_text, terms_to_text
from reviews.rules.contract.timeline import SpreadFacts
from reviews.rules.contract.turn_sums import DaySum
from reviews.rules.entries import Entry
from reviews.rules.states import Refused

FORMAT = "roughproof-terms-1"

# This report is read where the portal is not: its few sentences are its own.
CAUTION = (
    "Worked out from the terms this book is counted by. Check every figure against the signed contract and the law "
    "that governs it before you act on it."
)


class CannotRecount(Exception):
    """The file cannot be counted again; the message is the reason, for the person."""


def export(
    book: str,
    as_of: date,
    final_on: date | None,
    spreads: Iterable[SpreadFacts],
    terms: TermsHistory,
    entries: Sequence[Entry],
) -> dict[str, Any]:
    """Write a book's ledger, terms and figures as plain JSON values."""
    facts = {spread.spread: spread for spread in spreads}
    statement = draw_up(entries, terms, as_of, facts, final_on=final_on)
    return {
        "format": FORMAT,
        "book": book,
        "as_of": as_of.isoformat(),
        "final_on": final_on.isoformat() if final_on else None,
        "spreads": [vars(spread) for spread in facts.values()],
        "terms": [terms_to_text(version) for version in terms.versions],
        "entries": [vars(entry) | {"at": entry.at.isoformat(), "data": dict(entry.data)} for entry in entries],
        "figures": figures(statement),
    }


def count_again(file: Mapping[str, Any]) -> Statement:
    """Draw up the statement again from an exported file."""
    spreads = {line["spread"]: _spread(line) for line in file["spreads"]}
    entries = sorted((_entry(line) for line in file["entries"]), key=lambda entry: entry.seq)
    final_on = date.fromisoformat(file["final_on"]) if file["final_on"] else None
    return draw_up(
        entries,
        history_from_text(file["terms"]),
        date.fromisoformat(file["as_of"]),
        spreads,
        final_on=final_on,
    )


def figures(statement: Statement) -> dict[str, Any]:
    """Write every figure of a statement as plain JSON values, each with the entries that made it."""
    clauses = clauses_of(statement.terms)
    return {
        # Only where the contract has some, so that files of before are counted as they were.
        **({"clauses": clauses} if clauses else {}),
        "as_of": statement.as_of.isoformat(),
        "version": statement.terms.version,
        "entries_read": statement.n_entries,
        "passages": [_passage(line) for line in statement.lines],
        # Only where spreads were dropped, so that files of before are counted as they were.
        **({"dropped": [_passage(line) for line in statement.dropped]} if statement.dropped else {}),
        # Rounds left and included are told by group, where they can be used; their sum says nothing.
        "rounds": {name: n for name, n in _rounds(statement.rounds.book).items() if name not in ("included", "left")},
        "rounds_by_group": [
            {"spread": key.spread, "group": key.group} | ({} if key.spread else {"part": key.part}) | _rounds(found)
            for key, found in sorted(statement.rounds.groups.items(), key=_by_name)
        ],
        "days_of_the_calendar": _dates(statement),
        "days": _days(statement.days),
        "days_by_stage": {stage: _days(found) for stage, found in statement.days_by_stage.items()},
        "days_by_person": [
            {"role": role, "by": by, "days": found.working, "entries": list(found.entries)}
            for (role, by), found in sorted(statement.days_by_person.items())
        ],
        # Only where the work rested, so that files of before are counted as they were.
        **({"pauses": [_pause(pause) for pause in statement.pauses]} if statement.pauses else {}),
        "money": figures_of_money(statement.money),
        "cannot_meet": [
            {
                "spread": told.spread,
                "earliest_on": told.earliest_on.isoformat(),
                "since_on": told.since_on.isoformat(),
                "entries": list(told.entries),
            }
            for told in statement.cannot_meet
        ],
    }


def _by_name(pair: tuple[GroupKey, RoundSum]) -> tuple[int, str, str]:
    return pair[0].spread, pair[0].group, pair[0].part


def _passage(line: PassageLine) -> dict[str, Any]:
    due = line.due
    return {
        "passage": line.passage,
        "spread": line.spread.spread,
        "stage": line.stage,
        "state": line.state.value,
        "rounds": _rounds(line.rounds),
        "days": _days(line.days),
        "planned_on": due.planned_on.isoformat() if due.planned_on else None,
        "due_on": due.current_on.isoformat() if due.current_on else None,
        "moves": [
            {"entry": move.seq, "why": move.why, "from": move.from_on.isoformat(), "to": move.to_on.isoformat()}
            for move in due.moves
        ],
        "late": due.late,
        "entries": list(due.entries),
        # Files of before agreements know nothing of it.
        **({"forgiven": due.forgiven} if due.forgiven else {}),
    }


def _pause(pause: Pause) -> dict[str, Any]:
    return {
        "pause": pause.number,
        "first": pause.first.isoformat(),
        "last": pause.last.isoformat(),
        "reason": pause.reason,
        "proposed_by": pause.proposed_by,
        "agreed_by": pause.by,
        "entries": list(pause.entries),
    }


def _rounds(found: RoundSum) -> dict[str, Any]:
    # As on the page, what is used of the fee and what is left of it are what it includes; `counted` adds those beyond.
    return {
        "used": found.in_fee,
        "counted": found.used,
        "included": found.included,
        "left": found.left,
        "over": found.over,
        "outside": found.outside,
        "not_counted": found.not_counted,
        "entries": list(found.entries),
        "included_by": list(found.included_by),
    }


def _dates(statement: Statement) -> dict[str, Any]:
    found = statement.distinct
    told = {name: n for name, n in vars(found).items() if n or name != "paused"}
    return told | {"working": found.working, "entries": list(statement.days.entries)}


def _days(found: DaySum) -> dict[str, Any]:
    # What older files have no word for is told where there is some: days of both sides (where the terms count the day
    # of receipt), days that were forgiven, and days of pauses.
    told = {
        name: n
        for name, n in vars(found).items()
        if n or not (name in ("both", "paused") or name.endswith("_forgiven"))
    }
    return told | {"entries": list(found.entries)}


def _spread(line: Mapping[str, Any]) -> SpreadFacts:
    return SpreadFacts(line["spread"], line["position"], line["label"], line.get("part", EVERY_SPREAD))


def _entry(line: Mapping[str, Any]) -> Entry:
    at = datetime.fromisoformat(line["at"])
    if at.tzinfo is None:
        raise ValueError(f"entry {line['seq']} has a time without a zone")
    return Entry(
        seq=line["seq"],
        at=at,
        deed=line["deed"],
        role=line["role"],
        by=line["by"],
        passage=line["passage"],
        data=line["data"],
    )


def _read(path: str) -> Mapping[str, Any]:
    try:
        file = json.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as missing:
        raise CannotRecount("it cannot be opened") from missing
    except ValueError as broken:
        raise CannotRecount("it is not JSON") from broken
    if not isinstance(file, dict) or file.get("format") != FORMAT:
        raise CannotRecount("it is no export of terms and ledger")
    return file


def _recounted(file: Mapping[str, Any]) -> Statement:
    try:
        return count_again(file)
    except KeyError as missing:
        raise CannotRecount(f"“{missing.args[0]}” is missing") from missing
    except (TypeError, ValueError, AttributeError) as wrong:
        raise CannotRecount(str(wrong)) from wrong
    except Refused as refused:
        facts = ", ".join([refused.code, *(f"{name} {value}" for name, value in refused.values.items())])
        raise CannotRecount(f"its terms cannot be kept ({facts})") from refused


def differences(shown: Any, counted: Any, where: str = "") -> list[str]:
    """Name every place at which two sets of figures differ."""
    if isinstance(shown, dict) and isinstance(counted, dict):
        keys = dict.fromkeys((*shown, *counted))
        pairs = [(str(key), shown.get(key), counted.get(key)) for key in keys]
    elif isinstance(shown, list) and isinstance(counted, list) and len(shown) == len(counted):
        pairs = [(str(n), a, b) for n, (a, b) in enumerate(zip(shown, counted, strict=True))]
    else:
        return [] if shown == counted else [f"{where or 'all'}: the file says {shown}, counted {counted}"]
    return [line for key, a, b in pairs for line in differences(a, b, f"{where}.{key}" if where else key)]


def main(arguments: Sequence[str]) -> int:
    """Recount one file and print the figures; the status says whether they agree with the file's own."""
    if len(arguments) != 1:
        print("Say which file to recount: python -m reviews.rules.contract.recount FILE.json", file=sys.stderr)
        return 2
    try:
        file = _read(arguments[0])
        statement = _recounted(file)
    except CannotRecount as problem:
        print(f"{arguments[0]} cannot be recounted: {problem}. Export it again.", file=sys.stderr)
        return 2
    counted = json.loads(json.dumps(figures(statement)))
    print(json.dumps(counted, indent=1, ensure_ascii=False))
    found = differences(file.get("figures"), counted)
    for line in found:
        print(line, file=sys.stderr)
    words = f"{len(found)} figures differ." if found else "The figures are those in the file."
    print(f"{words} {CAUTION}", file=sys.stderr)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
