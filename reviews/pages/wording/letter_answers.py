"""One answer of a sent letter, as its ledger entry tells it."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from reviews.pages.wording.names import answer_words
from reviews.rules.states import Role, StageKind


def letter_answer_words(answer: dict[str, Any]) -> str:
    """Name the spread and what it was answered; a proof in the trade's words."""
    # Only a printer's proof is handed in by somebody else than the illustrator; older entries do not tell.
    is_proof = answer.get("handed_in_by", Role.ILLUSTRATOR) != Role.ILLUSTRATOR
    words = answer_words(answer["answer"], StageKind.PROOF if is_proof else "")
    words = words if is_proof else words.lower()
    if answer.get("reopened"):
        words = _("{answer} to an approved picture").format(answer=words)
    if answer.get("waits_for_second"):
        words = _("{answer}, waiting for the editor’s agreement").format(answer=words)
    return f"{answer['where']} – {words}"
