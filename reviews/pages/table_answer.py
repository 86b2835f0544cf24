"""What the art director can do with a spread without leaving its table: answer it, and turn to the next one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.urls import reverse

from reviews.models import Agreement, HandIn, Passage, Seat
from reviews.models.hand_ins import WrittenAnswer
from reviews.pages.review_table import is_hidden_from
from reviews.pages.table_shapes import OnTablePicture, TableData
from reviews.queries.reach import reach_of
from reviews.rules import permits
from reviews.rules.states import Cause, Deed, NoteState, PassageState, Role


@dataclass(frozen=True, kw_only=True)
class AnswerHere:
    """The answer a spread has in the letter being written, and what may be answered.

    ``n_brief`` notes that would go say that the brief was not met; ``choices`` are the options to choose from, none
    where there is only one picture.
    """

    written: WrittenAnswer | None
    may_approve: bool
    n_brief: int
    choices: list[OnTablePicture]
    objection: Agreement | None

    @property
    def chosen(self) -> int | None:
        return self.written["picture_id"] if self.written else None


@dataclass(frozen=True)
class Leaf:
    """The way to a neighbouring spread."""

    label: str
    url: str


@dataclass(frozen=True)
class Leaves:
    """The spreads before and after, as the book is leafed through."""

    before: Leaf | None
    after: Leaf | None


def answer_here(
    passage: Passage, shown: HandIn | None, seat: Seat, *, table: TableData, agreement: Agreement | None
) -> AnswerHere | None:
    """Say what may be answered on this table; None where this seat answers nothing here."""
    state = PassageState(passage.state)
    is_newest = shown is not None and shown.pk == passage.hand_in_id
    if not is_newest or not permits.may(Role(seat.role), Deed.SET_ANSWER, state) or passage.pending_id is not None:
        return None
    if state not in (PassageState.ANSWERING, PassageState.APPROVED):
        return None
    going = [note for note in table["notes"] if note["state"] == NoteState.UNSENT and not note["is_held"]]
    return AnswerHere(
        written=shown.written if shown is not None else None,
        may_approve=state == PassageState.ANSWERING,
        n_brief=sum(note["cause"] == Cause.BRIEF for note in going),
        choices=table["pictures"] if len(table["pictures"]) > 1 else [],
        objection=agreement if agreement is not None and not agreement.agrees else None,
    )


def leaves(passage: Passage, seat: Seat, around: Sequence[Passage]) -> Leaves:
    """Find the spreads before and after that something lies on: at this stage, or else the newest.

    ``around``: the rows of the whole book, in reading order (``review_table.rows_around``).
    """
    reach = reach_of([seat])
    rows = [row for row in around if row.hand_in_id is not None and reach.has(seat, row)]
    best: dict[int, Passage] = {}
    for row in rows:
        if is_hidden_from(row, seat) and row.pk != passage.pk:
            continue
        kept = best.get(row.spread_id)
        if kept is None or kept.stage.kind != passage.stage.kind:
            best[row.spread_id] = row
    best[passage.spread_id] = passage
    order = sorted(best.values(), key=lambda row: row.spread.position)
    here = order.index(passage)
    return Leaves(
        before=_leaf(order[here - 1]) if here else None,
        after=_leaf(order[here + 1]) if here + 1 < len(order) else None,
    )


def _leaf(passage: Passage) -> Leaf:
    return Leaf(passage.spread.label, reverse("reviews:passage", args=[passage.pk]))
