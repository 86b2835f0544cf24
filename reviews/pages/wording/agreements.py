"""Proposals and agreements in words: in the ledger, on cards, and in refusals."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.dates import day_words
from reviews.pages.wording.names import role_words
from reviews.pages.wording.page_changes import pages_asked_words
from reviews.pages.wording.pauses import pause_asked_words
from reviews.pages.wording.terms import change_words
from reviews.rules.contract.terms_text import terms_from_text
from reviews.rules.entries import Entry
from reviews.rules.proposals import Matter, ProposalState, WhichDate

PROPOSAL_REFUSALS: dict[str, Promise] = {
    "proposal-accepted": gettext_lazy("This proposal was accepted meanwhile. Look at what holds now."),
    "proposal-declined": gettext_lazy("This proposal was declined meanwhile. What held before still holds."),
    "proposal-answered": gettext_lazy("The other side answered this with another proposal. Look at that one."),
    "proposal-withdrawn": gettext_lazy(
        "This proposal was withdrawn before you answered. What held before still holds."
    ),
    "proposal-replaced": gettext_lazy("This proposal was replaced by a newer one. Look at that one, then answer it."),
    "proposal-overtaken": gettext_lazy(
        "The spread was handed in, answered or taken back meanwhile, or its date is another one now, so what was "
        "proposed has lost its object. What holds now goes on holding; propose anew if it is to move."
    ),
    "proposal-past": gettext_lazy("The proposed date has passed meanwhile. Answer with another date, or decline it."),
    "proposal-fresh": gettext_lazy("{by} has made a proposal about this meanwhile. Read it, then answer it."),
    "proposal-words": gettext_lazy("Write one line that says why. Both sides read it."),
    "printers-date-only": gettext_lazy("Production moves the day by which everything is approved, and nothing else."),
    "terms-agreed-already": gettext_lazy("Both sides have agreed to this version already."),
    "own-terms": gettext_lazy("Your own side entered this version, so the other side confirms it."),
    "own-proposal": gettext_lazy("Your own side proposed this, so the other side answers it. You can withdraw it."),
    "others-proposal": gettext_lazy("The other side proposed this, so only they can withdraw it. You can decline it."),
    "agent-not-asked": gettext_lazy(
        "The illustrator has not said that the agent speaks on dates and pauses in this book. "
        "The page of the seats has it."
    ),
    "agent-as-it-is": gettext_lazy("That is how it is already."),
    "agent-only": gettext_lazy("Only an agent who sits on this book can answer for the illustrator."),
    "forgives-itself": gettext_lazy("Days that your own side is late are the other side’s to forgive."),
    "date-stands-elsewhere": gettext_lazy(
        "The date is another one now than when this was proposed or shown. Look at it again; it stays open."
    ),
}


def _day(value: str | None) -> str:
    return day_words(date.fromisoformat(value)) if value else _("no date")


def date_named(which: str, where: str) -> str:
    """Name one of the two dates of a passage: "the hand-in date of Pages 4–5, sketch"."""
    told = _("the answer date of {where}") if which == WhichDate.ANSWER else _("the hand-in date of {where}")
    return told.format(where=where)


def agent_sentence(entry: Entry) -> str:
    """Tell whether the agent answers dates too, as the illustrator said."""
    told = (
        _("{by} let {name}, the agent, propose and accept dates and pauses for the illustrator.")
        if entry.data["answers_dates"]
        else _("{by} took back that {name}, the agent, proposes and accepts dates and pauses for the illustrator.")
    )
    return told.format(by=entry.by, name=entry.data["name"])


def moved_sentence(entry: Entry) -> str:
    """Tell that a date was moved, and by whose words."""
    data = entry.data
    values = {"by": entry.by, "before": _day(data["from"]), "after": _day(data["to"]), "reason": data["reason"]}
    named = date_named(data["which"], data["where"])
    proposed = data.get("proposed")
    if proposed is None:
        told = _("{by} moved {named} from {before} to {after}: {reason}")
        return told.format(named=named, **values)
    told = _("{by} agreed to move {named} from {before} to {after}, as {proposer} proposed on {day}: {reason}")
    said = told.format(named=named, proposer=proposed["by"], day=_day(proposed["on"]), **values)
    return f"{said} {late_kept_words(data['late'], forgives=data['forgives'])}".strip()


def late_kept_words(late: int, *, forgives: bool) -> str:
    """Say what becomes of the days that were late before a date was agreed; nothing where there were none."""
    if not late:
        return ""
    if forgives:
        told = ngettext(
            "The {n} working day late until then is forgiven.",
            "The {n} working days late until then are forgiven.",
            late,
        )
    else:
        told = ngettext(
            "The {n} working day late until then stays counted.",
            "The {n} working days late until then stay counted.",
            late,
        )
    return told.format(n=late)


def summary_words(proposal: Any) -> str:
    """Say in one sentence what is proposed in place of what."""
    if proposal.matter == Matter.PAGES:
        asked = pages_asked_words(proposal.pages)
        return _("{by} proposed {asked}: {reason}").format(
            by=proposal.by.person.name, asked=asked, reason=proposal.reason
        )
    if proposal.matter == Matter.PAUSE:
        last = proposal.to_on.isoformat() if proposal.to_on else None
        asked = pause_asked_words(proposal.from_on.isoformat(), last, proposal.pause)
        return _("{by} proposed {asked}: {reason}").format(
            by=proposal.by.person.name, asked=asked, reason=proposal.reason
        )
    told = _("{by} proposed {after} in place of {before}: {reason}")
    before, after = (day_words(on) if on else _("no date") for on in (proposal.from_on, proposal.to_on))
    return told.format(by=proposal.by.person.name, before=before, after=after, reason=proposal.reason)


def late_words(late: int, forgiven: int) -> str:
    """Say of how many days somebody is late, and how many the other side forgave; nothing where there are none."""
    told = [_("{n} late").format(n=late)] if late else []
    told += [_("{n} late, forgiven").format(n=forgiven)] if forgiven else []
    return "; ".join(told)


def matter_words(data: Any) -> str:
    """Say what a proposal is about: "to move the hand-in date of … from … to …"."""
    if data["matter"] == Matter.TERMS:
        told = (
            _("terms that hold from {day}, even from before the agreement if that says so too")
            if data.get("reaches_back")
            else _("terms that hold from {day}")
        )
        return told.format(day=_day(data["from"]))
    if data["matter"] == Matter.PAGES:
        return pages_asked_words(data["pages"])
    if data["matter"] == Matter.PAUSE:
        return pause_asked_words(data["from"], data["to"], data.get("pause"))
    told = _("to move {named} from {before} to {after}")
    named = date_named(data["which"], data["where"])
    return told.format(named=named, before=_day(data["from"]), after=_day(data["to"]))


def proposed_sentence(entry: Entry) -> str:
    """Tell that something was proposed, and what it stands for."""
    data = entry.data
    reason = terms_changes(data) if data["matter"] == Matter.TERMS else data["reason"]
    values = {"by": entry.by, "matter": matter_words(data), "number": data["number"], "reason": reason}
    if data["in_answer_to"]:
        told = _("{by} answered proposal {before} with another, number {number}: {matter}. {reason}")
        said = told.format(before=data["in_answer_to"], **values)
    elif data["in_place_of"]:
        told = _("{by} made proposal {number} in place of {before}: {matter}. {reason}")
        said = told.format(before=data["in_place_of"], **values)
    else:
        said = _("{by} made proposal {number}: {matter}. {reason}").format(**values)
    return f"{_stopped(said)} {_('Until the other side agrees, what held before still holds.')}"


def terms_changes(data: Any) -> str:
    """Say what proposed terms would bring."""
    before = terms_from_text(data["before"]) if data["before"] else None
    words = "; ".join(change_words(before, terms_from_text(data["terms"])))
    return words[:1].upper() + words[1:]


def _agreed_terms(entry: Entry, words: str) -> str:
    """Tell that terms hold by the words of both sides."""
    data, proposed = entry.data, entry.data["proposed"]
    values = {"by": entry.by, "version": data["version"], "proposer": proposed["by"], "words": words}
    if data["version"] > 1:
        told = _(
            "{by} agreed to version {version} of the terms, which {proposer} entered on {day} and which holds from "
            "{from_day}: {words}."
        )
    else:
        told = _("{by} agreed to version {version} of the terms, which {proposer} entered on {day}: {words}.")
    said = told.format(day=_day(proposed["on"]), from_day=_day(data["from_on"]), **values)
    return (
        f"{said} {_('Both sides said that it holds from before this agreement.')}" if data.get("reaches_back") else said
    )


def restated_words(from_on: date, entered_on: date) -> str:
    """Say that an account of an earlier day is counted by terms that came to the book later."""
    told = _(
        "The first terms of this book came into it on {entered_on} and hold from {from_on}: this account of an earlier "
        "day is restated by them. Before that it was counted by the stage plans."
    )
    return told.format(entered_on=day_words(entered_on), from_on=day_words(from_on))


def restated_by_amendment_words(version: int, from_on: date, entered_on: date) -> str:
    """Say that an account of an earlier day is counted by an amendment that both sides let reach back."""
    told = _(
        "Version {version} of the terms was agreed on {entered_on}, and both sides said that it holds from {from_on}: "
        "this account of an earlier day is restated by it."
    )
    return told.format(version=version, entered_on=day_words(entered_on), from_on=day_words(from_on))


def back_words(from_on: date) -> str:
    """Say what whoever agrees to an amendment that reaches back has to say too."""
    told = _(
        "It holds from {day}, before today: what happened since then is counted by it, and earlier statements are "
        "restated"
    )
    return told.format(day=day_words(from_on))


def waiting_words(name: str, on: date, *, is_first: bool) -> str:
    """Say that terms wait for the other side's word, so that no figure is counted by them."""
    told = (
        _("Terms entered by one side ({name}, on {day}) wait for the other side’s word. No figure is counted by them.")
        if is_first
        else _(
            "An amendment entered by one side ({name}, on {day}) waits for the other side’s word. No figure is counted "
            "by it."
        )
    )
    return told.format(name=name, day=day_words(on))


def change_terms_sentence(entry: Entry) -> str:
    """Tell that a version of the terms holds, and by whose words."""
    data = entry.data
    words = data["words"] if "words" in data else "; ".join(_changed_lines(data))
    values = {"by": entry.by, "version": data["version"], "words": words}
    if "proposed" in data:
        return _agreed_terms(entry, words) + _restated(data)
    if data["version"] > 1:
        told = _("{by} entered version {version} of the terms, which holds from {day}: {words}.")
        return told.format(day=_day(data["from_on"]), **values)
    return _("{by} entered version {version} of the terms: {words}.").format(**values) + _restated(data)


def _restated(data: Any) -> str:
    n = len(data.get("restated", ()))
    restated = ngettext(
        " {n} date of a stage under way follows them.", " {n} dates of stages under way follow them.", n
    )
    n_fixed = len(data.get("fixes", ()))
    fixed = ngettext(" {n} due date becomes the one they fix.", " {n} due dates become those they fix.", n_fixed)
    return (restated.format(n=n) if n else "") + (fixed.format(n=n_fixed) if n_fixed else "") + freed_words(data)


def freed_words(data: Any) -> str:
    """Say how many stages are as planned again, as terms fix no date for them any more; nothing where none is."""
    if not (n := len(data.get("frees", ()))):
        return ""
    told = ngettext(
        " {n} due date is the planned one again, as they fix none there any more.",
        " {n} due dates are the planned ones again, as they fix none there any more.",
        n,
    )
    return told.format(n=n)


def _changed_lines(data: Any) -> tuple[str, ...]:
    before = terms_from_text(data["before"]) if data["before"] else None
    return change_words(before, terms_from_text(data["terms"]))


def confirm_terms_sentence(entry: Entry) -> str:
    """Tell that a version which one side had entered alone is the other side's word too."""
    data = entry.data
    told = _("{by} confirmed version {version} of the terms as it stands, which {name} entered alone on {day}.")
    return told.format(by=entry.by, version=data["version"], name=data["entered_by"], day=_day(data["entered_on"]))


def entered_words(name: str, on: date, proposed: Any, confirmed: tuple[str, date] | None = None) -> str:
    """Say by whose words a version of the terms holds; ``proposed`` is None where one side entered it alone.

    ``confirmed``: who of the other side confirmed such a version since, and when.
    """
    if proposed is None and confirmed is not None:
        told = _("Entered by {name} on {day}, and confirmed as it stands by {other} on {other_day}")
        other, other_on = confirmed
        return told.format(name=name, day=day_words(on), other=other, other_day=day_words(other_on))
    if proposed is None:
        return _("Entered by one side: {name}, on {day}").format(name=name, day=day_words(on))
    told = _("Entered by {proposer} on {proposed_on} and agreed to by {name} on {day}")
    return told.format(proposer=proposed["by"], proposed_on=_day(proposed["on"]), name=name, day=day_words(on))


def ended_sentence(entry: Entry, *, withdrew: bool) -> str:
    """Tell that a proposal was declined or withdrawn."""
    data = entry.data
    told = (
        _("{by} withdrew proposal {number}, {matter}: {words}")
        if withdrew
        else _("{by} declined proposal {number}, {matter}: {words}")
    )
    return told.format(by=entry.by, number=data["number"], matter=matter_words(data), words=data["words"])


def _stopped(words: str) -> str:
    return words if words.endswith((".", "!", "?", "…")) else f"{words}."


_ENDED = {
    ProposalState.ACCEPTED: gettext_lazy("Accepted"),
    ProposalState.DECLINED: gettext_lazy("Declined"),
    ProposalState.ANSWERED: gettext_lazy("Answered with another"),
    ProposalState.WITHDRAWN: gettext_lazy("Withdrawn"),
    ProposalState.REPLACED: gettext_lazy("Replaced by a newer one"),
    ProposalState.OVERTAKEN: gettext_lazy("Overtaken by what happened"),
    ProposalState.OPEN: gettext_lazy("Overtaken by what happened"),
}


def ended_words(state: str) -> str:
    """Say what became of a proposal that is answered no more."""
    return str(_ENDED[ProposalState(state)])


_HEADS = {
    Matter.DATE: gettext_lazy("A date"),
    Matter.TERMS: gettext_lazy("The terms"),
    Matter.PAUSE: gettext_lazy("A pause"),
    Matter.PAGES: gettext_lazy("The pages"),
}


def head_words(matter: str) -> str:
    """Name what a proposal is about in a word or two."""
    return str(_HEADS[Matter(matter)])


def by_words(name: str, role: str, on: date) -> str:
    """Say who proposed, and when."""
    return _("{name}, {role}, on {day}").format(name=name, role=role_words(role), day=day_words(on))


def move_words(reason: str, *, by: str, proposed_by: str, is_one_sided: bool, forgives: bool) -> str:
    """Say why a date was moved, whose proposal it was and who agreed."""
    if is_one_sided:
        return _("{reason} (entered by one side: {by})").format(reason=reason, by=by)
    if not proposed_by:
        return _("{reason} ({by} gave up time)").format(reason=reason, by=by)
    if forgives:
        told = _("{reason} ({proposer} proposed it, {by} agreed and forgave the days late until then)")
    else:
        told = _("{reason} ({proposer} proposed it, {by} agreed)")
    return told.format(reason=reason, proposer=proposed_by, by=by)
