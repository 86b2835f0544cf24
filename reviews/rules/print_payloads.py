"""The shape of the payload of a print set-up."""

from __future__ import annotations

from typing import Annotated, Any, NotRequired, TypedDict

from reviews.rules.payload_shapes import LATER


class PrintTold(TypedDict):
    """A book's printing as ``press.set_up_text`` writes it; lengths in mm."""

    trim: list[float]
    bleed: float
    binding: str
    ends: str
    printer: str
    paper: dict[str, Any] | None
    has_jacket: bool
    figures: dict[str, Any]


class SetPrintData(TypedDict):
    """The print set-up before and after; ``kept_as`` is the name the printer's figures are kept under.

    ``trim_reason`` says why the trim moved, "" where it did not.
    """

    before: PrintTold
    now: PrintTold
    kept_as: str
    trim_reason: NotRequired[Annotated[str, LATER]]
