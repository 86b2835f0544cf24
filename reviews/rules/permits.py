"""The access table: which role may do which deed, and which role may see what.

Views, queries and templates ask this table and nothing else; the tests walk it. A person without
a seat on a book is a stranger and is told nothing (404); a member without the right is refused (403).
"""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum

from reviews.rules.states import (
    ADVISERS,
    ILLUSTRATOR_SIDE,
    PUBLISHER_SIDE,
    Deed,
    PassageState,
    Refused,
    Role,
    Sight,
)

_I, _AD, _E, _AG, _P, _G = (
    Role.ILLUSTRATOR,
    Role.ART_DIRECTOR,
    Role.EDITOR,
    Role.AGENT,
    Role.PRODUCTION,
    Role.GUEST,
)
_AU, _D, _S, _R = Role.AUTHOR, Role.DESIGNER, Role.SALES, Role.READER
# Of the publisher's own talk: they read each other's notes before a letter goes.
_MARKERS = frozenset({_AD, _E, _P, _D})
# Who writes notes; author and expert reader know their own only, and the art director passes them on.
_NOTE_WRITERS = _MARKERS | {_AU, _R}
# The illustrator hands in art, production what the printer made (``rules.hands`` says which stage is whose).
_MAKERS = frozenset({_I, _P, _AD})
_BRIEFERS = frozenset({_AD, _E})
# The two sides of the contract and whoever works on it: rounds, days and money are theirs to know.
_ALL_MEMBERS = frozenset({_I, _AD, _E, _AG, _P})
# Who works on the art itself.
_AT_WORK = _ALL_MEMBERS | {_D}
_ALL_SEATS = frozenset(Role)
#: Who may bind a side.
_SPEAKERS = frozenset({_AD, _I, _AG})
_PUBLISHER_SEATS = PUBLISHER_SIDE | ADVISERS | {_G}
_ANSWERABLE = frozenset({PassageState.ANSWERING, PassageState.APPROVED})

# A missing state set means that the deed does not hang on where a passage stands.
PERMITS: dict[Deed, tuple[frozenset[Role], frozenset[PassageState] | None]] = {
    Deed.MAKE_BOOK: (frozenset(), None),  # anyone signed in with an account; the maker takes a seat
    # Production moves the printer's date, and nothing else of it (the action asks).
    Deed.CHANGE_BOOK: (frozenset({_AD, _P}), None),
    Deed.LAY_OUT: (frozenset({_AD, _P}), None),
    Deed.MOVE_SPREADS: (frozenset({_AD, _P}), None),
    Deed.REPAGE: (_SPEAKERS, None),  # alone by the publisher, before terms or work (the action asks)
    Deed.CHANGE_PLAN: (frozenset({_AD}), None),
    Deed.NAME_STAGES: (frozenset({_AD}), None),
    Deed.SET_PRINT: (frozenset({_AD, _P}), None),
    Deed.JUDGE_PROOF: (frozenset({_AD, _P}), None),
    Deed.BRING_PROFILE: (frozenset({_AD, _P}), None),
    Deed.TELL_PLATE: (frozenset({_I, _AD, _P}), None),
    Deed.TAKE_ON_FAULT: (frozenset({_AD, _P}), frozenset({PassageState.ANSWERING, PassageState.DRAWING})),
    # Each side fills and empties its own seats (``may_offer``, ``may_end``).
    Deed.INVITE: (frozenset({_AD, _I, _AG}), None),
    Deed.REVOKE_INVITATION: (frozenset({_AD, _I, _AG}), None),
    Deed.TAKE_SEAT: (frozenset(), None),  # whoever holds the invitation's secret
    Deed.END_SEAT: (frozenset({_AD, _I, _AG}), None),
    # Whether the agent also answers dates is the illustrator's to say.
    Deed.LET_AGENT_ANSWER: (frozenset({_I}), None),
    # Whom the author's and the expert reader's eyes are asked for is for who directs the art and who keeps the text.
    Deed.ASK_TO_READ: (_BRIEFERS, None),
    Deed.STOP_ASKING: (_BRIEFERS, None),
    # A side gives itself less time, or accepts what the other proposed; the agent where the seat says so (the action
    # asks ``proposals.speaks_on``).
    Deed.MOVE_DUE_DATE: (
        _SPEAKERS,
        frozenset({PassageState.CLOSED, PassageState.DRAWING, PassageState.ANSWERING}),
    ),
    Deed.AGREE_PAUSE: (_SPEAKERS, None),
    Deed.PROPOSE: (_SPEAKERS, None),
    Deed.DECLINE_PROPOSAL: (_SPEAKERS, None),
    Deed.WITHDRAW_PROPOSAL: (_SPEAKERS, None),
    Deed.ADD_PICTURE: (_MAKERS, frozenset({PassageState.DRAWING, PassageState.PASSED})),
    Deed.REMOVE_PICTURE: (_MAKERS, None),
    Deed.ORDER_PICTURES: (_MAKERS, None),
    Deed.WORD_HAND_IN: (_MAKERS, None),
    Deed.READ_PICTURE: (frozenset(), None),  # the portal itself
    Deed.MAKE_DERIVED: (_MAKERS, frozenset({PassageState.DRAWING, PassageState.PASSED})),
    Deed.DERIVE_PICTURE: (frozenset(), None),  # the portal itself
    Deed.CHOOSE_DERIVED: (_MAKERS, frozenset({PassageState.DRAWING, PassageState.PASSED})),
    Deed.HAND_IN: (_MAKERS, None),
    Deed.WITHDRAW_HAND_IN: (_MAKERS, None),
    Deed.PIN_NOTE: (_NOTE_WRITERS, _ANSWERABLE),
    Deed.EDIT_NOTE: (_NOTE_WRITERS, None),
    Deed.WITHDRAW_NOTE: (_NOTE_WRITERS, None),
    Deed.RESTORE_NOTE: (_NOTE_WRITERS, None),
    Deed.LOOK_OVER: (_NOTE_WRITERS, frozenset({PassageState.ANSWERING})),
    Deed.REPLY: (_MARKERS | {_I}, None),
    Deed.MARK_OPTION: (_MARKERS | {_G, _S}, frozenset({PassageState.ANSWERING})),
    Deed.UNMARK_OPTION: (_MARKERS | {_G, _S}, frozenset({PassageState.ANSWERING})),
    # The vote informs; who was named decides (the action asks), and the letter approves.
    Deed.OPEN_VOTE: (frozenset({_AD}), frozenset({PassageState.ANSWERING})),
    Deed.CAST_BALLOT: (_MARKERS | {_G, _S}, frozenset({PassageState.ANSWERING})),
    Deed.CLOSE_VOTE: (frozenset({_AD}), None),
    Deed.DECIDE_VOTE: (_BRIEFERS, None),
    Deed.WEIGH_NOTE: (frozenset({_AD}), None),
    Deed.SET_ANSWER: (frozenset({_AD}), None),
    Deed.DROP_ANSWER: (frozenset({_AD}), None),
    Deed.WORD_LETTER: (frozenset({_AD}), None),
    Deed.SEND_LETTER: (frozenset({_AD}), None),
    Deed.AGREE: (frozenset({_E}), None),
    Deed.OBJECT: (frozenset({_E}), None),
    Deed.ANSWER_NOTE: (_MAKERS, None),
    Deed.PLACE_NOTE: (_MARKERS | {_I}, None),
    Deed.CHANGE_TERMS: (_SPEAKERS, None),
    Deed.CONFIRM_TERMS: (_SPEAKERS, None),
    Deed.ASK_CONSENT: (frozenset({_AD}), _ANSWERABLE),
    # The agent speaks on money; a book without an agent leaves it to the illustrator (the action asks).
    Deed.GIVE_CONSENT: (frozenset({_AG, _I}), None),
    Deed.DECLINE_CONSENT: (frozenset({_AG, _I}), None),
    Deed.WITHDRAW_CONSENT: (frozenset({_AG, _I}), None),
    Deed.TAKE_BACK_LETTER: (frozenset({_AD}), None),
    # Whoever is owed says what was invoiced and that the money came; whoever owes says that it was paid.
    Deed.INVOICE: (frozenset({_I, _AG}), None),
    Deed.WITHDRAW_INVOICE: (frozenset({_I, _AG}), None),
    Deed.SAY_PAID: (frozenset({_AD}), None),
    Deed.CONFIRM_PAYMENT: (frozenset({_I, _AG}), None),
    # Each takes back its own side's word, which the deed itself looks at.
    Deed.WITHDRAW_PAYMENT: (frozenset({_AD, _I, _AG}), None),
    Deed.TELL_HOURS: (frozenset({_I, _AG}), None),
    Deed.AGREE_HOURS: (frozenset({_AD}), None),
    Deed.ANNOUNCE_SILENCE: (frozenset(), None),  # the portal itself, where the terms let silence approve
    Deed.APPROVE_BY_SILENCE: (frozenset(), None),
    # What is asked is the publisher's to say, in the words of who directs the art and who keeps the text.
    Deed.CHANGE_BRIEF: (_BRIEFERS, None),
    Deed.ADD_REFERENCES: (_BRIEFERS, None),
    Deed.REMOVE_REFERENCE: (_BRIEFERS, None),
    Deed.READ_REFERENCE: (frozenset(), None),  # the portal itself
    # Where the words stand is for who keeps the text, who directs the art and who sets the type.
    Deed.SET_TEXT: (_BRIEFERS | {_D}, None),
    # Whoever waits for it may press once more: it changes nothing about the book.
    Deed.TRY_AGAIN: (_AT_WORK, None),
    **dict.fromkeys((Deed.HOLD_ROWS, Deed.GIVE_TO_PRINTER), (frozenset(), None)),  # the portal itself, in an older book
}

# What can be looked at, by the name the queries use.
VIEWS: dict[str, frozenset[Role]] = {
    "book": _AT_WORK | {_AU, _S},
    "brief": _AT_WORK | {_AU},
    "manuscript": PERMITS[Deed.SET_TEXT][0],
    "brief-on-table": _AT_WORK | {_AU, _R},
    "passage": _ALL_SEATS,
    "pictures": _ALL_SEATS,
    "comparisons": _AT_WORK,
    "originals": _AT_WORK,
    # A name given in a studio can say whose hand it is, or which one is meant.
    "file-names": _AT_WORK | {_AU, _R},
    "cover-notes": _AT_WORK,
    "draft-hand-in": _MAKERS,
    "sent-notes": _AT_WORK,
    "unsent-notes": _MARKERS,
    "option-marks": _MARKERS,
    "votes": _MARKERS | {_G, _S},
    "vote-results": _MARKERS,
    "draft-letter": frozenset({_AD, _E}),
    "letters": _ALL_MEMBERS,
    "second-sign-off": PERMITS[Deed.AGREE][0],
    "account": _ALL_MEMBERS,
    "schedule": _AT_WORK,
    "plan": _AT_WORK,
    "geometry": _AT_WORK,
    "terms": _ALL_MEMBERS,
    "terms-remark": frozenset({_AD, _E, _P}),  # the publisher's own remark on a version of the terms
    "statement": _ALL_MEMBERS,
    "seats": _AT_WORK,
    "seat-addresses": frozenset({_AD}),
}


class Scope(StrEnum):
    """How much of a book's art a part sees, of what is handed in and not hidden."""

    ALL = "all"
    ASKED = "asked"
    COVER_AND_APPROVED = "cover-and-approved"
    ONE = "one"


_SCOPES = {_R: Scope.ASKED, _S: Scope.COVER_AND_APPROVED, _G: Scope.ONE}


def scope_of(role: Role) -> Scope:
    """Say how much of the art a seat of this role sees; ``queries.reach`` says which passages that is."""
    return _SCOPES.get(role, Scope.ALL)


def may(role: Role, deed: Deed, state: PassageState | None = None) -> bool:
    """Say whether a seat of this role may do the deed, given where the passage stands."""
    roles, states = PERMITS[deed]
    return role in roles and (states is None or state is None or state in states)


def check(role: Role, deed: Deed, state: PassageState | None = None) -> None:
    """Raise Refused("not-yours") or Refused("not-now") unless ``may``."""
    roles, states = PERMITS[deed]
    if role not in roles:
        raise Refused("not-yours")
    if states is not None and state is not None and state not in states:
        raise Refused("not-now")


def may_offer(role: Role, *, ever_held: Collection[Role]) -> frozenset[Role]:
    """Name the parts that a seat of this role may invite people to.

    Each side seats its own people. Across the table a seat may be offered only while it has never been held: a
    publisher who begins a book invites its first illustrator, an illustrator who begins one its first art director.
    Afterwards nobody gets into the other side's seat, whoever sat there and however it was emptied.
    """
    if role == Role.ART_DIRECTOR:
        return _PUBLISHER_SEATS | (frozenset({Role.ILLUSTRATOR}) - frozenset(ever_held))
    if role in ILLUSTRATOR_SIDE:
        first = frozenset({Role.ART_DIRECTOR}) if role == Role.ILLUSTRATOR else frozenset()
        return ILLUSTRATOR_SIDE | (first - frozenset(ever_held))
    return frozenset()


def may_end(role: Role, other: Role) -> bool:
    """Say whether a seat of this role may end one of the ``other``: those of its own side only."""
    if role == Role.ART_DIRECTOR:
        return other in _PUBLISHER_SEATS
    return role in ILLUSTRATOR_SIDE and other in ILLUSTRATOR_SIDE


def keeps_a_farewell(role: Role) -> bool:
    """Say whether whoever leaves this part keeps what they made and what concerned them.

    What is kept has every letter and the statement in it: it is for those who could read them, and who made the book.
    """
    return role in _ALL_MEMBERS


def is_same_side(role: Role, other: Role) -> bool:
    """Say whether two parts sit on one side of the table; a guest sits with the publisher."""
    return (role in ILLUSTRATOR_SIDE) == (other in ILLUSTRATOR_SIDE)


def is_told_who_looks(role: Role, other: Role) -> bool:
    """Say whether a seat of this role learns that one of the ``other`` has the same table open.

    Only who knows the seats, and of their own side only: when the other side looks, and how often, is its own affair.
    """
    return sees(role, "seats") and is_same_side(role, other)


def sees(role: Role, thing: str) -> bool:
    """Say whether a seat of this role may look at ``thing`` (a key of ``VIEWS``)."""
    return role in VIEWS[thing]


def sights_of(role: Role) -> frozenset[Sight]:
    """Name the kinds of ledger entries and words that a role may read."""
    if role in PUBLISHER_SIDE:
        return frozenset({Sight.ALL, Sight.PUBLISHER})
    if role == Role.ILLUSTRATOR:
        return frozenset({Sight.ALL, Sight.ILLUSTRATOR})
    if role == Role.AGENT:
        return frozenset({Sight.ALL})
    return frozenset()  # advisers and guests know what they said themselves, and what they are asked
