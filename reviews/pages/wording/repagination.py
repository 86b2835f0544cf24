"""Pieces that change places, in words."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reviews.pages.wording.derived import listed_words
from reviews.rules.entries import Entry
from reviews.rules.moving_payloads import MoveSpreadsData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed

MOVING_REFUSALS: dict[str, Promise] = {
    "move-elsewhere": gettext_lazy("One of these is not in this book any more. Look at the pages again."),
    "move-fixed": gettext_lazy("The cover and the endpapers lie where the binding puts them; they cannot be moved."),
    "move-shape": gettext_lazy(
        "A double-page spread cannot lie on a single page. Split it, or join the single pages, before anybody draws "
        "them; or choose a place of the same shape."
    ),
    "move-nowhere": gettext_lazy("It lies there already. Choose another place."),
    "move-needs-reason": gettext_lazy("Say why the pages change: both sides read it."),
    "move-unreadable": gettext_lazy("Choose the place it goes to."),
}


def _moved(entry: Entry) -> str:
    data = payload_of(entry, MoveSpreadsData)
    now = _("{before} is now {after}")
    told = listed_words([now.format(before=one["was"], after=one["label"]) for one in data["placed"]])
    return _("{by} changed the order of the pages: {moved}. Their art, notes and dates went along. {reason}").format(
        by=entry.by, moved=told, reason=data["reason"]
    )


MOVING_SENTENCES: dict[Deed, Callable[[Entry], str]] = {Deed.MOVE_SPREADS: _moved}
