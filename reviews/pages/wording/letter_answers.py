"""What a letter answers: the words of its buttons, of what was answered, and of one answer in the ledger."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.kept import kept_by_language
from reviews.rules.states import Answer, ErrorOf, Role, StageKind

ANSWER_WORDS: dict[Answer, Promise] = {
    Answer.APPROVE: gettext_lazy("Approved"),
    Answer.APPROVE_SMALL: gettext_lazy("Approved with small notes"),
    Answer.ASK: gettext_lazy("Changes asked for"),
}
_BUTTONS: dict[Answer, Promise] = {
    Answer.APPROVE: gettext_lazy("Approve"),
    Answer.APPROVE_SMALL: gettext_lazy("Approve with small notes"),
    Answer.ASK: gettext_lazy("Ask for changes"),
}

#: What a letter says to what the printer made, in the trade's words, on its buttons and afterwards.
PRINTERS_ANSWER_WORDS: dict[StageKind, dict[Answer, Promise]] = {
    StageKind.PROOF: {
        Answer.APPROVE: gettext_lazy("OK to print"),
        Answer.APPROVE_SMALL: gettext_lazy("OK with corrections"),
        Answer.ASK: gettext_lazy("New proof"),
    },
    StageKind.GATHERED: {
        Answer.APPROVE: gettext_lazy("OK to bind"),
        Answer.APPROVE_SMALL: gettext_lazy("OK to bind after corrections"),
        Answer.ASK: gettext_lazy("New F&Gs"),
    },
}


@kept_by_language
def answer_words(answer: str, stage: str = "") -> str:
    """Say what a letter answers; what the printer made is answered as the trade does."""
    words = PRINTERS_ANSWER_WORDS.get(StageKind(stage), ANSWER_WORDS) if stage else ANSWER_WORDS
    return str(words[Answer(answer)])


@kept_by_language
def answer_button(answer: str, stage: str) -> str:
    """Name the button that gives an answer at a stage."""
    return str(PRINTERS_ANSWER_WORDS.get(StageKind(stage), _BUTTONS)[Answer(answer)])


def answer_in_a_sentence(answer: str, stage: str = "") -> str:
    """Say what a letter answers within a sentence; the trade's own words keep their capitals."""
    words = answer_words(answer, stage)
    return words if stage in PRINTERS_ANSWER_WORDS else words.lower()


def printers_stage(answer: Mapping[str, Any]) -> str:
    """Name the printer's stage that an answer in the ledger is of; nothing where the illustrator handed it in."""
    # Only what the printer made is handed in by somebody else than the illustrator; older entries do not tell. That was
    # a proof, until entries named their stage.
    if answer.get("handed_in_by", Role.ILLUSTRATOR) == Role.ILLUSTRATOR:
        return ""
    return str(answer.get("stage", StageKind.PROOF))


def letter_answer_words(answer: dict[str, Any]) -> str:
    """Name the spread and what it was answered, what the printer made in the trade's words."""
    words = answer_in_a_sentence(answer["answer"], printers_stage(answer))
    if answer.get("reopened"):
        words = _("{answer} to an approved picture").format(answer=words)
    if answer.get("waits_for_second"):
        words = _("{answer}, waiting for the editor’s agreement").format(answer=words)
    if answer.get("errors"):
        words = f"{words} ({error_counts(answer['errors'])})"
    return f"{answer['where']} – {words}"


def error_counts(errors: Mapping[str, int]) -> str:
    """Say how many marks on a proof are whose error, in the order in which they are offered."""
    return ", ".join(_COUNTED[error](errors[error]) for error in ErrorOf if errors.get(error))


_COUNTED: Mapping[ErrorOf, Callable[[int], str]] = {
    ErrorOf.PRINTER: lambda n: ngettext("{n} error of the printer", "{n} errors of the printer", n).format(n=n),
    ErrorOf.FILE: lambda n: ngettext("{n} error of the file", "{n} errors of the file", n).format(n=n),
    ErrorOf.ART: lambda n: ngettext("{n} error of the art", "{n} errors of the art", n).format(n=n),
    ErrorOf.TEXT: lambda n: ngettext("{n} error of the text", "{n} errors of the text", n).format(n=n),
    ErrorOf.NOBODY: lambda n: ngettext("{n} alteration", "{n} alterations", n).format(n=n),
}
