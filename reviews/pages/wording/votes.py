"""A vote in words: who is first and how sure that is, what a ballot says, and its lines in the ledger."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.dates import day_words
from reviews.rules.ballot import Option, Result
from reviews.rules.entries import Entry
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed
from reviews.rules.vote_payloads import CastBallotData, CloseVoteData, DecideVoteData, OpenVoteData
from reviews.rules.votes import other_leaders

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise as Promise

VOTE_REFUSALS: dict[str, Promise] = {
    "vote-open-already": gettext_lazy("A vote on these options is open already. Close it before you open another."),
    "vote-needs-two": gettext_lazy("A vote needs two options at least."),
    "vote-options-not-read": gettext_lazy(
        "Not every option can be looked at yet: one is being processed, or its file could not be read."
    ),
    "vote-day-is-past": gettext_lazy("The last day to vote is past. Name today or a later day, or none."),
    "vote-needs-decider": gettext_lazy("Name who decides: an art director or an editor of this book."),
    "vote-words-too-long": gettext_lazy("That is longer than {n} characters. Say it shorter."),
    "vote-closed": gettext_lazy("This vote is closed. What you chose now was not kept."),
    "vote-is-over": gettext_lazy("The last day of this vote is past. What you chose now was not kept."),
    "vote-options-gone": gettext_lazy(
        "The options of this vote were taken back, or others were handed in since. No ballot is taken any more."
    ),
    "vote-still-open": gettext_lazy("Close the vote first: nothing is decided while ballots still come in."),
    "vote-others-to-decide": gettext_lazy("This is for {name} to decide, as the vote says."),
    "decision-needs-reasons": gettext_lazy("Say why: whoever voted and whoever reads this later will ask."),
    "vote-unreadable": gettext_lazy("That form could not be read. Load the page again and fill it in once more."),
    "ballot-unreadable": gettext_lazy("A place is a number from 1 to the number of options, or empty."),
    "ballot-empty": gettext_lazy("Place one option at least. An empty ballot is not kept."),
    "ballot-names-twice": gettext_lazy("An option can have one place only."),
    "ballot-names-unknown": gettext_lazy("That is none of the options of this vote."),
}

ADVICE = gettext_lazy("The vote advises. The named person decides, and nothing is approved before the letter is sent.")
PAIR_WORDS = gettext_lazy(
    "A row says how many ballots rank its option above each of the others; › marks the greater number of the two. "
    "The order follows the strongest chains of such wins (Schulze’s method). Points count the options ranked below "
    "(Borda), half for a level one. An option that a ballot places, it would go along with (approval)."
)


def _option_list(numbers: Iterable[int]) -> str:
    """Name options by number: "option 3", "options 2 and 5"."""
    sorted_numbers = sorted(numbers)
    words = [str(number) for number in sorted_numbers]
    joined = words[0] if len(words) == 1 else _("{some} and {last}").format(some=", ".join(words[:-1]), last=words[-1])
    return ngettext("option {numbers}", "options {numbers}", len(words)).format(numbers=joined)


def _first(words: str) -> str:
    return words[0].upper() + words[1:]


def count_words(n: int) -> str:
    """Say how many ballots were counted."""
    return ngettext("{n} ballot", "{n} ballots", n).format(n=n) if n else _("Nobody gave a ballot.")


def options_words(n: int, hand_in: int) -> str:
    """Say among how many options of which hand-in."""
    told = ngettext("{n} option of hand-in {hand_in}", "{n} options of hand-in {hand_in}", n)
    return told.format(n=n, hand_in=hand_in)


def order_words(groups: Sequence[Sequence[int]]) -> str:
    """Write an order: "3, then 1 and 4 level"."""
    if not groups:
        return _("none")
    words = []
    for group in groups:
        numbers = [str(number) for number in sorted(group)]
        level = _("{numbers} level").format(numbers=_(" and ").join(numbers))
        words.append(level if len(numbers) > 1 else numbers[0])
    return _(", then ").join(words)


def lead_words(result: Result, numbers: Mapping[Option, int]) -> list[str]:
    """Say who is first, why, and where another way of counting says something else; a tie is called one."""
    named = _option_list(numbers[one] for one in result.winners)
    if result.is_tied:
        every = len(result.winners) == len(result.options)
        tie = _("A tie: {options} are level. The ballots do not tell them apart, so nothing is first.")
        lines = [tie.format(options=named)]
        if every:
            lines = [_("A tie between all of them: the ballots put nothing first.")]
    elif result.condorcet_winner is not None:
        lines = [
            _("{option} is first.").format(option=_first(named)),
            _("More ballots rank it above each of the others than below."),
        ]
    else:
        lines = [
            _("{option} is first.").format(option=_first(named)),
            _("No option beats each of the others; it is first by the strongest chains of wins."),
        ]
    return lines + _beside(result, numbers)


def _beside(result: Result, numbers: Mapping[Option, int]) -> list[str]:
    other = other_leaders(result)
    lines = []
    if other.by_points:
        leaders = _option_list(numbers[one] for one in other.by_points)
        lines.append(_("By points {options} would lead.").format(options=leaders))
    if other.by_approvals:
        leaders = _option_list(numbers[one] for one in other.by_approvals)
        lines.append(_("Placed by most: {options}.").format(options=leaders))
    return lines or [_("Points and approvals say the same.")]


def _opened(entry: Entry) -> str:
    data = payload_of(entry, OpenVoteData)
    n = len(data["options"])
    told = ngettext(
        "{by} put {n} option of {where} to a vote; {decider} decides.",
        "{by} put {n} options of {where} to a vote; {decider} decides.",
        n,
    ).format(by=entry.by, n=n, where=data["where"], decider=data["decider"])
    if data["until"]:
        told = _("{told} Last day to vote: {day}.").format(told=told, day=day_words(date.fromisoformat(data["until"])))
    return told


def _cast(entry: Entry) -> str:
    again = payload_of(entry, CastBallotData)["again"]
    told = _("{by} changed their ballot on {where}.") if again else _("{by} gave a ballot on {where}.")
    return told.format(by=entry.by, where=entry.data["where"])


def _closed(entry: Entry) -> str:
    data = payload_of(entry, CloseVoteData)
    told = _("{by} closed the vote on {where}: {counted}").format(
        by=entry.by, where=data["where"], counted=count_words(len(data["ballots"]))
    )
    if data["ballots"]:
        each = "; ".join(f"{ballot['name']}: {order_words(ballot['ranks'])}" for ballot in data["ballots"])
        told = _("{told}. Order: {order}. Ballots: {each}.").format(
            told=told, order=order_words(data["order"]), each=each
        )
    if data["broken"]:
        names = ", ".join(data["broken"])
        told = _("{told} Not counted, as changed outside the portal: {names}.").format(told=told, names=names)
    return told


def _decided(entry: Entry) -> str:
    data = payload_of(entry, DecideVoteData)
    told = _("{by} decided on option {option} of {where}: {reasons}").format(
        by=entry.by, option=data["option"], where=data["where"], reasons=data["reasons"]
    )
    if data["winners"] and data["winners"] != [data["option"]]:
        told = _("{told} (The vote put first: {options}.)").format(told=told, options=_option_list(data["winners"]))
    return told


VOTE_SENTENCES: dict[Deed, Callable[[Entry], str]] = {
    Deed.OPEN_VOTE: _opened,
    Deed.CAST_BALLOT: _cast,
    Deed.CLOSE_VOTE: _closed,
    Deed.DECIDE_VOTE: _decided,
}
