"""The shapes of the ledger's payloads: one for each deed (``payloads.PAYLOADS``), and what they share.

Ids are database ids, days are ISO dates, ``where`` is the passage in words ("Pages 4–5, sketch"). A key that came to a
deed later is written by everybody now and missing in older entries: it is marked ``LATER``, and who reads it must do
without.
"""

from __future__ import annotations

from typing import Annotated, Any, NotRequired, TypedDict

#: Marks a key that every new entry has, and that older entries lack.
LATER = "older entries lack it"


class Where(TypedDict):
    """What every entry about one passage carries."""

    where: str


class OpenedPassages(TypedDict):
    """The passages that opened, and the hand-in date of each by its id as text.

    Of these the ``printers`` are made by the printer; where older entries do not say so, the illustrator makes all.
    ``fixed`` are those whose date the terms name, rather than a number of days.
    """

    opens: list[int]
    printers: NotRequired[Annotated[list[int], LATER]]
    fixed: NotRequired[list[int]]
    dues: dict[str, str]


class SpreadMade(TypedDict):
    """A spread that came into being, with its first and last page."""

    spread: int
    position: int
    pages: list[int | None]


class PassageMade(TypedDict):
    """A passage that came into being, closed until it is opened."""

    passage: int
    spread: int
    stage: str
    gate: str
    position: int
    due_on: str


class LaidOut(OpenedPassages):
    """What came into being with a book, a layout or a plan."""

    start_on: str | None
    spreads: list[SpreadMade]
    passages: list[PassageMade]


class PlanData(LaidOut, total=False):
    """The same as who folds a ledger reads it, whichever deed wrote it: with what went, and new gates by passage.

    ``positions`` are the places in the plan of all its passages, and ``restated`` new dates, where the order changed.
    """

    closes: list[int]
    gates: dict[str, str]
    positions: dict[str, int]
    restated: list[RestatedDate]


class MakeBookData(LaidOut):
    """A book was set up."""

    title: str
    n_pages: int


FromTo = TypedDict("FromTo", {"from": str | None, "to": str | None})


class ChangeBookData(TypedDict):
    """Facts of a book were changed: "title", "publisher", "final_on", "trim_width_mm", "trim_height_mm"."""

    changed: dict[str, FromTo]
    reason: str


class LayOutData(LaidOut):
    """Spreads were redrawn: the passages of the old ones are gone. Older entries hold words in place of the labels.

    ``texts`` are the placed texts that went along, each as ``brief_payloads.TextAlong``.
    """

    were: NotRequired[Annotated[list[str], LATER]]
    are: NotRequired[Annotated[list[str], LATER]]
    words: NotRequired[str]
    closes: list[int]
    texts: NotRequired[Annotated[list[Any], LATER]]


class StageWasNow(TypedDict):
    """A stage of a plan before and after a change, with what a plan says of it; it came where it was nothing."""

    was: dict[str, Any] | None
    now: dict[str, Any]


class InviteData(TypedDict):
    """A seat was offered."""

    name: str
    role: str
    invitation: int


class RevokeInvitationData(TypedDict):
    """An offer was taken back."""

    name: str
    invitation: int


class TakeSeatData(TypedDict):
    """Somebody sat down."""

    role: str
    seat: int
    invitation: int


class EndSeatData(TypedDict):
    """A seat was ended."""

    name: str
    role: str
    seat: int


class LetAgentAnswerData(TypedDict):
    """The illustrator said whether the agent answers dates too."""

    name: str
    seat: int
    answers_dates: bool


_MovedDate = TypedDict("_MovedDate", {"from": str, "to": str})


class ProposedBy(TypedDict):
    """Who proposed what another now makes hold by accepting it: the number and the day of the proposal."""

    number: int
    by: str
    role: str
    on: str


class MoveDueDateData(Where, _MovedDate):
    """A date was moved: ``which`` is "hand-in" or "answer".

    ``proposed`` is None where a side gave itself less time; older entries lack it, whose dates one side moved alone.
    ``late`` working days had passed since the date before, which ``forgives`` does away with.
    """

    which: str
    reason: str
    proposed: NotRequired[Annotated[ProposedBy | None, LATER]]
    late: NotRequired[Annotated[int, LATER]]
    forgives: NotRequired[Annotated[bool, LATER]]


class AddPictureData(Where):
    """A file came into a draft."""

    file_name: str
    picture: int
    sha256: str


class RemovePictureData(Where):
    """A file was taken out of a draft."""

    file_name: str
    picture: int


class OrderPicturesData(Where):
    """The pictures of a draft in their new order."""

    order: list[int]


class WordHandInData(Where):
    """A cover note was written; its words are the draft's own until it is handed in."""


class ReadPictureData(Where):
    """A file was read ("ready") or could not be ("refused", with code and values; older entries have words)."""

    picture: int
    file_name: str
    verdict: str
    code: NotRequired[str]
    values: NotRequired[dict[str, Any]]
    reason: NotRequired[str]


class MadeFrom(TypedDict):
    """A sheet that something is made from."""

    picture: int
    file_name: str
    sha256: str


class DerivedData(Where):
    """What is made from what."""

    derivation: int
    making: str
    file_name: str
    sheets: list[MadeFrom]


class MakeDerivedData(DerivedData):
    """Something was asked for; older entries say it in words."""

    words: NotRequired[str]


class DerivePictureData(DerivedData):
    """It was made (picture, hash, recipe) or not (code, reason)."""

    verdict: str
    picture: NotRequired[int]
    sha256: NotRequired[str]
    recipe: NotRequired[dict[str, Any]]
    code: NotRequired[str]
    values: NotRequired[dict[str, Any]]
    reason: NotRequired[str]


class ChooseDerivedData(DerivedData):
    """What was made was kept or dropped, or the choice taken back."""

    choice: str


class HandedPicture(TypedDict):
    """A picture by its hash, and the hashes of the sheets it was made from."""

    picture: int
    sha256: str
    made_from: NotRequired[list[str]]


class HandInData(Where, OpenedPassages):
    """A version was handed in; ``to`` is the state that the passage is in then."""

    hand_in: int
    number: int
    cover_note: NotRequired[Annotated[str, LATER]]
    pictures: list[HandedPicture]
    to: str
    answer_due_on: str | None


class LateMove(Where):
    """A later stage that was being drawn already, and its date before and after the publisher's late days."""

    passage: int
    was_on: str
    due_on: str


class RestatedDate(Where):
    """A date of a passage that is under way, before and after the first terms were entered; ``which`` as in a move."""

    passage: int
    which: str
    was_on: str
    due_on: str


class LateMoves(TypedDict):
    """What the end of a publisher's turn that was late moved, where the terms say so; left out where nothing moved."""

    late_by: NotRequired[int]
    late_moves: NotRequired[list[LateMove]]


class WithdrawHandInData(Where, LateMoves):
    """A hand-in was taken back.

    ``due_on`` is the date it has then, where its spread was dropped and brought back since, and that gives a later one.
    """

    number: int
    to: str
    reason: str
    due_on: NotRequired[str]


class SetByTerms(TypedDict):
    """The dates that terms name and that hold from the entry on, and those that they name no more: they are as planned
    again."""

    fixes: NotRequired[list[RestatedDate]]
    frees: NotRequired[list[RestatedDate]]


class ChangeTermsData(SetByTerms):
    """A version of the terms and the one it amends, as ``terms_text`` writes them; older entries say in words what
    changed. ``proposed`` names who entered what is agreed to; older versions were entered by one side alone.
    ``reaches_back``: both sides said that it holds from before the day of the entry."""

    version: int
    from_on: str
    before: NotRequired[Annotated[dict[str, Any] | None, LATER]]
    words: NotRequired[str]
    terms: dict[str, Any]
    restated: NotRequired[list[RestatedDate]]
    reaches_back: NotRequired[bool]
    proposed: NotRequired[Annotated[ProposedBy, LATER]]


class AskConsentData(Where):
    """One round beyond the fee was asked for: which it would be, what the fee holds, and what it costs by the terms, as
    ``terms_text`` writes money. Older entries give the price in words."""

    words: NotRequired[Annotated[str, LATER]]
    number: NotRequired[Annotated[int, LATER]]
    included: NotRequired[Annotated[int, LATER]]
    round_fee: NotRequired[Annotated[dict[str, Any] | None, LATER]]
    hour_fee: NotRequired[Annotated[dict[str, Any] | None, LATER]]
    price: NotRequired[str]


class GiveConsentData(Where):
    """The round was consented to."""


class EndConsentData(Where):
    """The round was declined, or the consent withdrawn, with words."""

    words: str


class AnnounceSilenceData(Where):
    """The publisher was warned: silence counts as approval with the end of ``silent_on``."""

    hand_in: int
    number: int
    silent_on: str


class ApproveBySilenceData(Where, OpenedPassages, LateMoves):
    """Nobody answered in time."""

    hand_in: int
    number: int
    silent_on: str
    picture: int
    sha256: str
    to: str


class TryAgainData(TypedDict):
    """Work that was given up or waits was begun again: a reading, a comparison, a letter, an invitation."""

    where: NotRequired[str]
    work: str
    name: NotRequired[str]
    number: NotRequired[int | None]
