"""What a passage asks of whoever looks at their desk, or who has it now."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.names import stage_in_a_sentence
from reviews.rules.waiting import Asks, Detail, Waits

#: Translated where one is asked for: a desk of many books asks some hundred times.
_ASKED = {
    Asks.HAND_IN: gettext_lazy("Hand in the {stage}"),
    Asks.ANSWER_AND_HAND_IN: gettext_lazy("Answer the letter, then hand in the {stage} again"),
    Asks.ANSWER_SMALL_NOTES: gettext_lazy("Approved: answer the small notes on the {stage}"),
    Asks.ANSWER: gettext_lazy("Answer the {stage}"),
    Asks.AGREE: gettext_lazy("Agree or object"),
    Asks.MARK_AND_AGREE: gettext_lazy("Mark it, and say whether you agree"),
    Asks.MARK: gettext_lazy("Mark the {stage} against the text"),
    Asks.CHECK: gettext_lazy("Check the {stage}"),
    Asks.CHECK_LAYOUT: gettext_lazy("Check the {stage} against the layout"),
    Asks.READ: gettext_lazy("Read the {stage} you are asked about"),
    Asks.WAIT_TO_READ: gettext_lazy("You are asked about it; nothing waits for you now"),
    Asks.CHOOSE: gettext_lazy("Say which option you would choose"),
    Asks.VOTE: gettext_lazy("Vote on the options"),
    Asks.DECIDE_VOTE: gettext_lazy("Decide the vote on the options"),
    Asks.WITH_ILLUSTRATOR: gettext_lazy("With the illustrator"),
    Asks.WITH_ART_DIRECTOR: gettext_lazy("With the art director"),
    Asks.WITH_EDITOR: gettext_lazy("With the editor"),
    Asks.WITH_PRINTER: gettext_lazy("With the printer"),
    Asks.HAND_IN_PROOF: gettext_lazy("Hand in the printer’s {stage}"),
}
_TOLD = {
    Detail.HAS_DRAFT: gettext_lazy("Your draft is not handed in yet"),
    Detail.NOBODY_MARKED: gettext_lazy("Nobody has marked it yet"),
    Detail.APPROVED_BY_ONE: gettext_lazy("The art director approved it"),
    Detail.YOUR_VOICE_COUNTS: gettext_lazy("The art director approved it; your sign-off makes it count"),
    Detail.TWO_VOICES: gettext_lazy("This stage needs two sign-offs"),
    Detail.OBJECTED: gettext_lazy("The editor does not agree to it"),
    Detail.VOTE_WAITS: gettext_lazy("A vote on it waits"),
    Detail.ITS_VOTE_IS_CLOSED: gettext_lazy("The vote is closed; you were named to decide it"),
    Detail.HAND_IN_LATE: gettext_lazy("the illustrator’s hand-in is late"),
    Detail.ANSWER_LATE: gettext_lazy("the publisher’s answer is late"),
    Detail.TEXT_CHANGED: gettext_lazy("the text was changed after the approved sketch"),
}


def asks_words(waits: Waits) -> str:
    """Say what is to be done, or who has it now."""
    if waits.asks == Asks.LOOK:
        words = _joined(waits, _(" and "))
        return words[0].upper() + words[1:]
    words = str(_ASKED[waits.asks])
    return words.format(stage=stage_in_a_sentence(waits.stage))


def detail_words(waits: Waits) -> str:
    """Say what else is to be known about it."""
    if waits.asks == Asks.LOOK:
        return ""
    return _joined(waits, _(" and ") if waits.asks == Asks.ANSWER else "; ")


def shared_words(details: Sequence[str]) -> str:
    """Say of several spreads in one line what is known about them, and of how many; nothing where they differ."""
    distinct = {words for words in details if words}
    if len(distinct) != 1:
        return ""
    [words] = distinct
    n_told, n_spreads = details.count(words), len(details)
    if n_spreads == 1:
        return words
    if n_told == n_spreads:
        return _("{words} (each)").format(words=words)
    return _("{words} ({n} of {all})").format(words=words, n=n_told, all=n_spreads)


def _joined(waits: Waits, between: str) -> str:
    return between.join(_detail(detail, n, is_first=place == 0) for place, (detail, n) in enumerate(waits.details))


def _detail(detail: Detail, n: int, *, is_first: bool) -> str:
    if detail == Detail.IS_MARKED:
        return _("Options are marked") if is_first else _("options are marked")
    if detail in _TOLD:
        return str(_TOLD[detail])
    return {
        Detail.UNANSWERED: ngettext("{n} note without an answer", "{n} notes without an answer", n),
        Detail.TO_WEIGH: ngettext("{n} note to decide on", "{n} notes to decide on", n),
        Detail.OWN_NOTES: ngettext("You added {n} note", "You added {n} notes", n),
        Detail.OVER: ngettext("{n} round over the fee", "{n} rounds over the fee", n),
    }[detail].format(n=n)
