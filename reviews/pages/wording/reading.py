"""Asking an author or an expert reader, in words."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.derived import listed_words
from reviews.pages.wording.names import role_words
from reviews.rules.entries import Entry
from reviews.rules.payloads import payload_of
from reviews.rules.seat_payloads import AskToReadData, StopAskingData
from reviews.rules.states import Deed

READING_REFUSALS: dict[str, Promise] = {
    "ask-needs-words": gettext_lazy("Say what you ask: a reader who knows the question answers it."),
    "ask-too-long": gettext_lazy("Keep what you ask under {n} characters."),
    "nobody-to-ask": gettext_lazy("Choose an author or an expert reader who has a seat on this book."),
    "ask-names-no-spread": gettext_lazy("Choose at least one spread of this book to ask about."),
    "asked-already": gettext_lazy("{name} is asked about these spreads already."),
    "ask-has-ended": gettext_lazy("This ask has ended already."),
}


def _asked(entry: Entry) -> str:
    data = payload_of(entry, AskToReadData)
    told = _("{by} asked {name} ({role}) about {spreads}: “{words}”")
    return told.format(
        by=entry.by,
        name=data["name"],
        role=role_words(data["role"]),
        spreads=listed_words(data["labels"]),
        words=data["words"],
    )


def _stopped(entry: Entry) -> str:
    data = payload_of(entry, StopAskingData)
    return _("{by} no longer asks {name} about {spread}.").format(by=entry.by, name=data["name"], spread=data["label"])


READING_SENTENCES: dict[Deed, Callable[[Entry], str]] = {Deed.ASK_TO_READ: _asked, Deed.STOP_ASKING: _stopped}


def answered_words(n_notes: int, looked_at: int | None) -> str:
    """Say what came of an ask so far, by what was looked for: notes of theirs on the spread, a look without any."""
    if n_notes:
        return ngettext("{n} note", "{n} notes", n_notes).format(n=n_notes)
    if looked_at:
        return _("Looked at hand-in {n}, nothing to note").format(n=looked_at)
    return _("No answer yet")
