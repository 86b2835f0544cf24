"""Rooms stay small: module 400 lines, function 40, view 25, line of a page 160. Excused names may only become fewer."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MODULE_LINES, FUNCTION_LINES, VIEW_LINES = 400, 40, 25
TEMPLATE_LINE = 160
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


def test_lines_of_pages_can_be_read_without_scrolling_aside():
    """A mail's plain text is left alone: its line breaks are the reader's."""
    pages = sorted(ROOT.joinpath("templates").rglob("*.html"))
    assert len(pages) > 100
    assert [
        f"{page.relative_to(ROOT)}:{n}"
        for page in pages
        for n, line in enumerate(page.read_text().splitlines(), 1)
        if len(line) > TEMPLATE_LINE
    ] == []


def test_nobody_is_excused_without_need():
    assert EXCUSED - too_long() == set()


def is_a_sign(source: str) -> bool:
    """Say whether a package file holds its sentence and public names only: a docstring, imports, ``__all__``."""
    body = ast.parse(source).body
    if body and isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
        body = body[1:]
    return all(
        isinstance(node, ast.ImportFrom)
        or (isinstance(node, ast.Assign) and [getattr(t, "id", "") for t in node.targets] == ["__all__"])
        for node in body
    )


def test_package_files_hold_their_sentence_and_public_names_only():
    # One exception: Django needs all tables imported when the application loads.
    packages = [p for p in modules() if p.name == "__init__.py" and p.parent.name != "models"]
    assert [p.parent.name for p in packages if not is_a_sign(p.read_text())] == []


def test_every_room_has_a_sign_on_its_door():
    rooms = [p for floor in ("imaging", "rules") for p in (ROOT / "reviews" / floor).glob("*/__init__.py")]
    assert len(rooms) >= 8
    for room in [*rooms, ROOT / "reviews/pages/__init__.py"]:
        assert ast.get_docstring(ast.parse(room.read_text())), room


def test_code_in_a_package_file_would_be_found():
    assert is_a_sign('"""A room."""\nfrom x import y\n__all__ = ["y"]\n')
    assert not is_a_sign("def f():\n    return 1\n")
    assert not is_a_sign("LIMIT = 3\n")
