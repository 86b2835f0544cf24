"""Pictures made from sheets of a draft: what the worker needs, and which sheets stand behind a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

from reviews.imaging.results import PencilName
from reviews.models import Derivation, Picture, Sheet
from reviews.rules.derived import DerivedState, Making


@dataclass(frozen=True)
class DerivedWork:
    """What is to be made, from which contents."""

    making: Making
    pencil: PencilName
    names: list[str]
    sha256s: list[str]
    options: dict[str, Any]


def work_of(derivation_id: int) -> DerivedWork | None:
    """Give the work on a derivation, or None when it is done or no longer wanted (2 queries)."""
    derivation = Derivation.objects.filter(pk=derivation_id, state=DerivedState.ASKED).first()
    if derivation is None:
        return None
    sheets = [sheet.picture for sheet in derivation.sheets.select_related("picture")]
    return DerivedWork(
        Making(derivation.making),
        cast(PencilName, derivation.pencil),
        [sheet.file_name for sheet in sheets],
        [sheet.sha256 for sheet in sheets],
        derivation.options,
    )


def stands_behind(picture: Picture) -> bool:
    """Say whether a picture that is not in its hand-in is a sheet of one that is kept there (1 query)."""
    return Sheet.objects.filter(picture=picture, derivation__state=DerivedState.KEPT).exists()
