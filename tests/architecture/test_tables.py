"""The tables are whole: every address, every deed, every refusal, every job has its entry."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

from reviews import jobs
from reviews.pages.wording.ledger import SENTENCES
from reviews.pages.wording.refusals import REFUSALS
from reviews.rules.addresses import PAGES
from reviews.rules.audiences import AUDIENCES
from reviews.rules.permits import PERMITS, VIEWS
from reviews.rules.states import Deed
from reviews.tasks import registry

ROOT = Path(__file__).resolve().parents[2]


def address_names(resolver: URLResolver | None = None) -> set[str]:
    """Name every address in the URLconf."""
    names: set[str] = set()
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            names |= address_names(entry)
        elif isinstance(entry, URLPattern):
            names.add(entry.name or str(entry.pattern))
    return names


def test_every_address_stands_in_the_access_table():
    assert address_names() - set(PAGES) == set()


def test_the_access_table_names_no_address_that_is_gone():
    # The demo's sign-in is routed only while the demo runs.
    assert set(PAGES) - address_names() == {"demo-sign-in"}


def test_every_page_asks_for_something_known():
    for name, asks in PAGES.items():
        assert asks in {"public", "signed-in", "operator"} or asks in VIEWS or asks in PERMITS, name


@pytest.mark.parametrize("deed", list(Deed))
def test_every_deed_has_its_sentence_its_audience_and_its_row(deed):
    assert deed in SENTENCES
    assert deed in AUDIENCES
    assert deed in PERMITS


# A page layout that cannot exist is refused further down, where `Refused` is not known; its codes are the same kind.
_REFUSING = ("Refused", "CannotPrint")


def refusal_codes_raised() -> dict[str, str]:
    """Find every Refused("code") and CannotPrint("code") in the code, with where it stands."""
    found = {}
    for path in ROOT.joinpath("reviews").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in _REFUSING and node.args:
                for code in ast.walk(node.args[0]):
                    if isinstance(code, ast.Constant) and isinstance(code.value, str):
                        found[code.value] = f"{path.relative_to(ROOT)}:{node.lineno}"
    return found


def test_every_refusal_has_its_sentence():
    missing = {code: where for code, where in refusal_codes_raised().items() if code not in REFUSALS}
    assert missing == {}


def test_a_planted_refusal_without_a_sentence_would_be_found():
    assert "no-such-code" not in REFUSALS
    assert set(refusal_codes_raised()) & {"already-handed-in", "letter-sent", "not-yours", "page-twice"} == {
        "already-handed-in",
        "letter-sent",
        "not-yours",
        "page-twice",
    }


def test_refusals_are_sentences():
    for code, sentence in REFUSALS.items():
        assert re.search(r"[.!?]$", str(sentence)), code


def test_every_job_is_done_by_somebody():
    assert set(registry.load()) == set(jobs.KINDS)
