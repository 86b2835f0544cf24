"""The shapes of the payloads about briefs; ``spread`` is the spread’s label, missing where the brief is the book’s."""

from __future__ import annotations

from typing import Annotated, Any, NotRequired, TypedDict

from reviews.rules.payload_shapes import LATER


class OfSpread(TypedDict):
    """Whose brief an entry is about."""

    spread: NotRequired[str]
    spread_id: NotRequired[int]


class ChangeBriefData(OfSpread):
    """A version of a brief was written. ``told_as``: the causes it is a change of, after a sketch was approved."""

    version: int
    brief: int
    parts: dict[str, str]
    told_as: list[str]


class SetTextData(OfSpread):
    """A version of a spread's text blocks was placed.

    ``blocks`` as ``press.text_text`` writes them, ``changed`` the numbers of the blocks by what became of them,
    ``told_as`` the causes that it is a change of, after a sketch was approved. ``moved_mm`` is how far a block moved at
    most; ``near_mm`` within how much it came after an approved sketch and was no change for that, else None.
    ``with_it`` names the other spreads placed in the same act, told by this entry's mail, and ``changes_with_it`` those
    of them where it is a change.
    """

    version: int
    text: int
    blocks: list[dict[str, Any]]
    changed: dict[str, list[int]]
    told_as: list[str]
    moved_mm: NotRequired[Annotated[float, LATER]]
    near_mm: NotRequired[Annotated[float | None, LATER]]
    with_it: NotRequired[Annotated[list[str], LATER]]
    changes_with_it: NotRequired[Annotated[list[str], LATER]]


class TextAlong(TypedDict):
    """Placed text that went along to a spread that was laid out anew; ``shifted`` crossed the fold before."""

    spread: str
    spread_id: int
    text: int
    blocks: list[dict[str, Any]]
    shifted: list[int]


class ReferenceFile(TypedDict):
    """One file as it was put in."""

    reference: int
    file_name: str
    sha256: str


class AddReferencesData(OfSpread):
    """Pictures or PDFs were put beside a brief."""

    files: list[ReferenceFile]


class RemoveReferenceData(OfSpread):
    """A reference was taken away; its file is kept."""

    reference: int
    file_name: str


class ReadReferenceData(OfSpread):
    """The portal read a reference, or could not."""

    reference: int
    file_name: str
    verdict: str
    code: NotRequired[str]
