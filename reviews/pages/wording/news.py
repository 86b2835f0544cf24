"""What a page says of what happened since it was opened."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

#: So many are named; of more, how many.
_NAMED = 3


def clock_words(at: datetime) -> str:
    """Tell a moment by the reader's clock, with its day where that is not today: so it stays true on an open page."""
    local = timezone.localtime(at)
    if local.date() == timezone.localdate():
        return _("at {time}").format(time=date_format(local, "H:i"))
    return _("on {day} at {time}").format(day=date_format(local, "j F"), time=date_format(local, "H:i"))


def looking_words(names: Sequence[str]) -> str:
    """Say who else has the same table open; nothing where nobody has."""
    if not names:
        return ""
    if len(names) == 1:
        return _("{name} is looking at this too.").format(name=names[0])
    if len(names) <= _NAMED:
        listed = _("{names} and {last}").format(names=", ".join(names[:-1]), last=names[-1])
        return _("{names} are looking at this too.").format(names=listed)
    more = len(names) - _NAMED
    said = ngettext(
        "{names} and {n} other are looking at this too.", "{names} and {n} others are looking at this too.", more
    )
    return said.format(names=", ".join(names[:_NAMED]), n=more)


def handed_in_words(at: datetime) -> str:
    return _("A new version was handed in {when}.").format(when=clock_words(at))


def handed_in_at_words(where: str, at: datetime) -> str:
    return _("{where}: a new version was handed in {when}.").format(where=where, when=clock_words(at))


def many_handed_in_words(n: int, at: datetime) -> str:
    return _("{n} spreads have a new version, the last {when}.").format(n=n, when=clock_words(at))


def answered_words(number: int, at: datetime) -> str:
    return _("Letter {number}, which answers this, was sent {when}.").format(number=number, when=clock_words(at))


def letter_sent_words(number: int, at: datetime) -> str:
    return _("Letter {number} was sent {when}.").format(number=number, when=clock_words(at))


def letter_changed_words(at: datetime) -> str:
    return _("Others wrote in this letter since you opened it, the last time {when}.").format(when=clock_words(at))
