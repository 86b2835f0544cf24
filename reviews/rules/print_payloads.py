"""The shape of the payloads of a print set-up and of a plate."""

from __future__ import annotations

from typing import Annotated, Any, NotRequired, TypedDict

from reviews.rules.payload_shapes import LATER, Where


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


class TellPlateData(Where):
    """What a plate of a special finish is for, and the version of the art that it is bound to.

    ``channel`` is the spot channel of the art's own file, None of a plate that is a file; ``plate`` its name there,
    ``number`` which of its plates it is, from 1.
    """

    picture: int
    file_name: str
    sha256: str
    art: int
    art_sha256: str
    finish: str
    way: str
    metal: str
    channel: NotRequired[Annotated[int | None, LATER]]
    plate: NotRequired[Annotated[str, LATER]]
    number: NotRequired[Annotated[int, LATER]]


class BringProfileData(TypedDict):
    """A profile of a printing condition, brought to the book."""

    profile: int
    name: str
    file_name: str
    sha256: str


class SetPrintData(TypedDict):
    """The print set-up before and after; ``kept_as`` is the name the printer's figures are kept under.

    ``trim_reason`` says why the trim moved, "" where it did not.
    """

    before: PrintTold
    now: PrintTold
    kept_as: str
    trim_reason: NotRequired[Annotated[str, LATER]]
