"""Stoppers of final art that stand between a proof and "OK to print"."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.models import Passage, Picture, TakenFault
from reviews.press.file_check import FoundFault, Weight
from reviews.queries.file_faults import check_picture, is_checked
from reviews.queries.final_art import finals_of_spread
from reviews.queries.print_checks import ink_asked, inks_known
from reviews.rules.states import StageKind


@dataclass(frozen=True)
class Stopper:
    """One stopper of an approved picture; ``taken`` is who took it on, None while it is open."""

    passage: Passage
    picture: Picture
    fault: FoundFault
    taken: TakenFault | None


def stoppers_of(passage: Passage) -> list[Stopper]:
    """List the stoppers of the final art of a proof's spread (at most 3 queries; none at another stage).

    What is not measured yet is no stopper: whoever answers is told beside the art that it was not.
    """
    if passage.stage.kind != StageKind.PROOF:
        return []
    judged = [
        (one.approved, one.passage)
        for one in finals_of_spread(passage.spread_id)
        if one.approved is not None and is_checked(one.approved, one.passage)
    ]
    if not judged:
        return []
    asked = [ink_asked(picture, of) for picture, of in judged]
    known = inks_known(asked)
    taken = {
        (row.picture_id, row.code): row
        for row in TakenFault.objects.select_related("by__person").filter(passage=passage)
    }
    return [
        Stopper(of, picture, fault, taken.get((picture.pk, fault.code)))
        for (picture, of), one in zip(judged, asked, strict=True)
        for fault in check_picture(picture, of, known.get(one) if one else None).report.faults
        if fault.weight == Weight.STOPPER
    ]


def open_stoppers(passage: Passage) -> list[Stopper]:
    """List those that nobody took on."""
    return [stopper for stopper in stoppers_of(passage) if stopper.taken is None]
