"""A guest sees one passage: whatever hangs on a passage is fetched through ``seat_for``, which asks."""

from __future__ import annotations

import ast
from pathlib import Path

ACCESS = Path(__file__).resolve().parents[2] / "reviews/queries/access.py"
#: A book and its letters belong to no one passage; the table of views keeps guests from them.
OF_THE_BOOK = {"get_book", "get_letter", "get_invoice", "get_payment"}


def callers(source: str, name: str) -> set[str]:
    """Name the functions of a module that call another by its name."""
    return {
        function.name
        for function in ast.parse(source).body
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name
    }


def test_every_getter_asks_for_the_seat_in_one_of_two_ways():
    source = ACCESS.read_text()
    getters = {node.name for node in ast.parse(source).body if isinstance(node, ast.FunctionDef)}
    getters = {name for name in getters if name.startswith("get_")}
    of_the_book = callers(source, "_seat_on") | callers(source, "_seat_among")
    assert of_the_book == OF_THE_BOOK | {"seat_for"}
    assert callers(source, "seat_for") == getters - OF_THE_BOOK
    assert len(getters - OF_THE_BOOK) >= 5


def test_a_planted_getter_that_forgets_guests_would_be_found():
    planted = ACCESS.read_text() + "\n\ndef get_sheet(person, passage):\n    return _seat_on(person, passage.book_id)\n"
    assert "get_sheet" in callers(planted, "_seat_on")
    assert "get_sheet" in callers(planted.replace("return _seat_on", "return _seat_among"), "_seat_among")
