"""The clauses of a version that the ordinary contract does not have, for whoever counts again without the portal."""

from __future__ import annotations

from typing import Any

from reviews.rules.contract.terms import RoundsPer, Terms
from reviews.rules.contract.terms_text import terms_to_text

#: What each says where the contract says nothing of it.
_ORDINARY: dict[str, Any] = {
    "closures": [],
    "worked": [],
    "printer_place": "",
    "fixed_runs_on": True,
    "new_work_after": "",
    "silences": [],
    "hand_in_grace": 0,
    "answer_grace": 0,
    "prices": [],
    "free_share": None,
    "signed_on": None,
    "published_on": None,
    "kill_pro_rata": False,
    "rejection": [],
    "moves_at_most": None,
}
_INSTALMENT_ORDINARY: dict[str, Any] = {"part": "", "of_spreads": 100, "after_days": None}
_STAGE_ORDINARY: dict[str, Any] = {
    "redo_days": None, "second_look_days": None, "unit": "working",
    "hand_in_on": None, "answer_on": None,
}  # fmt: skip


def clauses_of(terms: Terms) -> dict[str, Any]:
    """List the clauses that change how rounds, days and money are counted, under the names of the terms' text."""
    text = terms_to_text(terms)
    found = {name: text[name] for name, ordinary in _ORDINARY.items() if text[name] != ordinary}
    stages = [line for line in text["stages"] if any(line[name] != was for name, was in _STAGE_ORDINARY.items())]
    groups = [group for group in text["groups"] if group["per"] != RoundsPer.SPREAD]
    parts = [
        part for part in text["instalments"] if any(part[name] != was for name, was in _INSTALMENT_ORDINARY.items())
    ]
    found |= {"instalments": parts} if parts else {}
    return found | ({"stages": stages} if stages else {}) | ({"rounds": groups} if groups else {})
