"""What a passage asks of whoever looks at their desk, or who has it now."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.wording.names import stage_in_a_sentence
from reviews.rules.waiting import Asks, Detail, Waits


def asks_words(waits: Waits) -> str:
    """Say what is to be done, or who has it now."""
    if waits.asks == Asks.LOOK:
        words = _joined(waits, _(" and "))
        return words[0].upper() + words[1:]
    words = {
        Asks.HAND_IN: _("Hand in the {stage}"),
        Asks.ANSWER_AND_HAND_IN: _("Answer the letter, then hand in the {stage} again"),
        Asks.ANSWER_SMALL_NOTES: _("Approved: answer the small notes on the {stage}"),
        Asks.ANSWER: _("Answer the {stage}"),
        Asks.AGREE: _("Agree or object"),
        Asks.MARK_AND_AGREE: _("Mark it, and say whether you agree"),
        Asks.MARK: _("Mark the {stage} against the text"),
        Asks.CHECK: _("Check the {stage}"),
        Asks.CHECK_LAYOUT: _("Check the {stage} against the layout"),
        Asks.READ: _("Read the {stage} you are asked about"),
        Asks.WAIT_TO_READ: _("You are asked about it; nothing waits for you now"),
        Asks.CHOOSE: _("Say which option you would choose"),
        Asks.VOTE: _("Vote on the options"),
        Asks.DECIDE_VOTE: _("Decide the vote on the options"),
        Asks.WITH_ILLUSTRATOR: _("With the illustrator"),
        Asks.WITH_ART_DIRECTOR: _("With the art director"),
        Asks.WITH_EDITOR: _("With the editor"),
        Asks.WITH_PRINTER: _("With the printer"),
        Asks.HAND_IN_PROOF: _("Hand in the printer’s {stage}"),
    }[waits.asks]
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
    return {
        Detail.HAS_DRAFT: _("Your draft is not handed in yet"),
        Detail.UNANSWERED: ngettext("{n} note without an answer", "{n} notes without an answer", n),
        Detail.TO_WEIGH: ngettext("{n} note to decide on", "{n} notes to decide on", n),
        Detail.NOBODY_MARKED: _("Nobody has marked it yet"),
        Detail.APPROVED_BY_ONE: _("The art director approved it"),
        Detail.YOUR_VOICE_COUNTS: _("The art director approved it; your sign-off makes it count"),
        Detail.TWO_VOICES: _("This stage needs two sign-offs"),
        Detail.OBJECTED: _("The editor does not agree to it"),
        Detail.OWN_NOTES: ngettext("You added {n} note", "You added {n} notes", n),
        Detail.VOTE_WAITS: _("A vote on it waits"),
        Detail.ITS_VOTE_IS_CLOSED: _("The vote is closed; you were named to decide it"),
        Detail.OVER: ngettext("{n} round over the fee", "{n} rounds over the fee", n),
        Detail.HAND_IN_LATE: _("the illustrator’s hand-in is late"),
        Detail.ANSWER_LATE: _("the publisher’s answer is late"),
        Detail.TEXT_CHANGED: _("the text was changed after the approved sketch"),
    }[detail].format(n=n)
