"""Nothing of ours fetches an address that somebody gave; the table of security requirements names tests that exist."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest
from django.apps import apps

ROOT = Path(__file__).resolve().parents[2]
#: Modules by which a program asks other machines for something. Mail, the store and the broker are Django's,
#: django-storages' and Celery's affair, under addresses that only the settings name.
FETCHERS = {"requests", "httpx", "urllib3", "aiohttp", "http.client", "urllib.request", "ftplib"}
TIME_STAMPS = "reviews/tasks/time_stamps.py"
#: Requirements of ASVS 5.0.0 that were chosen for this portal.
CHOSEN = [
    "2.3.1", "2.3.3", "2.3.5", "1.3.4", "1.3.6", "1.5.1", "3.2.1", "3.3.1", "3.3.2", "3.3.3", "3.3.4", "3.4.1",
    "3.4.3", "3.4.4", "3.4.5", "3.4.6", "3.5.1", "5.1.1", "5.2.1", "5.2.2", "5.2.3", "5.2.4", "5.2.6", "5.3.1",
    "5.3.2", "5.3.3", "5.4.1", "5.4.2", "5.4.3", "6.3.1", "6.3.3", "6.4.1", "7.2.4", "7.4.1", "7.4.2", "7.4.5",
    "8.2.1", "8.2.2", "8.2.3", "8.3.1", "8.3.2", "8.4.1", "11.5.1", "13.4.1", "13.4.2", "14.1.1", "14.2.1",
    "14.2.2", "14.2.3", "14.2.7", "14.2.8", "14.3.2", "15.2.2", "16.2.1", "16.3.1", "16.3.2", "16.4.2",
]  # fmt: skip


def imported(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def test_nothing_of_ours_fetches_an_address():
    """But for one, which asks the service that the settings name, and whose address no user can write."""
    users = {
        path.relative_to(ROOT).as_posix(): found
        for folder in ("reviews", "portal")
        for path in ROOT.joinpath(folder).rglob("*.py")
        if (found := imported(path) & FETCHERS)
    }
    assert users == {TIME_STAMPS: {"urllib.request"}}


def test_the_one_that_does_asks_at_the_settings_address_only():
    called = [node for node in ast.walk(ast.parse((ROOT / TIME_STAMPS).read_text())) if isinstance(node, ast.Call)]
    first = {ast.unparse(call.func): [ast.unparse(arg) for arg in call.args][:1] for call in called}
    assert first["Request"] == ["settings.TIMESTAMP_URL"]
    assert first["build_opener"] == ["_StaysThere"] and first["build_opener(_StaysThere).open"] == ["request"]
    assert "urlopen" not in first, "it would follow wherever an answer sends it"


def rows() -> dict[str, tuple[str, str]]:
    """Read the table of DEVELOPERS.md: requirement, tests, reason."""
    text = (ROOT / "DEVELOPERS.md").read_text()
    found = re.findall(r"^\| ([\d., ]+) \|([^|]*)\|([^|]*)\|$", text, re.MULTILINE)
    return {number: (tests, reason) for numbers, tests, reason in found for number in numbers.split(", ")}


@cache
def names_of_tests() -> set[str]:
    return {
        node.name
        for path in ROOT.joinpath("tests").rglob("test_*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }


def test_every_chosen_requirement_stands_in_the_table_once():
    assert sorted(rows()) == sorted(CHOSEN)


@pytest.mark.parametrize("number", CHOSEN)
def test_each_is_met_by_a_test_that_exists_or_left_with_a_reason(number):
    tests, reason = rows()[number]
    named = re.findall(r"`(test_\w+)`", tests)
    assert named or len(reason.split()) > 5
    assert set(named) <= names_of_tests()


def test_every_table_is_in_one_class_of_what_is_confidential():
    """A new table says in DEVELOPERS.md, under “What is confidential”, whose it is and how long it is kept."""
    text = (ROOT / "DEVELOPERS.md").read_text().split("### What is confidential")[1].split("\n## ")[0]
    rows_told = re.findall(r"^\| ([^|]+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$", text, re.MULTILINE)[2:]
    assert len(rows_told) >= 5 and all(len(cell.strip()) > 3 for row in rows_told for cell in row)
    told = [name for _, names, _, _ in rows_told for name in names.split(", ")]
    assert sorted(told) == sorted(model.__name__ for model in apps.get_app_config("reviews").get_models())
