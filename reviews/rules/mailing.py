"""Who is written to about dates, and when: at once or once a day, as each person chooses."""

from __future__ import annotations

from datetime import timedelta
from enum import StrEnum

from reviews.rules.reminders import Urgency
from reviews.rules.states import PUBLISHER_SIDE, Deed, Role, Side


class MailChoice(StrEnum):
    """How a person wants to hear of what happened."""

    AT_ONCE = "at-once"
    DAILY = "daily"
    NONE = "none"


#: Who chose "at once" gets this many mails within an hour; what happens beyond them is gathered into one mail that
#: goes this much later.
MANY_AN_HOUR = 8
GATHERED_FOR = timedelta(minutes=15)

#: What always comes in a mail of its own, at once: the letter itself, and what somebody waits for an answer to.
ON_ITS_OWN = frozenset(
    {
        Deed.SEND_LETTER,
        Deed.TAKE_BACK_LETTER,
        Deed.ASK_CONSENT,
        Deed.ANNOUNCE_SILENCE,
        Deed.PROPOSE,
        Deed.ASK_TO_READ,
    }
)


class NoticeKind(StrEnum):
    """What a notice is about."""

    HAPPENED = "happened"
    DUE = "due"
    CANNOT_MEET = "cannot-meet"


#: The day's mail is put together at this hour, where the person's first book counts its days.
MORNING_HOUR = 7

_ANSWERING = frozenset({Role.ART_DIRECTOR, Role.EDITOR})
_OVERDUE_TOO = frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT})

#: Both sides hear on the same day that a date is out of reach, so that neither learns of it from the other.
CANNOT_MEET_TOLD = frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION})


#: Deeds that can put a spread's end out of reach at once; days that pass are looked at every morning.
MOVES_THE_END = frozenset(
    {
        Deed.CHANGE_BOOK,
        Deed.CHANGE_PLAN,
        Deed.LAY_OUT,
        Deed.REPAGE,
        Deed.MOVE_DUE_DATE,
        Deed.AGREE_PAUSE,
        Deed.SEND_LETTER,
        Deed.TAKE_BACK_LETTER,
        Deed.AGREE,
        Deed.CHANGE_TERMS,
    }
)


def is_reminded(role: Role, side: Side, urgency: Urgency, *, is_hidden: bool) -> bool:
    """Say whether a role is reminded of a side's due date.

    Ahead and on the day only those who have to do something; once it is late also those who wait for it. A stage
    that the publisher does not see is nobody's business but the illustrator's.
    """
    if is_hidden:
        return role == Role.ILLUSTRATOR
    doers = frozenset({Role.ILLUSTRATOR}) if side == Side.ILLUSTRATOR else _ANSWERING
    return role in (doers | _OVERDUE_TOO if urgency == Urgency.LATE else doers)


def calendar_sides(role: Role) -> frozenset[Side]:
    """Name the sides whose due dates stand in a role's calendar; the agent watches both."""
    if role == Role.ILLUSTRATOR:
        return frozenset({Side.ILLUSTRATOR})
    if role == Role.AGENT:
        return frozenset({Side.ILLUSTRATOR, Side.PUBLISHER})
    return frozenset({Side.PUBLISHER}) if role in PUBLISHER_SIDE else frozenset()
