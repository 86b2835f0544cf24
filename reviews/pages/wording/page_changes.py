"""Spreads dropped, added and brought back, and another number of pages, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.dates import day_words
from reviews.pages.wording.derived import listed_words
from reviews.pages.wording.fees import money_words
from reviews.press.pages import opening, single
from reviews.rules.contract.fees import Money
from reviews.rules.entries import Entry
from reviews.rules.moving_payloads import InstalmentThen, RepageData
from reviews.rules.page_changes import PageDeed
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed

PAGE_REFUSALS: dict[str, Promise] = {
    "pages-elsewhere": gettext_lazy("That spread is not there any more. Look at the pages again."),
    "drop-fixed": gettext_lazy("The cover and the endpapers belong to the binding; they cannot be dropped."),
    "drop-last": gettext_lazy("This is the only spread inside the book. Drop it once there is another."),
    "page-taken": gettext_lazy("Those pages are not free. Choose free pages of this book."),
    "back-shape": gettext_lazy(
        "A double-page spread needs two facing pages that are free, and a single page needs one. Choose pages of its "
        "shape."
    ),
    "pages-same": gettext_lazy("The book has {n} pages already."),
    "pages-sketch-approved": gettext_lazy(
        "A sketch is approved, so the number of pages stays: the approved art was made for it. Spreads can still be "
        "dropped, added and moved."
    ),
    "pages-begun": gettext_lazy(
        "Terms are agreed or work has begun, so the pages are both sides’ affair now. Propose the change; it holds "
        "once the other side agrees."
    ),
    "pages-need-reason": gettext_lazy("Say why the pages change: both sides read it."),
    "pages-unreadable": gettext_lazy("Choose what is to change and the pages it goes to."),
    "pages-changed-since": gettext_lazy(
        "The pages changed since this was proposed, so something else would come of it now. What holds now "
        "goes on holding; propose it anew."
    ),
    "pages-money-since": gettext_lazy(
        "What this does to instalments or to a kill fee is no longer what the proposal says. Propose it anew, so that "
        "both sides read what it does now."
    ),
    "spread-dropped": gettext_lazy(
        "{spread} was dropped from the book meanwhile, so nothing can be done there. Its art and notes are kept, and "
        "it can be brought back."
    ),
}


def pages_asked_words(asked: Mapping[str, Any]) -> str:
    """Say what is proposed: "to drop Pages 4–5"."""
    wanted, labels = asked["wanted"], asked["labels"]
    what = PageDeed(wanted["what"])
    if what == PageDeed.DROP:
        return _("to drop {spread}").format(spread=labels[str(wanted["spread"])])
    if what == PageDeed.ADD:
        return _("to add art on {pages}, which carry none").format(pages=place_words(wanted))
    if what == PageDeed.BACK:
        told = _("to bring back {spread}, which was dropped, on {pages}")
        return told.format(spread=labels[str(wanted["spread"])], pages=place_words(wanted))
    told = _("to change the number of pages from {before} to {after}")
    return told.format(before=asked["was_pages"], after=wanted["n_pages"])


def place_words(wanted: Mapping[str, Any]) -> str:
    """Name pages: "Pages 4–5" or "Page 4"."""
    first, last = wanted["first_page"], wanted["last_page"]
    return (single(first) if first == last else opening(first)).label


def pages_facts(asked: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Say what would come of it, line by line."""
    change, labels = asked["change"], asked["labels"]
    said = pages_asked_words(asked)
    lines = [(_("Change"), said[:1].upper() + said[1:])]
    if change["drops"]:
        named = listed_words([labels[str(number)] for number in change["drops"]])
        told = _(
            "{spreads}. Art, notes and history are kept, and it can be brought back; nothing is due there any more. An "
            "answer to it in a letter that is not sent yet is taken out of that letter"
        )
        lines.append((_("Dropped"), told.format(spreads=named)))
    if change["adds"]:
        named = listed_words([place_words({"first_page": one, "last_page": two}) for one, two in change["adds"]])
        told = _("{spreads}, from the first stage on, with dates from the day of the agreement")
        lines.append((_("Added"), told.format(spreads=named)))
    if change["backs"]:
        lines.append((_("Back"), _("with all that it had; who held it has the days of the stage again")))
    if (renumbered := _renumbered(change, labels)) and not change["backs"]:
        lines.append((_("Moved"), renumbered))
    if asked["was_pages"] != change["n_pages"]:
        lines.append((_("Spine"), spine_words()))
    lines.append((_("Money"), " ".join(money_lines(asked["effects"]["instalments"], asked["effects"]["stopped"]))))
    return lines


def spine_words() -> str:
    """Say what hangs on the number of pages beside the spreads."""
    return _("The spine is as thick as the pages make it, so the cover’s template changes too")


def _renumbered(change: Mapping[str, Any], labels: Mapping[str, str]) -> str:
    told = _("{before} is then {after}")
    pairs = [(labels[number], slot[0]) for number, slot in change["slots"].items() if labels[number] != slot[0]]
    return listed_words([told.format(before=before, after=after) for before, after in pairs]) if pairs else ""


def money_lines(instalments: Iterable[InstalmentThen], stopped: Sequence[str]) -> list[str]:
    """Say what it does to money; that no amount changes is always said."""
    said = [_("No amount of the terms changes by it.")]
    for one in instalments:
        told = (
            _("Instalment “{name}” falls due with it.")
            if one["falls_due"]
            else _("Instalment “{name}” waits for {n} spreads then, not for {before}.")
        )
        said.append(told.format(name=one["name"], n=one["needed"], before=one["needed_before"]))
    if stopped:
        before, after, currency = stopped
        told = _("If the book stopped today, {after} would be owed then, and {before} without it.")
        said.append(told.format(before=_money(before, currency), after=_money(after, currency)))
    said.append(_("Another fee is for the terms; check the signed contract."))
    return said


def _money(amount: str, currency: str) -> str:
    return money_words(Money(Decimal(amount), currency))


def repaged_sentence(entry: Entry, *, sees_money: bool = True) -> str:
    """Tell that spreads were dropped, added or brought back, or that the number of pages changed."""
    data = payload_of(entry, RepageData)
    said = [_by(entry, data)]
    now = _("{before} is now {after}")
    if data["placed"]:
        pairs = [now.format(before=one["was"], after=one["label"]) for one in data["placed"]]
        said.append(_("{moved}.").format(moved=listed_words(pairs)))
    if data["dropped"]:
        n = len(data["dropped"])
        kept = ngettext("Its art, notes and history are kept.", "Their art, notes and history are kept.", n)
        said.append(kept)
    if data["n_pages"][0] != data["n_pages"][1]:
        said.append(f"{spine_words()}.")
    if sees_money and (data["instalments"] or data["stopped"]):
        said += money_lines(data["instalments"], data["stopped"])
    if n := len([*data.get("fixes", ()), *data.get("frees", ())]):
        told = ngettext(
            "{n} due date follows the terms agreed on meanwhile.",
            "{n} due dates follow the terms agreed on meanwhile.",
            n,
        )
        said.append(told.format(n=n))
    return " ".join([*said, data["reason"]])


def dropped_words(by: str, data: RepageData) -> str:
    """Say who dropped a spread, by whose proposal, and the reason that both sides read."""
    proposed = data.get("proposed")
    if proposed is None:
        return _("Dropped by {by}. Why: {reason}").format(by=by, reason=data["reason"])
    told = _("Proposed by {proposer} on {day} and agreed to by {by}. Why: {reason}")
    day = day_words(date.fromisoformat(proposed["on"]))
    return told.format(proposer=proposed["by"], day=day, by=by, reason=data["reason"])


def _by(entry: Entry, data: RepageData) -> str:
    done = "; ".join(done_words(data))
    proposed = data.get("proposed")
    if proposed is None:
        return _("{by} changed the pages before anything was handed in: {done}.").format(by=entry.by, done=done)
    told = _("{by} agreed to what {proposer} proposed on {day}: {done}.")
    day = day_words(date.fromisoformat(proposed["on"]))
    return told.format(by=entry.by, proposer=proposed["by"], day=day, done=done)


def done_words(data: RepageData) -> list[str]:
    """Say in a few words each what was done."""
    said = []
    before, after = data["n_pages"]
    if before != after:
        said.append(_("the book has {after} pages, not {before}").format(after=after, before=before))
    if data["dropped"]:
        told = ngettext("{spreads} is dropped", "{spreads} are dropped", len(data["dropped"]))
        said.append(told.format(spreads=listed_words([one["label"] for one in data["dropped"]])))
    if data["added"]:
        told = ngettext("{spreads} is added", "{spreads} are added", len(data["added"]))
        said.append(told.format(spreads=listed_words([one["label"] for one in data["added"]])))
    for one in data["back"]:
        told = _("{was} is back") if one["was"] == one["label"] else _("{was} is back as {label}")
        said.append(told.format(was=one["was"], label=one["label"]))
    return said


PAGE_SENTENCES: dict[Deed, Callable[[Entry], str]] = {Deed.REPAGE: repaged_sentence}
