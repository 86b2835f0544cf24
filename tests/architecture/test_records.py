"""Records of six fields or more are built by name: two counts swapped by position would satisfy every checker."""

from __future__ import annotations

import ast

from tests.architecture.test_sizes import ROOT, modules

MOST_BY_POSITION = 5
#: Floors whose records are not all built by name yet; this list may only become shorter. An affine map is its matrix:
#: six numbers in the order in which everybody writes them.
EXCUSED = {"reviews/demo/", "reviews/geometry.py: Affine"}


def fields(node: ast.ClassDef) -> int:
    """Count the fields a class declares."""
    return sum(isinstance(line, ast.AnnAssign) for line in node.body)


def is_named_tuple(node: ast.ClassDef) -> bool:
    """Say whether a class is a named tuple, which cannot forbid positions itself."""
    return any(ast.unparse(base) in ("NamedTuple", "typing.NamedTuple") for base in node.bases)


def loose_records(source: str) -> list[str]:
    """Name the data classes of many fields that may be built by position."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ClassDef) and fields(node) > MOST_BY_POSITION:
            decorators = [ast.unparse(line) for line in node.decorator_list if "dataclass" in ast.unparse(line)]
            found += [node.name for line in decorators if "kw_only=True" not in line]
    return found


def long_tuples(source: str) -> set[str]:
    """Name the named tuples of many fields."""
    classes = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ClassDef)]
    return {node.name for node in classes if is_named_tuple(node) and fields(node) > MOST_BY_POSITION}


def built_by_position(source: str, names: set[str]) -> list[str]:
    """Name the calls that build one of these by position."""
    calls = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call) and node.args]
    return [f"{ast.unparse(call.func)}, line {call.lineno}" for call in calls if ast.unparse(call.func) in names]


def breaches() -> set[str]:
    """Find every record of many fields that may be, or is, built by position."""
    sources = {path.relative_to(ROOT).as_posix(): path.read_text() for path in modules()}
    tuples = set().union(*(long_tuples(source) for source in sources.values()))
    loose = {f"{where}: {name}" for where, source in sources.items() for name in loose_records(source)}
    return loose | {
        f"{where}: {call}" for where, source in sources.items() for call in built_by_position(source, tuples)
    }


def test_records_of_many_fields_are_built_by_name():
    assert {line for line in breaches() if not line.startswith(tuple(EXCUSED))} == set()


def test_nobody_is_excused_without_need():
    assert [floor for floor in EXCUSED if not any(line.startswith(floor) for line in breaches())] == []


def test_a_planted_record_would_be_found():
    many = "\n".join(f"    f{n}: int" for n in range(6))
    assert loose_records(f"@dataclass(frozen=True)\nclass Days:\n{many}\n") == ["Days"]
    assert loose_records(f"@dataclass(frozen=True, kw_only=True)\nclass Days:\n{many}\n") == []
    assert long_tuples(f"class Days(NamedTuple):\n{many}\n") == {"Days"}
    assert built_by_position("Days(1, 2)\nDays(a=1)\n", {"Days"}) == ["Days, line 1"]


def thawed(source: str) -> list[str]:
    """Name the data classes that may be changed after they are made."""
    classes = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ClassDef)]
    decorators = [(node.name, ast.unparse(line)) for node in classes for line in node.decorator_list]
    return [name for name, line in decorators if line.startswith("dataclass") and "frozen=True" not in line]


#: What gathers figures while rows or files are read, and is handed on when all are; no page's model.
GATHERERS = {"HeldCheck", "FileCheck", "StampCheck", "Snapshot", "Owned"}


def test_what_a_page_shows_is_frozen():
    sources = {path.name: path.read_text() for floor in ("pages", "queries") for path in modules(f"reviews/{floor}")}
    assert {name for source in sources.values() for name in thawed(source)} == GATHERERS
    assert thawed("@dataclass\nclass Page:\n    a: int\n") == ["Page"]
