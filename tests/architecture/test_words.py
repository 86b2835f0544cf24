"""No sentence is made below the pages: rules, rows and deeds give codes and values, and pages put them in words."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from reviews.pages.wording.names import STAGE_WORDS
from reviews.pages.wording.term_sets import CAUTION
from reviews.rules.contract import recount
from reviews.rules.states import STAGE_NAMES

ROOT = Path(__file__).resolve().parents[2]
FLOORS = ("rules", "imaging", "press", "models", "actions", "queries", "storage", "jobs", "geometry", "uploads")

# Literals that people read and that stay below, by file and by name, each for its reason. The lists may only shrink:
# what is named here and is not there any more fails.
EXCUSED: dict[str, set[str]] = {
    # Asked of the database.
    "actions/_originals.py": {"SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))"},
    "queries/snapshots.py": {"SELECT app, name FROM django_migrations ORDER BY app, name"},
    # The ledger holds rows under these names for ever; they stand in words in ``wording/ledger_faults``.
    "queries/held_rows.py": {"hand-placed note", "stage plan"},
    # Said of a payload that a programmer wrote wrong, and a mark in its declaration.
    "rules/payloads.py": {" is missing", " is not declared"},
    "rules/payload_shapes.py": {"older entries lack it"},
    # An error that only the log of the portal tells.
    # A word of the mail server that is missing, handed on among its words.
    "queries/outages.py": {"no reason given"},
    "queries/store_turns.py": {
        "The store has not answered what it was asked before.",
        "As many files as may be are on their way to or from the store.",
    },
    # What the libraries that decode say in their own words: by these it is told what went wrong.
    "imaging/files/refusing.py": {
        "bad huffman",
        "cannot allocate",
        "contain page",
        "data segment",
        "decoder plugin",
        "end of",
        "found marker",
        "is blocked",
        "jpeg file",
        "no codec",
        "not configured",
        "not enough",
        "not implemented",
        "not supported",
        "out of input",
        "out of memory",
        "read error",
        "samples out of range",
        "short read",
        "unexpected eof",
        "unknown compression",
    },
    "imaging/files/tiff_unusual.py": {"the other library sees another picture"},
    "imaging/files/opening.py": {"the page could not be drawn"},
    # Marks of a file format, and what our own grey profile says inside itself.
    "imaging/files/psd.py": {"</Layer group>"},
    "imaging/sheets/grey.py": {"Grey on the sRGB tone curve", "No rights are reserved in this profile."},
    # Part of a stored picture's facts, and of a stored file's name.
    "imaging/files/colour.py": {"unnamed profile"},
    "rules/derived.py": {"ink only"},
    # The ledger, and so each row's own name, holds these for ever; screens have words of their own (``wording/names``).
    "rules/states.py": {"Full sketch", "Special finish"},
    "rules/contract/timeline.py": {"spread "},
    "press/pages.py": {"Front ends", "Back ends"},
    "actions/_ledger.py": {"The portal"},
    # Names that a ready set gives to what a person then edits as their own.
    "rules/contract/plans.py": {"line and ink"},
    "rules/contract/term_sets.py": {
        "line and ink",
        "finish and proof",
        "On signature",
        "On delivery of the sketches",
        "On acceptance of the colour",
        "On approval of the sketches",
        "On approval of the colour",
        "At the start",
    },
}
# This report is run where the portal is not, so its sentences are its own.
OF_ITS_OWN = {"rules/contract/recount.py"}
_WORDS = re.compile(r"(^|[^\w-])[a-z]{3,}([^\w-]|$)")


def is_sentence(text: str) -> bool:
    """Say whether a literal reads like words for a person: a space in it, and a lower-case word of three letters."""
    return " " in text and _WORDS.search(text) is not None


def _spared(tree: ast.AST) -> Iterator[ast.AST]:
    """Find what no person reads: docstrings, errors and log lines for programmers, a row's own name, help texts."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node) is not None:
            yield node.body[0]
        if isinstance(node, ast.FunctionDef) and node.name in ("__str__", "__repr__"):
            yield node
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) and _name(node.exc.func) in _ERRORS:
            yield node.exc
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and _name(node.func.value) in _LOGS:
            yield node
        if isinstance(node, ast.keyword) and node.arg == "help_text":
            yield node


_ERRORS = {
    "FileNotFoundError",
    "TooNarrow",
    "HeicError",
    "ValueError",
    "TypeError",
    "AssertionError",
    "RuntimeError",
    "LeaseLost",
    "LedgerIsKept",
}
_LOGS = {"log", "_LOG"}


def _name(node: ast.AST) -> str:
    return node.id if isinstance(node, ast.Name) else ""


def sentences_in(source: str) -> set[str]:
    """List the literals of a module that read like words for a person."""
    tree = ast.parse(source)
    spared = {id(part) for found in _spared(tree) for part in ast.walk(found)}
    return {
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and id(node) not in spared
        and is_sentence(node.value)
    }


def modules() -> Iterator[tuple[str, set[str]]]:
    for path in sorted(ROOT.joinpath("reviews").rglob("*.py")):
        name = path.relative_to(ROOT / "reviews")
        if name.parts[0].removesuffix(".py") in FLOORS:
            yield name.as_posix(), sentences_in(path.read_text())


def test_no_sentence_is_made_below_the_pages():
    found = {}
    for name, sentences in modules():
        left = set() if name in OF_ITS_OWN else sentences - EXCUSED.get(name, set())
        if left:
            found[name] = sorted(left)
    assert found == {}


def test_what_is_excused_is_still_there():
    there = dict(modules())
    gone = {name: words - there.get(name, set()) for name, words in EXCUSED.items()}
    assert {name: words for name, words in gone.items() if words} == {}
    assert {name for name in OF_ITS_OWN if not there.get(name)} == set(), "take it off the list"


@pytest.mark.parametrize(
    "planted",
    [
        'raise Refused("no", why="it is too late")',
        'def words(n):\n    return f"{n} spreads are late"',
        'LABELS = {1: "With the publisher"}',
        "class Row:\n    label = 'Not answered yet'",
    ],
)
def test_a_planted_sentence_is_found(planted):
    assert len(sentences_in(planted)) == 1


@pytest.mark.parametrize(
    "spared",
    [
        'def rule():\n    """Say what is asked."""',
        'raise ValueError("a programmer reads this")',
        'log.warning("Job %s was lost", 1)',
        'def __str__(self):\n    return f"letter {self.pk} of it"',
        'CODE = "not-yours"\nMARK = "× of 2"',
    ],
)
def test_what_nobody_reads_is_spared(spared):
    assert sentences_in(spared) == set()


def test_a_stage_is_called_on_screens_what_the_ledger_calls_it():
    assert {kind: str(words) for kind, words in STAGE_WORDS.items()} == STAGE_NAMES


def test_the_report_that_runs_without_us_carries_the_same_caution():
    assert str(CAUTION) == recount.CAUTION
