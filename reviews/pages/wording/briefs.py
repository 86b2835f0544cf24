"""What a brief's parts are called, what a change to one amounts to, and why a brief can be refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from reviews.models import Brief
from reviews.rules.briefs import BriefLine, BriefPart
from reviews.rules.entries import Entry
from reviews.rules.states import Cause, Deed, PictureState

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise as Promise

PART_WORDS: dict[BriefPart, Promise] = {
    BriefPart.ART: _("Art notes"),
    BriefPart.PALETTE: _("Palette"),
    BriefPart.AGE: _("Age and reader"),
    BriefPart.HOUSE: _("House style"),
    BriefPart.LETTERING: _("Lettering and type"),
    BriefPart.TEXT: _("Text as it stands"),
    BriefPart.NEVER: _("What must not happen"),
    BriefPart.LINKS: _("Links to look at"),
}

PART_HELP: dict[BriefPart, Promise] = {
    BriefPart.ART: _("One wish a line: each line gets a number, and a note can name it."),
    BriefPart.PALETTE: _("Colours to keep to, colours to avoid."),
    BriefPart.AGE: _("Who reads it, and who reads it to them."),
    BriefPart.HOUSE: _("What holds for every book of the house."),
    BriefPart.LETTERING: _("The typeface, room for it, what is drawn by hand."),
    BriefPart.TEXT: _("The words of this spread, line by line as they will be printed."),
    BriefPart.NEVER: _("What would have to be drawn again: a wrong season, a character who is not there yet."),
    BriefPart.LINKS: _("One address a line. They are shown as text and open nothing by themselves."),
}

BRIEF_REFUSALS: dict[str, Promise] = {
    "brief-changed-meanwhile": _(
        "Somebody wrote a newer version of this brief while you were writing. Yours is still in the form below: read "
        "the newer one above it, then save what should hold."
    ),
    "brief-unchanged": _("Nothing is different from the newest version, so no new one was written."),
    "brief-empty": _("Write at least one line: a brief without words asks for nothing."),
    "brief-too-long": _("One part of the brief is longer than {most} characters. Shorten it."),
    "brief-too-many-lines": _("A brief holds up to {most} lines. Shorten it, or put a PDF beside it."),
    "reference-missing": _("Choose a picture or a PDF first."),
    "references-full": _("A brief takes up to {most} references, and {there} are there. Take one away first."),
    "references-too-heavy": _(
        "The references of this brief hold {used} MB of at most {most}, those that were taken away among them. Put a "
        "smaller file beside it, or write a link."
    ),
    "brief-line-needed": _(
        "“The brief was not met” needs the line of the brief that it means. Choose the line, or another reason."
    ),
    "brief-line-later": _(
        "That line was not in the brief when this picture was handed in. What was written since is a new direction or "
        "a changed text."
    ),
    "no-brief": _(
        "There was no brief for this spread when it was handed in, so it cannot have been missed. Choose another "
        "reason: a new direction, a changed text or a question."
    ),
}


def part_words(part: str) -> str:
    """Name a part of a brief."""
    return str(PART_WORDS[BriefPart(part)])


def line_words(line: BriefLine, *, is_of_book: bool) -> str:
    """Cite a line of a brief so that it can be found by number and understood without looking."""
    whose = _now("book’s brief, line {n}") if is_of_book else _now("brief, line {n}")
    return _now("{whose}: {words}").format(whose=whose.format(n=line.number), words=line.words)


def missed_words(brief: Brief | None, number: int | None) -> str:
    """Cite the line that a note says was not met; nothing where it names none, as notes of before did."""
    line = next((one for one in brief.lines if one.number == number), None) if brief and number else None
    if brief is None or line is None:
        return ""
    is_of_book = brief.spread_id is None
    said = (
        _now("line {n} of version {version} of the book’s brief: {words}")
        if is_of_book
        else _now("line {n} of version {version}: {words}")
    )
    return said.format(n=line.number, version=brief.version, words=line.words)


def told_as_words(causes: list[str]) -> str:
    """Say what a version is a change of, where it came after an approved sketch; nothing where it came before."""
    words = {Cause.TEXT: _now("a change of text"), Cause.DIRECTION: _now("a new direction")}
    named = [words[cause] for cause in (Cause.TEXT, Cause.DIRECTION) if cause in causes]
    if not named:
        return ""
    return _now("Written after a sketch was approved: {changes}.").format(changes=_now(" and ").join(named))


def whose_words(spread: str | None) -> str:
    """Say whose brief it is, in the middle of a sentence."""
    return _now("the whole book") if spread is None else spread


def reference_standing(state: str) -> str:
    """Say how far a reference has come, where that is not to be seen."""
    return {
        PictureState.RECEIVED: _now("Processing"),
        PictureState.REFUSED: _now("No preview could be made; the file itself is kept"),
        PictureState.READY: "",
    }[PictureState(state)]


def _change_brief(entry: Entry) -> str:
    data = entry.data
    told = (
        _now("{by} wrote the brief of {whose}.")
        if data["version"] == 1
        else _now("{by} changed the brief of {whose}: version {version}.")
    )
    words = told.format(by=entry.by, whose=whose_words(data.get("spread")), version=data["version"])
    return " ".join(filter(None, (words, told_as_words(data["told_as"]))))


def _add_references(entry: Entry) -> str:
    names = ", ".join(one["file_name"] for one in entry.data["files"])
    told = ngettext(
        "{by} put a reference beside the brief of {whose}: {names}.",
        "{by} put {n} references beside the brief of {whose}: {names}.",
        len(entry.data["files"]),
    )
    return told.format(
        by=entry.by, whose=whose_words(entry.data.get("spread")), names=names, n=len(entry.data["files"])
    )


def _remove_reference(entry: Entry) -> str:
    told = _now("{by} took the reference {name} away from the brief of {whose}.")
    return told.format(by=entry.by, name=entry.data["file_name"], whose=whose_words(entry.data.get("spread")))


def _read_reference(entry: Entry) -> str:
    ready = entry.data["verdict"] == PictureState.READY
    told = (
        _now("The portal read the reference {name}.")
        if ready
        else _now("The portal could make no preview of the reference {name}.")
    )
    return told.format(name=entry.data["file_name"])


BRIEF_SENTENCES: dict[Deed, Callable[[Entry], str]] = {
    Deed.CHANGE_BRIEF: _change_brief,
    Deed.ADD_REFERENCES: _add_references,
    Deed.REMOVE_REFERENCE: _remove_reference,
    Deed.READ_REFERENCE: _read_reference,
}
