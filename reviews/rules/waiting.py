"""On whom one passage waits, seen from one seat: the rule behind everybody's desk.

Everybody's first screen shows what waits on them across their books, soonest first, and then what others have and
since when.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from reviews.rules.hands import PRINTERS_STAGES, is_with_printer
from reviews.rules.states import PassageState, Role, StageKind

#: Who works on the words and round them; whoever watches the contract only learns of it by mail and in the ledger.
_TOLD_OF_TEXT = frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.DESIGNER})
PRODUCTION_STAGES = frozenset({StageKind.FINISH}) | PRINTERS_STAGES


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What the desk knows of one passage for one seat.

    ``n_open`` notes of letters still without an answer, ``n_unsent`` notes not yet sent, ``n_own`` those of this
    seat; ``has_voice`` whether this seat has agreed or objected to the newest hand-in, ``has_marked`` whether it
    marked an option, ``has_looked`` whether it marked one or said that it has nothing to note, ``is_marked`` whether
    anybody marked one; ``is_asked`` whether this seat is asked about the spread by name, ``is_cover`` whether it is
    the cover, ``is_text_changed`` whether its text was changed after an approved sketch and not drawn to since;
    ``is_voting`` whether a vote on it is open to which this seat gave no ballot, ``vote_waits`` whether one
    is open, or closed and not decided, ``decides_vote`` whether one is closed that this seat is named to decide.
    """

    stage: StageKind
    state: PassageState
    is_pending: bool = False
    two_voices: bool = False
    is_late: bool = False
    n_over: int = 0
    n_open: int = 0
    n_unsent: int = 0
    n_own: int = 0
    has_draft: bool = False
    has_voice: bool = False
    has_marked: bool = False
    has_looked: bool = False
    is_marked: bool = False
    is_in_letter: bool = False
    is_objected: bool = False
    is_asked: bool = False
    is_cover: bool = False
    is_text_changed: bool = False
    is_voting: bool = False
    vote_waits: bool = False
    decides_vote: bool = False


class Asks(StrEnum):
    """What is to be done where a passage waits on a seat, or else who has it now."""

    HAND_IN = "hand-in"
    ANSWER_AND_HAND_IN = "answer-and-hand-in"
    ANSWER_SMALL_NOTES = "answer-small-notes"
    ANSWER = "answer"
    AGREE = "agree"
    MARK_AND_AGREE = "mark-and-agree"
    MARK = "mark"
    CHECK = "check"
    CHECK_LAYOUT = "check-layout"
    READ = "read"
    LOOK = "look"
    CHOOSE = "choose"
    VOTE = "vote"
    DECIDE_VOTE = "decide-vote"
    WITH_ILLUSTRATOR = "with-illustrator"
    WITH_ART_DIRECTOR = "with-art-director"
    WITH_EDITOR = "with-editor"
    WITH_PRINTER = "with-printer"
    WAIT_TO_READ = "wait-to-read"
    HAND_IN_PROOF = "hand-in-proof"


class Detail(StrEnum):
    """What else is to be known about it; some are counted."""

    HAS_DRAFT = "has-draft"
    UNANSWERED = "unanswered"
    TO_WEIGH = "to-weigh"
    IS_MARKED = "is-marked"
    NOBODY_MARKED = "nobody-marked"
    APPROVED_BY_ONE = "approved-by-one"
    YOUR_VOICE_COUNTS = "your-voice-counts"
    TWO_VOICES = "two-voices"
    OWN_NOTES = "own-notes"
    OBJECTED = "objected"
    VOTE_WAITS = "vote-waits"
    ITS_VOTE_IS_CLOSED = "its-vote-is-closed"
    OVER = "over"
    HAND_IN_LATE = "hand-in-late"
    ANSWER_LATE = "answer-late"
    TEXT_CHANGED = "text-changed"


@dataclass(frozen=True)
class Waits:
    """``asks`` says what is to be done where it waits on this seat (``on_me``), else who has it now."""

    on_me: bool
    asks: Asks
    stage: StageKind
    details: tuple[tuple[Detail, int], ...] = ()


def waits(role: Role, facts: Facts) -> Waits | None:
    """Say what a passage asks of this seat, or on whom it waits; None where it is no concern of theirs now."""
    if facts.state == PassageState.APPROVED and role == Role.ILLUSTRATOR and facts.n_open:
        return _on_me(facts, Asks.ANSWER_SMALL_NOTES, (Detail.UNANSWERED, facts.n_open))
    if facts.state not in {PassageState.DRAWING, PassageState.ANSWERING}:
        return None
    found = _ROLES[role](facts)
    if found is None or not facts.is_text_changed or role not in _TOLD_OF_TEXT:
        return found
    return replace(found, details=(*found.details, (Detail.TEXT_CHANGED, 0)))


def _on_me(facts: Facts, asks: Asks, *details: tuple[Detail, int]) -> Waits:
    return Waits(True, asks, facts.stage, details)


def _illustrator(facts: Facts) -> Waits:
    if facts.state == PassageState.ANSWERING or is_with_printer(facts.stage, facts.state):
        return _with_others(facts)
    draft = [(Detail.HAS_DRAFT, 0)] if facts.has_draft else []
    if facts.n_open:
        return _on_me(facts, Asks.ANSWER_AND_HAND_IN, (Detail.UNANSWERED, facts.n_open), *draft)
    return _on_me(facts, Asks.HAND_IN, *draft)


def _art_director(facts: Facts) -> Waits | None:
    if facts.state == PassageState.DRAWING or facts.is_pending:
        return _with_others(facts)
    if facts.is_in_letter:
        return None  # the letter itself waits on them, and answers this passage
    found = [(Detail.OBJECTED, 0)] if facts.is_objected else []
    found += [(Detail.TO_WEIGH, facts.n_unsent)] if facts.n_unsent else []
    if facts.is_marked:
        found.append((Detail.IS_MARKED, 0))
    if facts.vote_waits:
        found.append((Detail.VOTE_WAITS, 0))
    return _on_me(facts, Asks.ANSWER, *(found or [(Detail.NOBODY_MARKED, 0)]))


def _editor(facts: Facts) -> Waits:
    # A plate for foil or varnish has no text to be marked against.
    if facts.state == PassageState.DRAWING or (facts.stage == StageKind.FINISH and not facts.two_voices):
        return _with_others(facts)
    if facts.two_voices and not facts.has_voice:
        if facts.is_pending:
            return _on_me(facts, Asks.AGREE, (Detail.YOUR_VOICE_COUNTS, 0))
        return _on_me(facts, Asks.MARK_AND_AGREE, (Detail.TWO_VOICES, 0))
    if facts.decides_vote:
        return _on_me(facts, Asks.DECIDE_VOTE, (Detail.ITS_VOTE_IS_CLOSED, 0))
    if facts.is_voting:
        return _on_me(facts, Asks.VOTE)
    if not facts.has_voice and not facts.n_own and not facts.has_looked:
        return _on_me(facts, Asks.MARK)
    own = ((Detail.OWN_NOTES, facts.n_own),) if facts.n_own else ()
    return Waits(False, Asks.WITH_ART_DIRECTOR, facts.stage, own)


def _production(facts: Facts) -> Waits | None:
    if facts.is_voting:
        return _on_me(facts, Asks.VOTE)
    if facts.stage not in PRODUCTION_STAGES:
        return None
    if facts.state == PassageState.ANSWERING and not facts.n_own and not facts.has_looked:
        return _on_me(facts, Asks.CHECK)
    if is_with_printer(facts.stage, facts.state):
        details = ((Detail.UNANSWERED, facts.n_open),) if facts.n_open else ()
        return _on_me(facts, Asks.HAND_IN_PROOF, *details)
    return _with_others(facts)


def _agent(facts: Facts) -> Waits:
    found = [(Detail.OVER, facts.n_over)] if facts.n_over else []
    if facts.is_late and not is_with_printer(facts.stage, facts.state):
        is_drawing = facts.state == PassageState.DRAWING
        found.append((Detail.HAND_IN_LATE if is_drawing else Detail.ANSWER_LATE, 0))
    return _on_me(facts, Asks.LOOK, *found) if found else _with_others(facts)


def _designer(facts: Facts) -> Waits:
    """A designer looks at everything handed in for type, trim and fold, before the letter goes."""
    if facts.is_voting:
        return _on_me(facts, Asks.VOTE)
    if facts.state == PassageState.ANSWERING and not (facts.is_pending or facts.n_own or facts.has_looked):
        return _on_me(facts, Asks.CHECK_LAYOUT)
    own = ((Detail.OWN_NOTES, facts.n_own),) if facts.n_own else ()
    return Waits(False, Asks.WITH_ART_DIRECTOR, facts.stage, own) if own else _with_others(facts)


def _reader(facts: Facts) -> Waits | None:
    """Author and expert reader: a spread waits on them where they are asked about it by name, and nowhere else."""
    if not facts.is_asked:
        return None
    if facts.state != PassageState.ANSWERING:
        return Waits(False, Asks.WAIT_TO_READ, facts.stage)
    if facts.n_own or facts.has_looked:
        own = ((Detail.OWN_NOTES, facts.n_own),) if facts.n_own else ()
        return Waits(False, Asks.WITH_ART_DIRECTOR, facts.stage, own)
    return _on_me(facts, Asks.READ)


def _sales(facts: Facts) -> Waits | None:
    """Sales choose among the cover's options; of everything else they see what is approved."""
    if not facts.is_cover:
        return None
    return _guest(facts) if facts.stage == StageKind.IDEAS else _with_others(facts)


def _guest(facts: Facts) -> Waits:
    if facts.is_voting:
        return _on_me(facts, Asks.VOTE)
    if facts.state == PassageState.ANSWERING and not facts.has_marked:
        return _on_me(facts, Asks.CHOOSE)
    return _with_others(facts)


def _with_others(facts: Facts) -> Waits:
    """Say who has it, for whoever has not."""
    if is_with_printer(facts.stage, facts.state):
        return Waits(False, Asks.WITH_PRINTER, facts.stage)
    if facts.state == PassageState.DRAWING:
        return Waits(False, Asks.WITH_ILLUSTRATOR, facts.stage)
    if facts.is_pending:
        return Waits(False, Asks.WITH_EDITOR, facts.stage, ((Detail.APPROVED_BY_ONE, 0),))
    return Waits(False, Asks.WITH_ART_DIRECTOR, facts.stage)


_ROLES: dict[Role, Callable[[Facts], Waits | None]] = {
    Role.ILLUSTRATOR: _illustrator,
    Role.ART_DIRECTOR: _art_director,
    Role.EDITOR: _editor,
    Role.PRODUCTION: _production,
    Role.AGENT: _agent,
    Role.GUEST: _guest,
    Role.AUTHOR: _reader,
    Role.DESIGNER: _designer,
    Role.SALES: _sales,
    Role.READER: _reader,
}
