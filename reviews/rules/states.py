"""The words of the work as closed lists, and the one way in which a rule says no.

Everything here is plain data: the database stores these values, the ledger repeats them, the
pages put them in words (``pages/wording/``). A new member needs its audience (``audiences.py``), its row
in the access table (``permits.py``), its sentence (``wording/ledger.py``) and, where a person can be refused,
its text (``wording/refusals.py``); the architecture tests fail until it has them.
"""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """A person's part on one book."""

    ILLUSTRATOR = "illustrator"
    ART_DIRECTOR = "art_director"
    EDITOR = "editor"
    AGENT = "agent"
    PRODUCTION = "production"
    GUEST = "guest"
    AUTHOR = "author"
    DESIGNER = "designer"
    SALES = "sales"
    READER = "reader"


class Side(StrEnum):
    """The two who owe each other something."""

    ILLUSTRATOR = "illustrator"
    PUBLISHER = "publisher"

    @property
    def other(self) -> Side:
        """Name the side across the table."""
        return Side.PUBLISHER if self == Side.ILLUSTRATOR else Side.ILLUSTRATOR


PUBLISHER_SIDE = frozenset({Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION, Role.DESIGNER})
#: Who advises the publisher without being of the house's own talk: each knows what they said themselves.
ADVISERS = frozenset({Role.AUTHOR, Role.SALES, Role.READER})
#: Who is asked about spreads by name.
READERS = frozenset({Role.AUTHOR, Role.READER})
ILLUSTRATOR_SIDE = frozenset({Role.ILLUSTRATOR, Role.AGENT})


class StageKind(StrEnum):
    """The steps a piece of art can go through, in the order the trade takes them."""

    IDEAS = "ideas"
    SKETCH = "sketch"
    FULL_SKETCH = "full_sketch"
    LINE = "line"
    INK = "ink"
    FLATS = "flats"
    COLOUR = "colour"
    FINISH = "finish"
    PROOF = "proof"
    GATHERED = "gathered"


#: What a stage is called where its book has no name of its own for it (``rules.stage_names``).
STAGE_NAMES = {
    StageKind.IDEAS: "Ideas",
    StageKind.SKETCH: "Sketch",
    StageKind.FULL_SKETCH: "Full sketch",
    StageKind.LINE: "Line",
    StageKind.INK: "Ink",
    StageKind.FLATS: "Flats",
    StageKind.COLOUR: "Colour",
    StageKind.FINISH: "Special finish",
    StageKind.PROOF: "Proof",
    StageKind.GATHERED: "F&Gs",
}


def in_a_sentence(name: str) -> str:
    """Write a stage's name in the middle of a sentence: "Rough sketch" as "rough sketch", "F&Gs" as it is."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def where_name(spread: str, stage: str) -> str:
    """Name a spread at a stage as the ledger does: "Pages 4–5, full sketch"."""
    return f"{spread}, {in_a_sentence(STAGE_NAMES[StageKind(stage)])}"


class Gate(StrEnum):
    """What the publisher does at a stage."""

    ANSWERS = "answers"
    SHOWN = "shown"
    HIDDEN = "hidden"


class PassageState(StrEnum):
    """Where one spread stands at one stage."""

    CLOSED = "closed"
    DRAWING = "drawing"
    ANSWERING = "answering"
    APPROVED = "approved"
    PASSED = "passed"


class HandInState(StrEnum):
    """``LEFT``: a draft whose maker's seat ended before it was handed in. It stays theirs and blocks nobody."""

    DRAFT = "draft"
    LEFT = "left"
    HANDED_IN = "handed_in"
    WITHDRAWN = "withdrawn"


class PictureState(StrEnum):
    """Received bytes are judged in the background; a refused file keeps its reason."""

    RECEIVED = "received"
    READY = "ready"
    REFUSED = "refused"


class Cause(StrEnum):
    """Why a note is written: the line along which contracts divide what is in the fee.

    ``PRODUCTION`` is a file that cannot be printed as it is (size, bleed, colour); ``PRINTER`` an error of the
    printer's, which is neither side's change; ``PRAISE`` asks for nothing.
    """

    BRIEF = "brief"
    DIRECTION = "direction"
    TEXT = "text"
    PRODUCTION = "production"
    PRINTER = "printer"
    QUESTION = "question"
    PRAISE = "praise"

    @property
    def asks(self) -> bool:
        """Say whether a note of this cause asks for anything: praise does not, so nobody owes it an answer."""
        return self != Cause.PRAISE


class ErrorOf(StrEnum):
    """Whose error a mark on a proof is, as the trade settles who pays: the press, the file, the art, the text.

    ``NOBODY`` is an alteration: what was approved is to be changed after all.
    """

    PRINTER = "printer"
    FILE = "file"
    ART = "art"
    TEXT = "text"
    NOBODY = "nobody"


#: What is taken where a mark says why and not whose error it is; a question and praise are no error of anyone's.
ERROR_BY_CAUSE = {
    Cause.PRINTER: ErrorOf.PRINTER,
    Cause.PRODUCTION: ErrorOf.FILE,
    Cause.BRIEF: ErrorOf.ART,
    Cause.TEXT: ErrorOf.TEXT,
    Cause.DIRECTION: ErrorOf.NOBODY,
}


class Reach(StrEnum):
    """What a note is about: a marked place, the whole spread, or the whole book."""

    PLACE = "place"
    SPREAD = "spread"
    BOOK = "book"


class NoteState(StrEnum):
    UNSENT = "unsent"
    SENT = "sent"
    HELD_BACK = "held_back"
    WITHDRAWN = "withdrawn"
    TAKEN_BACK = "taken_back"


class Weighing(StrEnum):
    """The art director's decision on one note before the letter goes."""

    THROUGH = "through"
    HELD = "held"


class Answer(StrEnum):
    """What a letter says to one spread."""

    APPROVE = "approve"
    APPROVE_SMALL = "approve_small"
    ASK = "ask"


APPROVALS = frozenset({Answer.APPROVE, Answer.APPROVE_SMALL})


class Response(StrEnum):
    """What the illustrator says to one note of a letter."""

    DONE = "done"
    NOT_DONE = "not_done"
    QUESTION = "question"


class Verdict(StrEnum):
    """A reviewer's mark on one idea option: the closest, maybe, or not this one."""

    THIS = "this"
    MAYBE = "maybe"
    NOT_THIS = "not_this"


class Sight(StrEnum):
    """Who may read a ledger entry or a note."""

    ALL = "all"
    PUBLISHER = "publisher"
    ILLUSTRATOR = "illustrator"


class Deed(StrEnum):
    """Everything that can happen to a book. One action, one ledger sentence each."""

    MAKE_BOOK = "make-book"
    CHANGE_BOOK = "change-book"
    LAY_OUT = "lay-out"
    MOVE_SPREADS = "move-spreads"
    REPAGE = "repage"
    CHANGE_PLAN = "change-plan"
    NAME_STAGES = "name-stages"
    INVITE = "invite"
    REVOKE_INVITATION = "revoke-invitation"
    TAKE_SEAT = "take-seat"
    END_SEAT = "end-seat"
    LET_AGENT_ANSWER = "let-agent-answer"
    ASK_TO_READ = "ask-to-read"
    STOP_ASKING = "stop-asking"
    MOVE_DUE_DATE = "move-due-date"
    AGREE_PAUSE = "agree-pause"
    PROPOSE = "propose"
    DECLINE_PROPOSAL = "decline-proposal"
    WITHDRAW_PROPOSAL = "withdraw-proposal"
    ADD_PICTURE = "add-picture"
    REMOVE_PICTURE = "remove-picture"
    ORDER_PICTURES = "order-pictures"
    WORD_HAND_IN = "word-hand-in"
    READ_PICTURE = "read-picture"
    MAKE_DERIVED = "make-derived"
    DERIVE_PICTURE = "derive-picture"
    CHOOSE_DERIVED = "choose-derived"
    HAND_IN = "hand-in"
    WITHDRAW_HAND_IN = "withdraw-hand-in"
    PIN_NOTE = "pin-note"
    EDIT_NOTE = "edit-note"
    WITHDRAW_NOTE = "withdraw-note"
    RESTORE_NOTE = "restore-note"
    LOOK_OVER = "look-over"
    REPLY = "reply"
    MARK_OPTION = "mark-option"
    UNMARK_OPTION = "unmark-option"
    OPEN_VOTE = "open-vote"
    CAST_BALLOT = "cast-ballot"
    CLOSE_VOTE = "close-vote"
    DECIDE_VOTE = "decide-vote"
    WEIGH_NOTE = "weigh-note"
    SET_ANSWER = "set-answer"
    DROP_ANSWER = "drop-answer"
    WORD_LETTER = "word-letter"
    SEND_LETTER = "send-letter"
    AGREE = "agree-approval"
    OBJECT = "object-to-approval"
    ANSWER_NOTE = "answer-note"
    PLACE_NOTE = "place-note"
    CHANGE_TERMS = "change-terms"
    CONFIRM_TERMS = "confirm-terms"
    ASK_CONSENT = "ask-consent"
    GIVE_CONSENT = "give-consent"
    DECLINE_CONSENT = "decline-consent"
    WITHDRAW_CONSENT = "withdraw-consent"
    ANNOUNCE_SILENCE = "announce-silence"
    APPROVE_BY_SILENCE = "approve-by-silence"
    CHANGE_BRIEF = "change-brief"
    ADD_REFERENCES = "add-references"
    REMOVE_REFERENCE = "remove-reference"
    READ_REFERENCE = "read-reference"
    TAKE_BACK_LETTER = "take-back-letter"
    INVOICE = "invoice"
    WITHDRAW_INVOICE = "withdraw-invoice"
    SAY_PAID = "say-paid"
    CONFIRM_PAYMENT = "confirm-payment"
    WITHDRAW_PAYMENT = "withdraw-payment"
    TELL_HOURS = "tell-hours"
    AGREE_HOURS = "agree-hours"
    TRY_AGAIN = "try-again"
    HOLD_ROWS = "hold-rows"
    GIVE_TO_PRINTER = "give-to-printer"
    SET_PRINT = "set-print"
    JUDGE_PROOF = "judge-proof"
    TAKE_ON_FAULT = "take-on-fault"
    TELL_PLATE = "tell-plate"
    BRING_PROFILE = "bring-profile"
    SET_TEXT = "set-text"


class Said(StrEnum):
    """Which word of a payment: the publisher's that it was paid, or the illustrator's side's that it came."""

    PAID = "paid"
    RECEIVED = "received"


class Refused(Exception):
    """A rule says no: ``code`` names the sentence in ``wording/refusals.py``, ``values`` fill it in."""

    def __init__(self, code: str, **values: object) -> None:
        super().__init__(code)
        self.code = code
        self.values = values
