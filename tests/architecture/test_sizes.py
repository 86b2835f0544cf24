"""Rooms stay small: module 400 lines, function 40, view 25. The excused names may only become fewer."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MODULE_LINES, FUNCTION_LINES, VIEW_LINES = 400, 40, 25
EXCUSED: set[str] = set()


def functions(path: Path) -> list[tuple[str, int]]:
    """List (name, lines without the docstring) of every function in a module."""
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or node.lineno) - node.lineno + 1
            first = node.body[0]
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                lines -= (first.end_lineno or first.lineno) - first.lineno + 1
            found.append((node.name, lines))
    return found


def modules(folder: str = "reviews") -> list[Path]:
    return [path for path in ROOT.joinpath(folder).rglob("*.py") if "migrations" not in path.parts]


def too_long() -> set[str]:
    over = set()
    for path in [*modules(), *modules("portal")]:
        where = path.relative_to(ROOT).as_posix()
        if len(path.read_text().splitlines()) > MODULE_LINES:
            over.add(where)
        most = VIEW_LINES if "/views/" in where else FUNCTION_LINES
        over |= {f"{where}:{name}" for name, lines in functions(path) if lines > most}
    return over


def test_modules_functions_and_views_stay_within_their_size():
    assert too_long() - EXCUSED == set()


def test_nobody_is_excused_without_need():
    assert EXCUSED - too_long() == set()


def test_package_files_stay_empty():
    # One exception: Django needs all tables imported when the application loads.
    filled = [p for p in modules() if p.name == "__init__.py" and p.read_text().strip()]
    assert [p.parent.name for p in filled] == ["models"]
