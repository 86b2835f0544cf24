"""The demo's contract as text: what was signed, with the days and rounds of the stage plans and its two dates."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from reviews.demo.people import TERMS
from reviews.models import Book
from reviews.queries.terms import implied_terms
from reviews.rules.contract.fees import COVER
from reviews.rules.contract.terms_text import terms_to_text
from reviews.rules.states import StageKind

#: Working days from today to the day fixed for the cover's proof: the sales conference is shown it.
COVER_PROOF = 104


def contract_text(
    book: Book, changes: Mapping[str, Any], *, signed_on: date, cover_proof_on: date, amended_on: date
) -> dict[str, Any]:
    """Write the terms in the form of ``rules.terms_text``; ``changes`` amend them from ``amended_on`` on."""
    plans = terms_to_text(implied_terms(book))
    proofs = [line for line in plans["stages"] if line["stage"] == StageKind.PROOF]
    of_cover = next((line for line in proofs if line["part"] == COVER), proofs[0])
    fixed = of_cover | {"part": COVER, "hand_in_on": cover_proof_on.isoformat()}
    stages = [*(line for line in plans["stages"] if line is not of_cover or line["part"] != COVER), fixed]
    own = {"stages": stages, "groups": plans["groups"], "signed_on": signed_on.isoformat()}
    return TERMS | own | dict(changes) | ({"from_on": amended_on.isoformat()} if changes else {})
