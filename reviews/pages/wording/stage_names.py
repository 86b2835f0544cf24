"""What a book calls its stages: the table that names them, and what hangs on each whatever it is called."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reviews.rules.entries import Entry
from reviews.rules.naming_payloads import NameStagesData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed, StageKind

NAMING_REFUSALS: dict[str, Promise] = {
    "stage-name-long": gettext_lazy("“{name}” is too long for the name of a stage: keep it under {n} letters."),
    "stage-name-odd": gettext_lazy("“{name}” cannot name a stage: leave out commas, colons and semicolons."),
    "stage-name-twice": gettext_lazy("Two stages would be called “{name}”. Each needs a name of its own."),
    "stage-name-opened": gettext_lazy(
        "The stage “{name}” has opened, so it keeps its name: what was read and signed off goes by it."
    ),
    "stage-names-same": gettext_lazy("Nothing is named otherwise than before."),
}

#: The trade's words to begin with; common practice, and every one of them can be changed before its stage opens.
READY_NAMES: dict[str, dict[StageKind, Promise]] = {
    "picture-book": {
        StageKind.IDEAS: gettext_lazy("Thumbnails"),
        StageKind.SKETCH: gettext_lazy("Rough sketch"),
        StageKind.FULL_SKETCH: gettext_lazy("Tight sketch"),
        StageKind.LINE: gettext_lazy("Line"),
        StageKind.INK: gettext_lazy("Ink"),
        StageKind.FLATS: gettext_lazy("Flats"),
        StageKind.COLOUR: gettext_lazy("Final art"),
        StageKind.FINISH: gettext_lazy("Special finish"),
        StageKind.PROOF: gettext_lazy("Proof"),
        StageKind.GATHERED: gettext_lazy("F&Gs"),
    },
    "board-book": {
        StageKind.IDEAS: gettext_lazy("Thumbnails"),
        StageKind.SKETCH: gettext_lazy("Rough layout"),
        StageKind.FULL_SKETCH: gettext_lazy("Tight sketch"),
        StageKind.LINE: gettext_lazy("Line"),
        StageKind.INK: gettext_lazy("Ink"),
        StageKind.FLATS: gettext_lazy("Flat colours"),
        StageKind.COLOUR: gettext_lazy("Final art"),
        StageKind.FINISH: gettext_lazy("Die-cuts and finish"),
        StageKind.PROOF: gettext_lazy("Proof"),
        StageKind.GATHERED: gettext_lazy("Check copies"),
    },
    "comic": {
        StageKind.IDEAS: gettext_lazy("Thumbnails"),
        StageKind.SKETCH: gettext_lazy("Layouts"),
        StageKind.FULL_SKETCH: gettext_lazy("Tight pencils"),
        StageKind.LINE: gettext_lazy("Pencils"),
        StageKind.INK: gettext_lazy("Inks"),
        StageKind.FLATS: gettext_lazy("Flats"),
        StageKind.COLOUR: gettext_lazy("Colours"),
        StageKind.FINISH: gettext_lazy("Special finish"),
        StageKind.PROOF: gettext_lazy("Proof"),
        StageKind.GATHERED: gettext_lazy("F&Gs"),
    },
}

READY_NAME_WORDS: dict[str, Promise] = {
    "picture-book": gettext_lazy("Picture book: thumbnails, rough sketch, tight sketch, final art"),
    "board-book": gettext_lazy("Board book: thumbnails, rough layout, tight sketch, final art"),
    "comic": gettext_lazy("Comic: thumbnails, layouts, pencils, inks, colours"),
    "plain": gettext_lazy("Plain words: ideas, sketch, full sketch, line, ink, colour"),
}

#: What the rules hang on a stage, by its code: the same whatever a book calls it.
CARRIES: dict[StageKind, Promise] = {
    StageKind.IDEAS: gettext_lazy(
        "Several options may be handed in; reviewers and guests say which they would choose."
    ),
    StageKind.SKETCH: gettext_lazy("Once it is approved, a changed text or brief is told to both sides as such."),
    StageKind.FULL_SKETCH: gettext_lazy("Once it is approved, a changed text or brief is told to both sides as such."),
    StageKind.LINE: gettext_lazy("Compared with the approved sketch."),
    StageKind.INK: gettext_lazy("Compared with what was approved before it."),
    StageKind.FLATS: gettext_lazy("Compared with what was approved before it."),
    StageKind.COLOUR: gettext_lazy("Compared with what was approved before it."),
    StageKind.FINISH: gettext_lazy(
        "Plates for foil, varnish or cuts: checked as plates, laid over the art by its edges."
    ),
    StageKind.PROOF: gettext_lazy(
        "Handed in by production; the printer’s days count for neither side. The answers are those of a proof."
    ),
    StageKind.GATHERED: gettext_lazy(
        "The printed sheets, folded and gathered, before they are bound. Handed in by production; the printer’s days "
        "count for neither side. Answered OK to bind, OK to bind after corrections, or new F&Gs."
    ),
}


def _named(entry: Entry) -> str:
    names = payload_of(entry, NameStagesData)["names"]
    told = "; ".join(_("“{after}” for “{before}”").format(after=one["to"], before=one["from"]) for one in names)
    return _("{by} named stages of this book: {names}.").format(by=entry.by, names=told)


NAMING_SENTENCES: dict[Deed, Callable[[Entry], str]] = {Deed.NAME_STAGES: _named}
