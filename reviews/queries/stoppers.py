"""Stoppers of final art that stand between a proof and "OK to print"."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from reviews.models import Passage, Picture, TakenFault
from reviews.press.file_check import FoundFault, NotLooked, Weight
from reviews.press.taken_on import is_worse
from reviews.queries.file_faults import check_picture, is_checked
from reviews.queries.final_art import finals_of_spreads
from reviews.queries.print_checks import ink_asked, inks_known
from reviews.rules.letters import seen_mark
from reviews.rules.states import PassageState, StageKind

#: Art in one of these was opened again, and is drawn or answered anew.
_AT_WORK = {PassageState.DRAWING, PassageState.ANSWERING}


@dataclass(frozen=True)
class Stopper:
    """One stopper of an approved picture.

    ``taken`` is who took it on as it is now or worse, None while it is open; ``outgrown`` who took on less than that.
    """

    passage: Passage
    picture: Picture
    fault: FoundFault
    taken: TakenFault | None
    outgrown: TakenFault | None

    @property
    def seen(self) -> str:
        """Name the figures that are shown, so that no others are taken on."""
        return seen_mark(self.picture.pk, self.fault.code, sorted(self.fault.values.items()))


@dataclass(frozen=True)
class Unlooked:
    """Art of a proof of which something was not looked at; ``missed`` is empty where nothing at all was.

    ``picture`` is None where no picture stands approved.
    """

    passage: Passage
    picture: Picture | None
    missed: tuple[NotLooked, ...]


@dataclass(frozen=True)
class ProofArt:
    """The final art behind a proof: its stoppers, and what was not looked at, which is no word for the art."""

    stoppers: list[Stopper] = field(default_factory=list)
    unlooked: list[Unlooked] = field(default_factory=list)

    @property
    def in_work(self) -> list[Passage]:
        """List the art that is being changed again: a proof of it shows what is not to be printed."""
        return [one.passage for one in self.unlooked if one.picture is None and one.passage.state in _AT_WORK]

    @property
    def is_held(self) -> bool:
        """Say whether this art keeps its proof from "OK to print"."""
        return bool(self.in_work) or any(one.taken is None for one in self.stoppers)


def art_of_proof(passage: Passage) -> ProofArt:
    """Hold the final art of a proof's spread against its page (at most 3 queries; none at another stage).

    What is not measured yet is no stopper: whoever answers is told of it beside them.
    """
    return _art_of_each([passage])[passage.pk]


def _art_of_each(passages: Collection[Passage]) -> dict[int, ProofArt]:
    """Do so for each proof among some passages, by passage; the queries of one."""
    found = {passage.pk: ProofArt() for passage in passages}
    proofs = [passage for passage in passages if passage.stage.kind == StageKind.PROOF]
    if not proofs:
        return found
    finals = finals_of_spreads({proof.spread_id for proof in proofs})
    judged: list[tuple[Passage, Picture, Passage]] = []
    for proof in proofs:
        for one in finals[proof.spread_id]:
            if one.approved is not None and is_checked(one.approved, one.passage):
                judged.append((proof, one.approved, one.passage))
            else:
                found[proof.pk].unlooked.append(Unlooked(one.passage, one.approved, ()))
    if not judged:
        return found
    asked = [ink_asked(picture, of) for _, picture, of in judged]
    known = inks_known(asked)
    taken = list(TakenFault.objects.select_related("by__person").filter(passage__in=proofs))
    for (proof, picture, of), one_asked in zip(judged, asked, strict=True):
        own = [row for row in taken if row.passage_id == proof.pk]
        report = check_picture(picture, of, known.get(one_asked) if one_asked else None).report
        stoppers = [fault for fault in report.faults if fault.weight == Weight.STOPPER]
        found[proof.pk].stoppers.extend(_stopper(of, picture, fault, own) for fault in stoppers)
        if report.not_looked:
            found[proof.pk].unlooked.append(Unlooked(of, picture, report.not_looked))
    return found


def stoppers_of(passage: Passage) -> list[Stopper]:
    """List the stoppers of the final art of a proof's spread (at most 3 queries; none at another stage)."""
    return art_of_proof(passage).stoppers


def _stopper(passage: Passage, picture: Picture, fault: FoundFault, taken: Iterable[TakenFault]) -> Stopper:
    rows = [row for row in taken if (row.picture_id, row.code) == (picture.pk, fault.code)]
    covering = [row for row in rows if not is_worse(fault.code, fault.values, row.values)]
    return Stopper(
        passage,
        picture,
        fault,
        taken=covering[-1] if covering else None,
        outgrown=rows[-1] if rows and not covering else None,
    )


def open_stoppers(passage: Passage) -> list[Stopper]:
    """List those that nobody took on."""
    return [stopper for stopper in stoppers_of(passage) if stopper.taken is None]


def held_by_stoppers(passages: Collection[Passage]) -> set[int]:
    """Name the proofs among some passages that an open stopper, or art in work again, holds up.

    Silence approves none of them.
    """
    return {passage for passage, art in _art_of_each(passages).items() if art.is_held}
