"""Imaging gives codes and values, never sentences; its records are made by name, and a name means one thing."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

REVIEWS = Path(__file__).resolve().parents[2] / "reviews"
MODULES = sorted((REVIEWS / "imaging").rglob("*.py"))
MOST_BY_POSITION = 5
# What decoders say of a broken file, to know it by; and what stands inside the grey profile that we write into files.
EXCUSED = {
    "out of input",
    "samples out of range",
    "out of memory",
    "Grey on the sRGB tone curve",
    "No rights are reserved in this profile.",
}
# Three words in a row: a sentence, or a part of one.
_WORDS = re.compile(r"[A-Za-z’']{2,} [a-z’']+ [a-z’']+")
# Who reads these is a programmer or the log, never a person at a screen.
_FOR_PROGRAMMERS = {"error", "warning", "exception", "info", "debug"}


def sentences_in(source: str) -> list[str]:
    """Find the texts of a module that read like words for a person, but for docstrings, errors raised and the log."""
    tree = ast.parse(source)
    excused = set(_docstrings(tree))
    for node in ast.walk(tree):
        is_log = isinstance(node, ast.Call) and getattr(node.func, "attr", "") in _FOR_PROGRAMMERS
        if isinstance(node, ast.Raise) or is_log:
            excused |= {id(part) for part in ast.walk(node)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and id(node) not in excused
        and _WORDS.search(node.value)
    ]


def _docstrings(tree: ast.AST) -> Iterator[int]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body:
            first = node.body[0]
            if isinstance(first, ast.Expr):
                yield id(first.value)


def records_by_position(source: str) -> list[str]:
    """Find the dataclasses that can be made of many values in a row, with nothing to say which is which."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ClassDef):
            marks = [ast.unparse(mark) for mark in node.decorator_list if "dataclass" in ast.unparse(mark)]
            n_fields = sum(isinstance(part, ast.AnnAssign) for part in node.body)
            if marks and n_fields > MOST_BY_POSITION and "kw_only=True" not in marks[0]:
                found.append(node.name)
    return found


def classes() -> dict[str, list[Path]]:
    found = defaultdict(list)
    for path in REVIEWS.rglob("*.py"):
        if "migrations" not in path.parts:
            for node in ast.parse(path.read_text()).body:
                if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                    found[node.name].append(path)
    return found


def test_imaging_holds_no_sentence():
    found = {(path.name, text) for path in MODULES for text in sentences_in(path.read_text())}
    assert {(where, text) for where, text in found if text not in EXCUSED} == set()
    assert {text for _, text in found} == EXCUSED, "nobody is excused without need"


def test_a_sentence_would_be_found():
    assert sentences_in('def f(n):\n    """Say it."""\n    return f"This file has {n} pages."') == ["This file has "]
    assert sentences_in('raise ValueError("This is no picture at all.")') == []


def test_records_of_six_fields_and_more_are_made_by_name():
    found = {str(path.relative_to(REVIEWS)): records_by_position(path.read_text()) for path in MODULES}
    assert {where: names for where, names in found.items() if names} == {}


def test_a_record_by_position_would_be_found():
    fields = "".join(f"    field_{n}: int\n" for n in range(6))
    assert records_by_position(f"@dataclass(frozen=True)\nclass Long:\n{fields}") == ["Long"]
    assert records_by_position(f"@dataclass(frozen=True, kw_only=True)\nclass Long:\n{fields}") == []


def test_no_class_of_imaging_shares_its_name_with_another():
    twice = {name: where for name, where in classes().items() if len(where) > 1}
    assert {name for name, where in twice.items() if any(path in MODULES for path in where)} == set()


def test_no_module_of_imaging_shares_its_name_with_a_function_in_it():
    for path in MODULES:
        functions = {node.name for node in ast.parse(path.read_text()).body if isinstance(node, ast.FunctionDef)}
        assert path.stem not in functions, path
