"""Time comes in by one door: rules have no clock, and only the demo tells stories in the past."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def names_used(path: Path) -> set[str]:
    tree = ast.parse(path.read_text())
    called = {n.attr for n in ast.walk(tree) if isinstance(n, ast.Attribute)}
    return called | {n.id for n in ast.walk(tree) if isinstance(n, ast.Name)}


def test_only_the_demo_lets_deeds_happen_in_the_past():
    users = {
        path.relative_to(ROOT).as_posix()
        for path in ROOT.joinpath("reviews").rglob("*.py")
        if "as_if_at" in names_used(path)
    }
    assert users <= {"reviews/demo/teller.py"}


def test_actions_take_the_moment_from_their_one_clock():
    users = {path.name for path in ROOT.joinpath("reviews", "actions").rglob("*.py") if "timezone" in names_used(path)}
    # Work, mail, forecasts and secret links live in real time whatever story is told; clock.py is the door itself.
    assert users <= {"clock.py", "jobs.py", "notices.py", "forecasts.py", "feeds.py", "reminders.py", "_outbox.py"} | {
        "presses.py", "standing.py",  # the portal itself
    }  # fmt: skip
