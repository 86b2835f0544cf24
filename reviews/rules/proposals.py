"""Two words make an agreement: what one side may do alone, what it proposes, and whose word makes it hold.

A date, the terms, a pause and what the book's pages carry are proposed by one side and hold once the other side
accepts. Until then what stood before stands. Alone a side may only give itself less time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from reviews.rules.states import ILLUSTRATOR_SIDE, Gate, PassageState, Refused, Role, Side


class Matter(StrEnum):
    """What a proposal is about."""

    DATE = "date"
    TERMS = "terms"
    PAUSE = "pause"
    PAGES = "pages"


class ProposalState(StrEnum):
    """``ANSWERED``: the other side proposed something else instead; ``REPLACED``: its own side did; ``OVERTAKEN``: what
    it was about had happened."""

    OPEN = "open"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    ANSWERED = "answered"
    WITHDRAWN = "withdrawn"
    REPLACED = "replaced"
    OVERTAKEN = "overtaken"


#: Why nobody can answer a proposal that has ended.
ENDED = {
    ProposalState.ACCEPTED: "proposal-accepted",
    ProposalState.DECLINED: "proposal-declined",
    ProposalState.ANSWERED: "proposal-answered",
    ProposalState.WITHDRAWN: "proposal-withdrawn",
    ProposalState.REPLACED: "proposal-replaced",
    ProposalState.OVERTAKEN: "proposal-overtaken",
}


class WhichDate(StrEnum):
    """The two dates of a passage; each belongs to the side that has to keep it."""

    HAND_IN = "hand-in"
    ANSWER = "answer"

    @property
    def keeper(self) -> Side:
        """Name the side that has to keep it."""
        return Side.PUBLISHER if self == WhichDate.ANSWER else Side.ILLUSTRATOR


_DATED = {
    WhichDate.HAND_IN: frozenset({PassageState.CLOSED, PassageState.DRAWING}),
    WhichDate.ANSWER: frozenset({PassageState.ANSWERING}),
}


@dataclass(frozen=True, kw_only=True)
class DateStands:
    """Where the date of a passage stands: ``hand_in`` is the newest hand-in, ``on`` the date, if there is one now.

    What the printer makes (``is_printers``) is handed in by the publisher, whose date it is.
    """

    which: WhichDate
    state: PassageState
    gate: Gate
    hand_in: int | None
    on: date | None
    is_printers: bool = False

    @property
    def keeper(self) -> Side:
        """Name the side that has to keep it."""
        return Side.PUBLISHER if self.is_printers else self.which.keeper

    @property
    def is_open(self) -> bool:
        """Say whether there is a date to keep: not where it was handed in, answered or approved already."""
        return self.on is not None and self.state in _DATED[self.which]


def side_of(role: Role) -> Side:
    """Name the side a role sits on."""
    return Side.ILLUSTRATOR if role in ILLUSTRATOR_SIDE else Side.PUBLISHER


def may_alone(stands: DateStands, by: Side, to: date) -> bool:
    """Say whether a side may move a date without the other's word.

    It may give itself less time. A stage that the publisher does not see is the illustrator's own affair.
    """
    if stands.gate == Gate.HIDDEN:
        return by == Side.ILLUSTRATOR
    return stands.on is not None and stands.keeper == by and to < stands.on


def speaks_on(matter: Matter, role: Role, *, agent_answers_dates: bool) -> bool:
    """Say whether a role may propose and answer a matter for its side.

    The art director speaks for the publisher. The agent speaks on the terms as the illustrator does, and on dates
    and pauses where the illustrator has said so.
    """
    if role in (Role.ART_DIRECTOR, Role.ILLUSTRATOR):
        return True
    return role == Role.AGENT and (matter == Matter.TERMS or agent_answers_dates)


def check_speaks(matter: Matter, role: Role, *, agent_answers_dates: bool) -> None:
    """Refuse a role that does not speak for its side on a matter."""
    if not speaks_on(matter, role, agent_answers_dates=agent_answers_dates):
        raise Refused("agent-not-asked" if role == Role.AGENT else "not-yours")


def check_answer(state: str, by: Side, answerer: Side) -> None:
    """Refuse an answer to a proposal that is answered already, or by the side that made it."""
    check_open(state)
    if by == answerer:
        raise Refused("own-proposal")


def check_open(state: str) -> None:
    """Refuse what somebody would do with a proposal that has ended meanwhile."""
    if (code := ENDED.get(ProposalState(state))) is not None:
        raise Refused(code)


def is_overtaken(hand_in_then: int | None, stood_on: date | None, now: DateStands) -> bool:
    """Say whether a proposed date has lost its object: the passage was handed in, answered or taken back meanwhile, or
    is the illustrator's own affair now.

    So it has where another date stands than the one it was to take the place of, as when a stage that was closed has
    opened: what was proposed as more time could be less of it now.
    """
    return not now.is_open or now.hand_in != hand_in_then or now.on != stood_on or now.gate == Gate.HIDDEN


def asked_of(role: Role, by: Side, matter: Matter, *, agent_answers_dates: bool) -> bool:
    """Say whether an open proposal of a side waits for this role's word."""
    if role not in (Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT):
        return False
    return side_of(role) != by and speaks_on(matter, role, agent_answers_dates=agent_answers_dates)


def told_of(by: Side, roles: Iterable[Role] = (Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT)) -> frozenset[Role]:
    """Name who is written to when a side proposes: the other side, and the agent whichever side it was."""
    return frozenset(role for role in roles if side_of(role) != by or role == Role.AGENT)
