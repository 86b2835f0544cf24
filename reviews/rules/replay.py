"""Fold a ledger back into where every passage stands.

The stored rows must equal this at all times; the property test over random walks of deeds holds
the two against each other, and ``manage.py verify_ledger`` does so on real data.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, cast

from reviews.rules.agreement_payloads import AgreePauseData
from reviews.rules.entries import Entry
from reviews.rules.letter_payloads import AgreeData, LetterAnswerData, SendLetterData
from reviews.rules.money_payloads import TakeBackLetterData
from reviews.rules.moving_payloads import RepageData
from reviews.rules.payload_shapes import (
    ApproveBySilenceData,
    ChangeTermsData,
    HandInData,
    LateMoves,
    MoveDueDateData,
    OpenedPassages,
    PlanData,
    RestatedDate,
    WithdrawHandInData,
)
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed, PassageState


@dataclass(frozen=True, kw_only=True)
class Replayed:
    """One passage as its ledger tells it."""

    state: PassageState
    due_on: str | None
    answer_due_on: str | None = None
    hand_in: int | None = None
    pending: int | None = None
    approved_sha256: str = ""


class _Fold:
    def __init__(self) -> None:
        self.passages: dict[int, Replayed] = {}
        self.handed: dict[int, list[int]] = {}
        self.dropped: dict[int, Replayed] = {}

    def change(self, passage: int, **fields: Any) -> None:
        self.passages[passage] = replace(self.passages[passage], **fields)

    def open_all(self, data: OpenedPassages) -> None:
        for passage in data.get("opens", ()):
            self.change(passage, state=PassageState.DRAWING, due_on=data["dues"][str(passage)])

    def move_late(self, data: LateMoves) -> None:
        for moved in data.get("late_moves", ()):
            self.change(moved["passage"], due_on=moved["due_on"])

    def restate(self, lines: Iterable[RestatedDate]) -> None:
        for moved in lines:
            name = "answer_due_on" if moved["which"] == "answer" else "due_on"
            self.change(moved["passage"], **{name: moved["due_on"]})

    def plan(self, data: PlanData) -> None:
        for passage in data.get("closes", ()):
            del (self.dropped if passage in self.dropped else self.passages)[passage]
        for planned in data.get("passages", ()):
            self.passages[planned["passage"]] = Replayed(state=PassageState.CLOSED, due_on=planned["due_on"])
        self.restate(data.get("restated", ()))
        self.open_all(data)

    def repage(self, data: RepageData) -> None:
        for passage in (one for gone in data["dropped"] for one in gone["passages"]):
            self.dropped[passage] = self.passages.pop(passage)
        for passage in (one for back in data["back"] for one in back["passages"]):
            self.passages[passage] = self.dropped.pop(passage)
        self.restate([*data.get("fixes", ()), *data.get("frees", ())])
        for key, due_on in data["answer_dues"].items():
            self.change(int(key), answer_due_on=due_on)
        self.plan(cast(PlanData, data))

    def hand_in(self, passage: int, data: HandInData) -> None:
        self.handed.setdefault(passage, []).append(data["number"])
        self.change(
            passage,
            state=PassageState(data["to"]),
            hand_in=data["number"],
            answer_due_on=data["answer_due_on"],
        )
        self.open_all(data)

    def withdraw(self, passage: int, data: WithdrawHandInData) -> None:
        self.handed[passage].remove(data["number"])
        left = self.handed[passage]
        self.change(passage, state=PassageState(data["to"]), hand_in=left[-1] if left else None, answer_due_on=None)
        if "due_on" in data:
            self.change(passage, due_on=data["due_on"])
        self.move_late(data)

    def answer(self, data: LetterAnswerData) -> None:
        state = PassageState(data["to"])
        fields: dict[str, Any] = {"state": state, "pending": None}
        if data.get("waits_for_second"):
            fields["pending"] = data["hand_in"]
        if state == PassageState.APPROVED:
            fields["approved_sha256"] = data["sha256"]
        if state == PassageState.DRAWING:
            fields["due_on"] = data["due_on"]
        if state != PassageState.ANSWERING:
            fields["answer_due_on"] = None
        self.change(data["passage"], **fields)
        self.open_all(data)
        self.move_late(data)

    def take_back(self, data: TakeBackLetterData) -> None:
        for back in data["passages"]:
            self.change(
                back["passage"],
                state=PassageState(back["to"]),
                due_on=back["due_on"],
                answer_due_on=back["answer_due_on"],
                pending=back["pending"],
                approved_sha256=back["sha256"],
            )

    def second_voice(self, passage: int, data: AgreeData | ApproveBySilenceData, *, completes: bool) -> None:
        fields: dict[str, Any] = {"state": PassageState(data["to"])}
        if completes:
            fields |= {"pending": None, "approved_sha256": data["sha256"], "answer_due_on": None}
        self.change(passage, **fields)
        self.open_all(data)
        self.move_late(data)


def folded(entries: Iterable[Entry]) -> dict[int, Replayed]:
    """Return every passage of the book as the entries, in order, have left it."""
    fold = _Fold()
    for entry in entries:
        _apply(fold, entry)
    return fold.passages


def _apply(fold: _Fold, entry: Entry) -> None:
    passage = entry.passage
    if entry.deed in (Deed.MAKE_BOOK, Deed.LAY_OUT, Deed.CHANGE_PLAN):
        fold.plan(payload_of(entry, PlanData))
    elif entry.deed == Deed.REPAGE:
        fold.repage(payload_of(entry, RepageData))
    elif entry.deed == Deed.SEND_LETTER:
        for answer in payload_of(entry, SendLetterData)["answers"]:
            fold.answer(answer)
    elif entry.deed == Deed.CHANGE_TERMS:
        told = payload_of(entry, ChangeTermsData)
        fold.restate([*told.get("restated", ()), *told.get("fixes", ()), *told.get("frees", ())])
    elif entry.deed == Deed.AGREE_PAUSE:
        fold.restate(payload_of(entry, AgreePauseData)["moved"])
    elif entry.deed == Deed.TAKE_BACK_LETTER:
        fold.take_back(payload_of(entry, TakeBackLetterData))
    elif passage is None:
        return
    elif entry.deed == Deed.HAND_IN:
        fold.hand_in(passage, payload_of(entry, HandInData))
    elif entry.deed == Deed.WITHDRAW_HAND_IN:
        fold.withdraw(passage, payload_of(entry, WithdrawHandInData))
    elif entry.deed == Deed.AGREE:
        agreed = payload_of(entry, AgreeData)
        fold.second_voice(passage, agreed, completes=agreed["completes"])
    elif entry.deed == Deed.APPROVE_BY_SILENCE:
        fold.second_voice(passage, payload_of(entry, ApproveBySilenceData), completes=True)
    elif entry.deed == Deed.OBJECT:
        fold.change(passage, pending=None)
    elif entry.deed == Deed.MOVE_DUE_DATE:
        moved = payload_of(entry, MoveDueDateData)
        fold.change(passage, **{"answer_due_on" if moved.get("which") == "answer" else "due_on": moved["to"]})
