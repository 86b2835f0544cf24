"""Every code of the printed object has its words, and each refusal's words can be filled from its values."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from reviews.pages.wording import press as words
from reviews.press.file_check import FileFault, NotLooked, Weight
from reviews.press.flats import GuideKind, PanelKind
from reviews.press.page_plan import BindingKind, Caution, EndsKind
from reviews.press.proof_check import Criterion, ProofVerdict
from reviews.press.refused import CannotPrint

PRESS = Path(__file__).resolve().parents[2] / "reviews" / "press"


def raised() -> dict[str, set[str]]:
    """Find every CannotPrint of press with the names of its values."""
    found: dict[str, set[str]] = {}
    for path in PRESS.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "CannotPrint":
                found.setdefault(node.args[0].value, set()).update(k.arg for k in node.keywords)
    return found


def test_every_refusal_has_its_sentence_and_none_is_left_over():
    assert set(raised()) == set(words.REFUSED)


@pytest.mark.parametrize("code", sorted(words.REFUSED))
def test_a_refusal_says_what_is_wrong_and_what_to_do(code):
    sample = {
        "what": "bleed", "binding": BindingKind.BOARD, "ends": EndsKind.SELF, "kind": PanelKind.FLAP,
        "columns": ["LAB_L"],
    }  # fmt: skip
    values = {name: sample.get(name, 7) for name in raised()[code]}
    sentence = words.refusal(CannotPrint(code, **values))
    named = re.sub(r"\{(book|pages|stage|version|name)\}", "", sentence)  # what a pattern is told to be written with
    assert ("{" not in named and sentence[0].isupper()) or sentence[0].isdigit()
    assert sentence.endswith(".") and sentence.count(".") >= 1


def test_every_closed_word_has_its_words():
    for kinds, table in (
        (BindingKind, words.BINDINGS), (EndsKind, words.ENDS), (PanelKind, words.PANELS), (GuideKind, words.GUIDES),
        (Criterion, words.CRITERIA), (ProofVerdict, words.VERDICTS),
    ):  # fmt: skip
        assert set(kinds) == set(table)
    assert len({words.caution(code, 36) for code in Caution}) == len(Caution)


def test_every_fault_and_every_check_not_made_has_its_words():
    assert set(FileFault) == set(words.FAULTS)
    assert set(Weight) == set(words.WEIGHTS)
    assert set(NotLooked) == set(words.NOT_LOOKED)
