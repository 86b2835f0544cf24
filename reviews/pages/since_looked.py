"""What changed in a letter between the look at it and the press that would have sent it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from reviews.models import LetterAnswer, Note
from reviews.pages.wording.letter_answers import answer_in_a_sentence
from reviews.rules.states import Weighing


@dataclass(frozen=True)
class SinceLooked:
    """In sentences what is different now; the ``late`` notes came since, and are not sent unless somebody says so."""

    sentences: list[str]
    late: list[Note]


def changed_since(
    looked: Mapping[str, Any], now: Mapping[str, Any], answers: Sequence[LetterAnswer], notes: Sequence[Note]
) -> SinceLooked:
    """Compare two sets of ``letter_marks`` (no query; notes with their author and passage joined)."""
    before, sentences = _Marks(looked), []
    if before.words != now["words"]:
        sentences.append(_("The opening lines are different now."))
    sentences += [_answer(one, before) for one in answers if _is_new(one.passage_id, before.answers, now["answers"])]
    if set(before.answers) - set(now["answers"]):
        sentences.append(_("An answer was taken out of the letter."))
    late = [note for note in notes if str(note.pk) not in before.notes and note.weighing == Weighing.THROUGH]
    for note in notes:
        if str(note.pk) in before.notes and _is_new(note.pk, before.notes, now["notes"]):
            sentences.append(_("A note is different now: “{words}”").format(words=note.said))
    n_gone = len(set(before.notes) - set(now["notes"]))
    if n_gone:
        sentences.append(_("{n} of its notes are gone: withdrawn, or their spread was taken out.").format(n=n_gone))
    return SinceLooked(sentences, late)


class _Marks:
    """What a page sent back, read without trust."""

    def __init__(self, looked: Mapping[str, Any]) -> None:
        self.words = looked.get("words", "")
        self.answers: dict[str, str] = _texts(looked.get("answers"))
        self.notes: dict[str, str] = _texts(looked.get("notes"))


def _texts(value: Any) -> dict[str, str]:
    return {str(key): str(mark) for key, mark in value.items()} if isinstance(value, dict) else {}


def _is_new(pk: int, before: Mapping[str, str], now: Mapping[str, str]) -> bool:
    return before.get(str(pk)) != now[str(pk)]


def _answer(one: LetterAnswer, before: _Marks) -> str:
    said = _("{where} is answered now: {answer}.")
    if str(one.passage_id) in before.answers:
        said = _("The answer to {where} is different now: {answer}.")
    return said.format(where=one.passage.where, answer=answer_in_a_sentence(one.answer, one.passage.stage.kind))
