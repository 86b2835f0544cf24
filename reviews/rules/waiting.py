"""On whom one passage waits, seen from one seat: the rule behind everybody's desk.

"Each person's first screen: what waits on me across books, soonest first; what waits on others and since when."
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reviews.rules.states import STAGE_WORDS, PassageState, Role, StageKind

PRODUCTION_STAGES = frozenset({StageKind.FINISH, StageKind.PROOF})


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What the desk knows of one passage for one seat.

    ``n_open`` notes of letters still without an answer, ``n_unsent`` notes not yet sent, ``n_own`` those of this
    seat; ``has_voice`` whether this seat has agreed or objected to the newest hand-in, ``has_marked`` whether it
    marked an option, ``is_marked`` whether anybody did.
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
    is_marked: bool = False
    is_in_letter: bool = False


@dataclass(frozen=True)
class Waits:
    """``words`` say what is to be done where it waits on this seat (``on_me``), else who has it now."""

    on_me: bool
    words: str
    detail: str = ""


def waits(role: Role, facts: Facts) -> Waits | None:
    """Say what a passage asks of this seat, or on whom it waits; None where it is no concern of theirs now."""
    if facts.state not in {PassageState.DRAWING, PassageState.ANSWERING}:
        return None
    return _ROLES[role](facts)


def _illustrator(facts: Facts) -> Waits:
    if facts.state == PassageState.ANSWERING:
        return _with_others(facts)
    stage = STAGE_WORDS[facts.stage].lower()
    detail = "Your draft is not handed in yet" if facts.has_draft else ""
    if facts.n_open:
        return Waits(True, f"Answer the letter, then hand in the {stage} again", _join(_notes(facts.n_open), detail))
    return Waits(True, f"Hand in the {stage}", detail)


def _art_director(facts: Facts) -> Waits | None:
    if facts.state == PassageState.DRAWING or facts.is_pending:
        return _with_others(facts)
    if facts.is_in_letter:
        return None  # the letter itself waits on them, and answers this passage
    found = [f"{_count(facts.n_unsent, 'note')} to weigh"] if facts.n_unsent else []
    if facts.is_marked:
        found.append("options are marked" if found else "Options are marked")
    return Waits(
        True, f"Answer the {STAGE_WORDS[facts.stage].lower()}", " and ".join(found) or "Nobody has marked it yet"
    )


def _editor(facts: Facts) -> Waits:
    # A plate for foil or varnish has no text to be marked against.
    if facts.state == PassageState.DRAWING or (facts.stage == StageKind.FINISH and not facts.two_voices):
        return _with_others(facts)
    if facts.two_voices and not facts.has_voice:
        if facts.is_pending:
            return Waits(True, "Agree or object", "The art director approved it; your voice makes it count")
        return Waits(True, "Mark it, and say whether you agree", "This stage needs two voices")
    if not facts.has_voice and not facts.n_own:
        return Waits(True, f"Mark the {STAGE_WORDS[facts.stage].lower()} against the text")
    return Waits(False, "With the art director", f"You pinned {_count(facts.n_own, 'note')}" if facts.n_own else "")


def _production(facts: Facts) -> Waits | None:
    if facts.stage not in PRODUCTION_STAGES:
        return None
    if facts.state == PassageState.ANSWERING and not facts.n_own:
        return Waits(True, f"Check the {STAGE_WORDS[facts.stage].lower()}")
    return _with_others(facts)


def _agent(facts: Facts) -> Waits:
    side = "illustrator’s hand-in" if facts.state == PassageState.DRAWING else "publisher’s answer"
    found = []
    if facts.n_over:
        found.append(f"{_count(facts.n_over, 'round')} over the fee")
    if facts.is_late:
        found.append(f"the {side} is late")
    if found:
        words = " and ".join(found)
        return Waits(True, words[0].upper() + words[1:])
    return _with_others(facts)


def _guest(facts: Facts) -> Waits:
    if facts.state == PassageState.ANSWERING and not facts.has_marked:
        return Waits(True, "Say which option you would choose")
    return _with_others(facts)


def _with_others(facts: Facts) -> Waits:
    """Say who has it, for whoever has not."""
    if facts.state == PassageState.DRAWING:
        return Waits(False, "With the illustrator")
    if facts.is_pending:
        return Waits(False, "With the editor", "The art director approved it")
    return Waits(False, "With the art director")


_ROLES: dict[Role, Callable[[Facts], Waits | None]] = {
    Role.ILLUSTRATOR: _illustrator,
    Role.ART_DIRECTOR: _art_director,
    Role.EDITOR: _editor,
    Role.PRODUCTION: _production,
    Role.AGENT: _agent,
    Role.GUEST: _guest,
}


def _notes(n: int) -> str:
    return f"{_count(n, 'note')} without an answer"


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"


def _join(*parts: str) -> str:
    return "; ".join(part for part in parts if part)
