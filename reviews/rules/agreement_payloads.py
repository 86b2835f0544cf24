"""The shapes of the ledger's payloads about what one side proposes to the other, and about pauses."""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict

from reviews.rules.payload_shapes import ProposedBy, RestatedDate

_ProposedDate = TypedDict("_ProposedDate", {"from": NotRequired[str | None], "to": NotRequired[str | None]})


class Matters(_ProposedDate):
    """What a proposal is about: a date of a passage ("where", "which"), the terms, a pause ("pause": one that it
    would change, by number), or what the pages carry ("pages": what is asked, and what would come of it)."""

    proposal: int
    number: int
    matter: str
    where: NotRequired[str]
    which: NotRequired[str]
    pause: NotRequired[int]
    pages: NotRequired[dict[str, Any]]


class ProposeData(Matters):
    """Something was proposed. ``in_answer_to`` and ``in_place_of`` number the proposal of the other or the own side
    that it stands for. Proposed terms carry their text, beside those they would amend."""

    reason: str
    in_answer_to: int | None
    in_place_of: int | None
    before: NotRequired[dict[str, Any] | None]
    reaches_back: NotRequired[bool]
    terms: NotRequired[dict[str, Any]]


class EndProposalData(Matters):
    """A proposal was declined or withdrawn, with words."""

    words: str


class ConfirmTermsData(TypedDict):
    """A version of the terms that the other side had entered alone was confirmed as it stands: by whom and when it was
    entered, as the line of its own tells."""

    version: int
    entered_by: str
    entered_on: str


class AgreePauseData(TypedDict):
    """Both sides agreed that the work rests from ``first`` to ``last`` (None: that it does not, after all).

    ``pause`` is the number of the pause, ``was`` its days before this changed them. ``forgives`` are the sides whose
    days late until then are forgiven, ``late`` how many those of what was under way were. ``moved`` dates follow.
    """

    pause: int
    first: str
    last: str | None
    was: list[str] | None
    reason: str
    proposed: ProposedBy
    forgives: list[str]
    late: dict[str, int]
    moved: list[RestatedDate]
