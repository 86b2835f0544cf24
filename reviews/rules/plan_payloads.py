"""The shape of the payload of a changed plan."""

from __future__ import annotations

from typing import Annotated, NotRequired

from reviews.rules.payload_shapes import LATER, LaidOut, RestatedDate, StageWasNow


class ChangePlanData(LaidOut):
    """A plan was changed: stages came or went, or the publisher's part in one changed (``gates``, by passage).

    Older entries hold words in place of what changed. ``positions`` and ``restated`` are there where stages changed
    places: the place of each passage, and the dates that stay with the places. ``opened_late`` names where a stage was
    opened that had been passed over, where that is all that was changed.
    """

    plan: str
    changed: NotRequired[Annotated[list[StageWasNow], LATER]]
    words: NotRequired[str]
    closes: list[int]
    gates: NotRequired[Annotated[dict[str, str], LATER]]
    positions: NotRequired[dict[str, int]]
    restated: NotRequired[list[RestatedDate]]
    opened_late: NotRequired[list[str]]
