"""A book's print set-up as plain values, the way it is stored and told in the ledger."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from reviews.press.covers import CASE_RULES, JACKET_RULES
from reviews.press.limits import INK_CONDITIONS
from reviews.press.set_up import PaperBy, PaperTold, PrinterFigures, PrintFigure, Unit

_DECIMALS = 4  # of a millimetre: an eighth of an inch survives


def figures_to_text(figures: PrinterFigures) -> dict[str, Any]:
    """Write a printer's figures."""
    return {
        "unit": figures.unit.value,
        "case_rules": figures.case_rules,
        "jacket_rules": figures.jacket_rules,
        "condition": figures.condition,
        "ink_limit": figures.ink_limit,
        "text_contrast": figures.text_contrast,
        "own": {which.value: round(mm, _DECIMALS) for which, mm in sorted(figures.own.items())},
    }


def figures_from_text(text: Mapping[str, Any]) -> PrinterFigures:
    """Read a printer's figures; what is unknown here, or came later, is the starting value."""
    blank = PrinterFigures()
    case, jacket, condition = text.get("case_rules"), text.get("jacket_rules"), text.get("condition")
    known = {which.value: which for which in PrintFigure}
    return PrinterFigures(
        unit=Unit(text.get("unit", Unit.MM)),
        case_rules=case if case in CASE_RULES else blank.case_rules,
        jacket_rules=jacket if jacket in JACKET_RULES else blank.jacket_rules,
        condition=condition if condition in INK_CONDITIONS else blank.condition,
        ink_limit=text.get("ink_limit"),
        text_contrast=text.get("text_contrast"),
        own={known[name]: float(mm) for name, mm in text.get("own", {}).items() if name in known},
    )


def paper_to_text(told: PaperTold | None) -> dict[str, Any] | None:
    """Write a paper as it was told."""
    if told is None:
        return None
    return {"by": told.by.value, "value": told.value, "bulk": told.bulk, "name": told.name}


def paper_from_text(text: Mapping[str, Any] | None) -> PaperTold | None:
    """Read a paper."""
    if not text:
        return None
    return PaperTold(PaperBy(text["by"]), float(text["value"]), float(text.get("bulk", 1.0)), text.get("name", ""))
