"""The options of an idea on one board: small, numbered, with what people said of each, and grouped by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.translation import gettext_lazy as _

from reviews.models import Seat
from reviews.pages.table_shapes import OnTableMark, OnTablePicture
from reviews.rules import permits
from reviews.rules.option_marks import Leaning, leaning
from reviews.rules.states import Role, Verdict

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise as Promise

BY_NUMBER, BY_MINE, BY_ALL = "number", "mine", "all"

_ALL_WORDS: dict[Leaning, Promise] = {
    Leaning.CLOSEST: _("Closest for somebody, nobody against"),
    Leaning.DIVIDED: _("Divided: closest for some, not this for others"),
    Leaning.MAYBE: _("Maybe"),
    Leaning.NOT_THIS: _("Not this for somebody, closest for nobody"),
    Leaning.UNMARKED: _("No mark yet"),
}
_MINE_WORDS: dict[Leaning, Promise] = {
    **_ALL_WORDS,
    Leaning.CLOSEST: _("You marked: closest"),
    Leaning.MAYBE: _("You marked: maybe"),
    Leaning.NOT_THIS: _("You marked: not this"),
    Leaning.UNMARKED: _("You gave no mark yet"),
}


@dataclass(frozen=True, kw_only=True)
class BoardOption:
    """One option with its marks counted; ``mine`` is the verdict of who looks, or nothing."""

    picture: OnTablePicture
    n_closest: int
    n_maybe: int
    n_not_this: int
    mine: str

    @property
    def is_marked(self) -> bool:
        return bool(self.picture["marks"])


@dataclass(frozen=True)
class BoardGroup:
    """Options that stand together; no heading where they stand by their numbers."""

    words: str
    options: list[BoardOption]


@dataclass(frozen=True, kw_only=True)
class OptionBoard:
    """The board as one seat sees it; ``sees_all`` whether that are everybody's marks."""

    by: str
    groups: list[BoardGroup]
    n_options: int
    sees_all: bool


def board_of(pictures: Sequence[OnTablePicture], seat: Seat, *, by: str) -> OptionBoard:
    """Lay the options on a board, by number, by one's own marks or by everybody's (no query)."""
    sees_all = permits.sees(Role(seat.role), "option-marks")
    chosen = by if by == BY_MINE or (by == BY_ALL and sees_all) else BY_NUMBER
    options = [_option(picture) for picture in pictures if picture["state"] != "refused"]
    return OptionBoard(by=chosen, groups=_groups(options, chosen), n_options=len(options), sees_all=sees_all)


def _groups(options: list[BoardOption], by: str) -> list[BoardGroup]:
    if by == BY_NUMBER:
        return [BoardGroup("", options)] if options else []
    words = _ALL_WORDS if by == BY_ALL else _MINE_WORDS
    found: dict[Leaning, list[BoardOption]] = {}
    for option in options:
        found.setdefault(leaning(_verdicts(option, by)), []).append(option)
    return [
        # By everybody's marks what most find closest stands first; one's own stand by their numbers.
        BoardGroup(str(words[one]), sorted(found[one], key=lambda option: -option.n_closest if by == BY_ALL else 0))
        for one in Leaning
        if one in found
    ]


def _verdicts(option: BoardOption, by: str) -> list[str]:
    if by == BY_ALL:
        return [mark["verdict"] for mark in option.picture["marks"]]
    return [option.mine] if option.mine else []


def _option(picture: OnTablePicture) -> BoardOption:
    marks = picture["marks"]
    return BoardOption(
        picture=picture,
        n_closest=_count(marks, Verdict.THIS),
        n_maybe=_count(marks, Verdict.MAYBE),
        n_not_this=_count(marks, Verdict.NOT_THIS),
        mine=next((mark["verdict"] for mark in marks if mark["is_mine"]), ""),
    )


def _count(marks: Sequence[OnTableMark], verdict: Verdict) -> int:
    return sum(mark["verdict"] == verdict for mark in marks)
