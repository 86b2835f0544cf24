"""What the closed lists of the work are called on screens, in mails and on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils.translation import gettext_lazy as _

from reviews.models import Passage
from reviews.models.jobs import JobState
from reviews.models.stage_names import own_name
from reviews.pages.wording.kept import kept_by_language
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.terms import WhenOver
from reviews.rules.hands import is_with_printer
from reviews.rules.mailing import MailChoice
from reviews.rules.states import (
    Cause,
    ErrorOf,
    Gate,
    PassageState,
    Refused,
    Response,
    Role,
    Side,
    StageKind,
    in_a_sentence,
)

if TYPE_CHECKING:
    # What ``gettext_lazy`` gives; only the type checker knows it by a name of its own.
    from django.utils.functional import _StrPromise as Promise

ROLE_WORDS: dict[Role, Promise] = {
    Role.ILLUSTRATOR: _("illustrator"),
    Role.ART_DIRECTOR: _("art director"),
    Role.EDITOR: _("editor"),
    Role.AGENT: _("agent"),
    Role.PRODUCTION: _("production"),
    Role.GUEST: _("guest of the cover meeting"),
    Role.AUTHOR: _("author"),
    Role.DESIGNER: _("designer"),
    Role.SALES: _("sales"),
    Role.READER: _("expert reader"),
}

SIDE_WORDS: dict[Side, Promise] = {Side.ILLUSTRATOR: _("illustrator"), Side.PUBLISHER: _("publisher")}

STAGE_WORDS: dict[StageKind, Promise] = {
    StageKind.IDEAS: _("Ideas"),
    StageKind.SKETCH: _("Sketch"),
    StageKind.FULL_SKETCH: _("Full sketch"),
    StageKind.LINE: _("Line"),
    StageKind.INK: _("Ink"),
    StageKind.FLATS: _("Flats"),
    StageKind.COLOUR: _("Colour"),
    StageKind.FINISH: _("Special finish"),
    StageKind.PROOF: _("Proof"),
    StageKind.GATHERED: _("F&Gs"),
}

GATE_WORDS: dict[Gate, Promise] = {
    Gate.ANSWERS: _("The publisher must answer"),
    Gate.SHOWN: _("The publisher is shown it"),
    Gate.HIDDEN: _("The publisher does not see it"),
}

STATE_WORDS: dict[PassageState, Promise] = {
    PassageState.CLOSED: _("Not open yet"),
    PassageState.DRAWING: _("With the illustrator"),
    PassageState.ANSWERING: _("With the publisher"),
    PassageState.APPROVED: _("Approved"),
    PassageState.PASSED: _("Done, no answer needed"),
}
# The terms count silence as approval: true, and not the same as a person's word.
SILENT_WORDS = _("Deemed approved (no reply)")

# It came into the plan when a later stage was open on the spread already, and opens there only if somebody opens it.
PASSED_OVER_WORDS = _("Passed over")

# A proof and F&Gs are made by neither side.
PRINTER_WORDS = _("With the printer")

CAUSE_WORDS: dict[Cause, Promise] = {
    Cause.BRIEF: _("The brief was not met"),
    Cause.DIRECTION: _("A new direction"),
    Cause.TEXT: _("The text changed"),
    Cause.PRODUCTION: _("Production: size, bleed or colour"),
    Cause.PRINTER: _("The printer’s error"),
    Cause.QUESTION: _("A question"),
    Cause.PRAISE: _("Praise"),
}
#: Whose error a mark on a proof is, as one chooses it, and as it stands beside why.
ERROR_WORDS: dict[ErrorOf, Promise] = {
    ErrorOf.PRINTER: _("The printer’s"),
    ErrorOf.FILE: _("The file’s: how it was prepared for print"),
    ErrorOf.ART: _("The art’s"),
    ErrorOf.TEXT: _("The text’s"),
    ErrorOf.NOBODY: _("Nobody’s: an alteration"),
}
_ERROR_BESIDE: dict[ErrorOf, Promise] = {
    ErrorOf.FILE: _("an error of the file"),
    ErrorOf.ART: _("an error of the art"),
    ErrorOf.TEXT: _("an error of the text"),
    ErrorOf.NOBODY: _("nobody’s error: an alteration"),
}

RESPONSE_WORDS: dict[Response, Promise] = {
    Response.DONE: _("Done"),
    Response.NOT_DONE: _("Not done"),
    Response.QUESTION: _("Asked a question"),
}

MAIL_WORDS: dict[MailChoice, Promise] = {
    MailChoice.AT_ONCE: _("At once, as each thing happens; due dates once a day"),
    MailChoice.DAILY: _("Once a day, everything in one mail"),
    MailChoice.NONE: _("No mail at all"),
}

WHEN_OVER_WORDS: dict[WhenOver, Promise] = {
    WhenOver.TELL: _("the art director is told before sending, the agent after"),
    WhenOver.AGENT_CONSENT: _("the letter waits for the agent’s consent"),
    WhenOver.REFUSE: _("the letter is refused"),
}

STANDING_WORDS: dict[RoundStanding, Promise] = {
    RoundStanding.IN_FEE: _("a round of the fee"),
    RoundStanding.OVER: _("an extra round, after those in the fee"),
    RoundStanding.OUTSIDE: _("a change to what was approved, outside the fee"),
    RoundStanding.NOT_COUNTED: _("no round: it asks for no change of what was agreed"),
}

BINDING_WORDS: dict[BindingKind, Promise] = {
    BindingKind.CASE: _("Case bound"),
    BindingKind.PAPERBACK: _("Paperback"),
    BindingKind.STITCHED: _("Saddle-stitched"),
    BindingKind.BOARD: _("Board book"),
}
ENDS_WORDS: dict[EndsKind, Promise] = {
    EndsKind.SELF: _("Self-ended"),
    EndsKind.SEPARATE: _("Separate endpapers"),
    EndsKind.NONE: _("No endpapers"),
}

JOB_STATE_WORDS: dict[JobState, Promise] = {
    JobState.QUEUED: _("waiting"),
    JobState.RUNNING: _("being done"),
    JobState.DONE: _("done"),
    JobState.FAILED: _("could not be done"),
}


@kept_by_language
def role_words(role: str) -> str:
    """Name a part on a book."""
    return str(ROLE_WORDS[Role(role)])


@kept_by_language
def side_words(side: str) -> str:
    """Name a side."""
    return str(SIDE_WORDS[Side(side)])


def stage_words(stage: str) -> str:
    """Name a stage as the book that is spoken of does, or refuse one that does not exist."""
    return own_name(stage) or _usual_stage(stage)


@kept_by_language
def _usual_stage(stage: str) -> str:
    try:
        return str(STAGE_WORDS[StageKind(stage)])
    except ValueError as unknown:
        raise Refused("unknown-stage", stage=stage) from unknown


def stage_in_a_sentence(stage: str) -> str:
    """Name a stage in the middle of a sentence."""
    return in_a_sentence(stage_words(stage))


@kept_by_language
def gate_words(gate: str) -> str:
    """Say what the publisher does at a stage."""
    return str(GATE_WORDS[Gate(gate)])


@kept_by_language
def state_words(state: str) -> str:
    """Say where a passage stands."""
    return str(STATE_WORDS[PassageState(state)])


def passage_words(passage: Passage) -> str:
    """Say where a passage stands, and whether nobody's word but silence approved it."""
    if is_with_printer(StageKind(passage.stage.kind), PassageState(passage.state)):
        return str(PRINTER_WORDS)
    return str(SILENT_WORDS) if passage.is_silent else state_words(passage.state)


@kept_by_language
def cause_words(cause: str) -> str:
    """Say why a change is asked for."""
    return str(CAUSE_WORDS[Cause(cause)])


@kept_by_language
def error_words(error: str) -> str:
    """Say beside why a change is asked for whose error it is; nothing where that is said already, or not known."""
    return str(_ERROR_BESIDE.get(ErrorOf(error), "")) if error else ""


def response_words(response: str) -> str:
    """Say what the illustrator answered to a note; nothing where nothing was."""
    return str(RESPONSE_WORDS[Response(response)]) if response else ""


@kept_by_language
def standing_words(standing: RoundStanding) -> str:
    """Say how the terms take one letter."""
    return str(STANDING_WORDS[standing])
