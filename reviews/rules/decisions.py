"""What a hand-in, an answer and a second voice do to a passage.

Each function takes the frozen state of one passage, and returns the outcome or raises ``Refused``.
Nothing here looks at a database or a clock.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from reviews.rules.states import APPROVALS, Answer, Cause, Gate, PassageState, Refused


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A passage as the rules see it.

    ``hand_in`` is the number of the newest hand-in that was not withdrawn, ``pending`` the number
    of the hand-in whose approval waits for a second voice, ``next_is_closed`` whether the stage
    after it has yet to open (False when there is none).
    """

    state: PassageState
    gate: Gate
    two_voices: bool
    hand_in: int | None
    pending: int | None
    next_is_closed: bool


@dataclass(frozen=True)
class Outcome:
    """What becomes of a passage: its state, whether the next stage opens, and what waits."""

    state: PassageState
    opens_next: bool = False
    freezes: bool = False
    pending: bool = False
    reopened: bool = False


@dataclass(frozen=True, kw_only=True)
class LookedAt:
    """What is known of the hand-in that waits: how much lies there, who opened it, and what was found about it.

    ``n_changed`` places differ from an earlier version, or it is not known yet (None); ``is_for_print`` is a plate or
    what the printer made: once passed it is printed or bound, and the whole sheet counts, so each is answered apart.
    """

    n_pictures: int
    n_unsent_notes: int
    n_unmet_notes: int
    n_changed: int | None
    is_opened: bool
    is_objected: bool
    is_for_print: bool


def may_approve_unasked(standing: Standing, seen: LookedAt, *, is_answered: bool) -> bool:
    """Say whether approving with others at one press needs no further look: opened, and nothing found or open."""
    return (
        standing.state == PassageState.ANSWERING
        and standing.pending is None
        and not is_answered
        and seen.n_pictures == 1
        and seen.is_opened
        and not seen.n_unsent_notes
        and not seen.n_unmet_notes
        and seen.n_changed == 0
        and not seen.is_objected
        and not seen.is_for_print
    )


def hand_in(standing: Standing, *, n_ready: int, n_unread: int, n_refused: int) -> Outcome:
    """Hand in the drafted pictures of a passage.

    Only when it is the illustrator's turn, and only whole files.
    A stage that the publisher is merely shown, or does not see, is passed at once.
    """
    if standing.state == PassageState.CLOSED:
        raise Refused("not-open")
    if standing.state == PassageState.ANSWERING:
        raise Refused("publisher-is-answering")
    if standing.state == PassageState.APPROVED:
        raise Refused("already-approved")
    if n_refused:
        raise Refused("refused-pictures", count=n_refused)
    if n_unread:
        raise Refused("unread-pictures", count=n_unread)
    if not n_ready:
        raise Refused("no-pictures")
    if standing.gate == Gate.ANSWERS:
        return Outcome(PassageState.ANSWERING)
    return Outcome(PassageState.PASSED, opens_next=standing.next_is_closed)


def withdraw_hand_in(standing: Standing, number: int) -> Outcome:
    """Take back a mistaken hand-in, as long as nobody has answered it."""
    if standing.state == PassageState.PASSED:
        raise Refused("passed-on")
    if standing.state != PassageState.ANSWERING or standing.hand_in != number:
        raise Refused("already-answered")
    if standing.pending is not None:
        raise Refused("approval-pending")
    return Outcome(PassageState.DRAWING)


def check_answer(
    standing: Standing, answer: Answer, *, hand_in: int | None, has_picture: bool, causes: Collection[Cause]
) -> None:
    """Refuse an answer that the passage cannot take now.

    Asking for a change to something approved is possible, and is always a new direction or a
    changed text: "the brief was not met" cannot be said of what was approved.
    """
    causes = [cause for cause in causes if cause.asks]
    if standing.hand_in is None:
        raise Refused("nothing-handed-in")
    if hand_in != standing.hand_in:
        raise Refused("handed-in-since")
    if standing.state == PassageState.APPROVED and answer == Answer.ASK:
        if Cause.BRIEF in causes:
            raise Refused("brief-after-approval")
        if not set(causes) & {Cause.DIRECTION, Cause.TEXT}:
            raise Refused("reopen-needs-cause")
        return
    if standing.state != PassageState.ANSWERING:
        raise Refused("not-waiting-for-answer")
    if answer == Answer.ASK and not causes:
        raise Refused("ask-without-notes")
    if answer in APPROVALS and not has_picture:
        raise Refused("choose-the-picture")


def answer(standing: Standing, given: Answer, *, second_voice_agreed: bool) -> Outcome:
    """Apply a letter's answer to a passage that ``check_answer`` let through."""
    if given == Answer.ASK:
        return Outcome(PassageState.DRAWING, reopened=standing.state == PassageState.APPROVED)
    if standing.two_voices and not second_voice_agreed:
        return Outcome(PassageState.ANSWERING, pending=True)
    return Outcome(PassageState.APPROVED, opens_next=standing.next_is_closed, freezes=True)


def agree(standing: Standing, number: int) -> Outcome:
    """Add the second voice; an approval that was waiting for it takes effect now."""
    if not standing.two_voices:
        raise Refused("one-voice-is-enough")
    if standing.state != PassageState.ANSWERING or standing.hand_in != number:
        raise Refused("already-answered")
    if standing.pending == number:
        return Outcome(PassageState.APPROVED, opens_next=standing.next_is_closed, freezes=True)
    return Outcome(PassageState.ANSWERING)


def approve_by_silence(standing: Standing, *, n_pictures: int) -> Outcome:
    """Let silence count as approval, where the terms say so: nobody has answered, and there is one thing to approve.

    Silence chooses nothing: of several options it approves none, and the answer stays due.
    """
    if standing.state != PassageState.ANSWERING or standing.pending is not None:
        raise Refused("not-silent")
    if n_pictures != 1:
        raise Refused("silence-cannot-choose")
    return Outcome(PassageState.APPROVED, opens_next=standing.next_is_closed, freezes=True)


def object_to(standing: Standing, number: int) -> Outcome:
    """Let the second voice say no: a waiting approval falls, and the art director answers anew."""
    if not standing.two_voices:
        raise Refused("one-voice-is-enough")
    if standing.state != PassageState.ANSWERING or standing.hand_in != number:
        raise Refused("already-answered")
    return Outcome(PassageState.ANSWERING)
