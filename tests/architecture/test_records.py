"""Records of six fields or more are built by name: two counts swapped by position would satisfy every checker."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

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


#: So many fields taken over from one record are a rebuild of it.
LEAST_TAKEN_OVER = 4
#: What reads like a rebuild and is none, because the two only name their fields alike: a line of the statement begins
#: with what its passage's story says, and an event with what its ledger entry says. This list may only become shorter.
NAMED_ALIKE = {
    "reviews/rules/contract/statement.py: PassageLine from passage_story",
    "reviews/rules/contract/timeline.py: Event from entry",
}


def records_of(sources: Iterable[str]) -> dict[str, set[str]]:
    """Name what can be read off each record: fields, properties and methods, its bases' too."""
    own, bases = {}, {}
    for node in (node for source in sources for node in ast.walk(ast.parse(source))):
        if isinstance(node, ast.ClassDef):
            declared = [line.target.id for line in node.body if isinstance(line, ast.AnnAssign)]
            own[node.name] = {*declared, *(line.name for line in node.body if isinstance(line, ast.FunctionDef))}
            bases[node.name] = [ast.unparse(base) for base in node.bases]
            is_data = any("dataclass" in ast.unparse(line) for line in node.decorator_list)
            own[node.name] |= {"_is_record"} if is_data or is_named_tuple(node) else set()
    whole = {name: own[name].union(*(own.get(base, set()) for base in bases[name])) for name in own}
    return {name: read - {"_is_record"} for name, read in whole.items() if "_is_record" in read}


def taken_over(call: ast.Call) -> Iterator[str]:
    """Name the values from which a call takes many attributes over under their own names."""
    values = [(word.arg, word.value) for word in call.keywords if isinstance(word.value, ast.Attribute)]
    counted = Counter(ast.unparse(value.value) for name, value in values if name == value.attr)
    yield from (name for name, n in counted.items() if n >= LEAST_TAKEN_OVER)


def rebuilds(source: str, records: Mapping[str, set[str]]) -> list[str]:
    """Name the calls that build a record from the fields of one that may be of its own kind.

    Without types: a value of which something is read, in the same function, that this record has not, is another thing;
    so is ``self`` in another class.
    """
    tree, found = ast.parse(source), []
    within = {id(each): node.name for node in ast.walk(tree) if isinstance(node, ast.ClassDef) for each in node.body}
    for function in (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)):
        attributes = [node for node in ast.walk(function) if isinstance(node, ast.Attribute)]
        for call in (node for node in ast.walk(function) if isinstance(node, ast.Call)):
            kind = ast.unparse(call.func).rpartition(".")[2]
            for value in taken_over(call) if kind in records else ():
                read = {node.attr for node in attributes if ast.unparse(node.value) == value}
                is_elsewhere = value == "self" and within.get(id(function)) != kind
                if read <= records[kind] and not is_elsewhere:
                    found.append(f"{kind} from {value}")
    return found


def found_rebuilds() -> set[str]:
    """Find every record that is built anew from the fields of another."""
    sources = {path.relative_to(ROOT).as_posix(): path.read_text() for path in modules()}
    records = records_of(sources.values())
    return {f"{where}: {line}" for where, source in sources.items() for line in rebuilds(source, records)}


def test_records_change_by_replace():
    assert found_rebuilds() - NAMED_ALIKE == set()


def test_nothing_is_called_alike_without_need():
    assert NAMED_ALIKE - found_rebuilds() == set()


def test_a_planted_rebuild_would_be_found():
    line = "@dataclass(frozen=True)\nclass Line:\n    a: int\n    b: int\n    c: int\n    d: int\n    e: int\n"
    records = records_of([line, "class Longer(Line):\n    f: int\n", "class Row:\n    a: int\n"])
    assert records == {"Line": {*"abcde"}, "Longer": {*"abcdef"}}
    built = "Line(a=x.a, b=x.b, c=x.c, d=x.d, e=0)"
    assert rebuilds(f"def late(x):\n    return {built}\n", records) == ["Line from x"]
    assert rebuilds(f"def late(x):\n    return lines.{built}\n", records) == ["Line from x"]
    assert rebuilds(f"def late(x):\n    return [{built} for x in x.e]\n", records) == ["Line from x"]
    assert rebuilds(f"def late(x):\n    return {built} if x.pk else None\n", records) == [], "a line has no such field"
    assert rebuilds("def late(x):\n    return replace(x, e=0)\n", records) == []
    assert rebuilds("def late(x, y):\n    return Line(a=x.a, b=x.b, c=y.c, d=y.d, e=0)\n", records) == []
    own = "        return Line(a=self.a, b=self.b, c=self.c, d=self.d, e=0)\n"
    assert rebuilds(f"class Line:\n    def late(self):\n{own}", records) == ["Line from self"]
    assert rebuilds(f"class Row:\n    def late(self):\n{own}", records) == []
