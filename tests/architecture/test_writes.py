"""Only actions write: found by reading the code, because an import check cannot see a call."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# jobs.py writes one kind of row, the work that a deed asks for, and only inside that deed's transaction.
WRITERS = ("reviews/actions/", "reviews/migrations/", "reviews/jobs.py")
# Reached through a manager or a queryset these write rows; on a dict or a hash the same words are harmless.
ROW_VERBS = {"create", "get_or_create", "update_or_create", "bulk_create", "bulk_update", "update", "delete"}
MANAGER_WORDS = {"objects", "filter", "exclude", "all", "select_for_update", "order_by"}


def writes_in(source: str) -> list[tuple[int, str]]:
    """List (line, verb) of every call in a module that writes a row."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
            continue
        verb = node.func.attr
        if (verb == "save" and not _is_file_save(node)) or (verb in ROW_VERBS and _reaches_a_manager(node.func.value)):
            found.append((node.lineno, verb))
    return found


def _is_file_save(node: ast.Call) -> bool:
    # A picture is saved to a path and a storage saves (name, content); a row's save takes no positional argument.
    return bool(node.args)


def _reaches_a_manager(node: ast.expr) -> bool:
    while True:
        if isinstance(node, ast.Attribute):
            if node.attr in MANAGER_WORDS:
                return True
            node = node.value
        elif isinstance(node, ast.Call):
            node = node.func
        else:
            return False


def modules() -> list[Path]:
    paths = [*ROOT.joinpath("reviews").rglob("*.py"), *ROOT.joinpath("portal").rglob("*.py")]
    return [path for path in paths if not path.relative_to(ROOT).as_posix().startswith(WRITERS)]


def test_nothing_but_actions_writes_rows():
    breaches = [
        f"{path.relative_to(ROOT)}:{line} .{verb}()" for path in modules() for line, verb in writes_in(path.read_text())
    ]
    assert breaches == []


@pytest.mark.parametrize(
    "planted",
    [
        "passage.save()",
        "note.save(update_fields=['words'])",
        "Note.objects.create(words='x')",
        "Note.objects.filter(pk=1).update(words='x')",
        "book.notes.all().delete()",
        "Job.objects.bulk_create([])",
    ],
)
def test_a_planted_write_is_found(planted):
    assert writes_in(planted)


@pytest.mark.parametrize(
    "harmless", ["{}.update(a=1)", "digest.update(b'x')", "image.save(path)", "storage.save(name, file)", "d.delete()"]
)
def test_what_is_no_write_is_left_alone(harmless):
    assert not writes_in(harmless)


def claims(function: ast.FunctionDef) -> int:
    """Count the deeds that a function begins: each claims the press of the request it is in."""
    calls = [node.func for node in ast.walk(function) if isinstance(node, ast.Call)]
    return sum(isinstance(called, ast.Name) and called.id in {"deed_on", "deeds_on"} for called in calls)


def functions(source: str) -> list[ast.FunctionDef]:
    return [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.FunctionDef)]


def test_no_deed_is_asked_about_by_a_deed_that_claims_the_press():
    """What fails between the two was not done, and the same press again would be told that it was: `ask_about` asks."""
    twice = [
        f"{path.name}: {function.name}"
        for path in (ROOT / "reviews" / "actions").glob("*.py")
        for function in functions(path.read_text())
        if claims(function) > 1
    ]
    assert twice == []


def test_a_planted_claim_before_the_deed_would_be_found():
    asked, done = (
        "    with deed_on(A, 1, B, c) as act:\n        act.void()\n",
        "    with deed_on(A, 1, B, c):\n        pass\n",
    )
    planted = f"def f():\n{asked}{done}"
    assert claims(functions(planted)[0]) == 2
