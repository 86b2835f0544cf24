"""One name, one thing: public classes are named once in the project, and no module after a function in it.

Views and template tags are excused from the second: a view's file, the view and its address bear one name, and a tag is
loaded by its file's name.
"""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

from tests.architecture.test_sizes import ROOT, modules

#: Names that still stand twice; this list may only become shorter.
TWICE: set[str] = set()
FLOORS = ("rules", "queries", "pages", "notices", "forms", "actions")
#: Modules that still bear the name of a function in them; this list may only become shorter.
BEARS_ITS_NAME = {"reviews/pages/changed_places.py"}


def public_classes(source: str) -> list[str]:
    """Name the public classes at the top of a module; Django's ``Command`` has to bear that name."""
    names = [node.name for node in ast.parse(source).body if isinstance(node, ast.ClassDef)]
    return [name for name in names if not name.startswith("_") and name != "Command"]


def named_after_a_function(path: Path, source: str) -> bool:
    """Say whether a module bears the name of a function at its top."""
    return any(isinstance(node, ast.FunctionDef) and node.name == path.stem for node in ast.parse(source).body)


def twice() -> set[str]:
    """Name every public class that stands in more than one module."""
    counted = Counter(
        name for path in [*modules(), *modules("portal")] for name in dict.fromkeys(public_classes(path.read_text()))
    )
    return {name for name, n in counted.items() if n > 1}


def bearing_its_name() -> set[str]:
    """Name every module of the floors that is named after one of its functions."""
    paths = [path for floor in FLOORS for path in modules(f"reviews/{floor}")]
    return {path.relative_to(ROOT).as_posix() for path in paths if named_after_a_function(path, path.read_text())}


def test_every_public_class_is_named_once():
    assert twice() - TWICE == set()


def test_no_module_bears_the_name_of_its_function():
    assert bearing_its_name() - BEARS_ITS_NAME == set()


def test_nothing_is_excused_without_need():
    assert TWICE - twice() == set()
    assert BEARS_ITS_NAME - bearing_its_name() == set()


def test_planted_names_would_be_found():
    assert public_classes("class Mark: ...\nclass _Own: ...\nclass Command: ...\n") == ["Mark"]
    assert named_after_a_function(Path("replay.py"), "def replay(): ...\n")
    assert not named_after_a_function(Path("replay.py"), "def folded(): ...\n")
