"""Stage plans: what the ready ones are called, and what an edited one changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.names import gate_words, stage_in_a_sentence
from reviews.rules.entries import Entry

READY_PLAN_NAMES: dict[str, Promise] = {
    "two-looks": gettext_lazy("One look at sketch, one at final"),
    "every-stage": gettext_lazy("A look at every stage"),
    "cover": gettext_lazy("Cover"),
}
READY_PLAN_WORDS: dict[str, Promise] = {
    "two-looks": gettext_lazy(
        "The publisher answers the sketch and the colour; ideas, line and ink stay in the studio."
    ),
    "every-stage": gettext_lazy("The publisher answers ideas, sketch, line and colour, and is shown the ink."),
    "cover": gettext_lazy("Several ideas for the cover meeting, then sketch, line, colour, special finish and proof."),
}


def plan_words(changed: Iterable[Mapping[str, Any]]) -> str:
    """Name the stages of a changed plan, each with all that is other about it than before."""
    return ", ".join(_stage(one["now"], one["was"]) for one in changed)


def change_plan_sentence(entry: Entry) -> str:
    """Tell that the stages of a plan changed."""
    data = entry.data
    if "opened_late" in data:
        where = "; ".join(data["opened_late"])
        return _("{by} opened what had been passed over: {where}.").format(by=entry.by, where=where)
    words = data["words"] if "words" in data else plan_words(data["changed"])
    said = _("{by} changed the stage plan “{plan}”: {words}.").format(by=entry.by, plan=data["plan"], words=words)
    return f"{said} {reordered_words(data)}" if "restated" in data else said


def reordered_words(data: Mapping[str, Any]) -> str:
    """Say that the stages follow each other otherwise than before, and what that did to dates."""
    said = _("The stages follow each other in this order now.")
    n = len(data["restated"])
    moved = ngettext(
        "{n} date of a stage that had not opened went along: each place keeps its date.",
        "{n} dates of stages that had not opened went along: each place keeps its date.",
        n,
    )
    return f"{said} {moved.format(n=n)}" if n else said


def _stage(now: Mapping[str, Any], was: Mapping[str, Any] | None) -> str:
    """Name one stage with what changed; nothing of it goes unsaid."""
    name = stage_in_a_sentence(now["kind"])
    if was is None or now == was:
        return name
    figures = {
        "hand_in_days": _("{now} instead of {was} days to hand in"),
        "answer_days": _("{now} instead of {was} days to answer"),
        "rounds": _("{now} instead of {was} rounds in the fee"),
    }
    told = [
        words.format(now=now[figure], was=was[figure])
        for figure, words in figures.items()
        if now[figure] != was[figure]
    ]
    if now["gate"] != was["gate"]:
        words = gate_words(now["gate"])
        told.append(words[0].lower() + words[1:])
    if now["two_voices"] != was["two_voices"]:
        told.append(_("two sign-offs instead of one") if now["two_voices"] else _("one sign-off instead of two"))
    if now["group"] != was["group"]:
        shared = _("rounds shared as “{group}”").format(group=now["group"])
        told.append(shared if now["group"] else _("rounds of its own"))
    return f"{name} ({', '.join(told)})"
