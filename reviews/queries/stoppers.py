"""Stoppers of final art that stand between a proof and "OK to print"."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from reviews.models import Passage, Picture, TakenFault
from reviews.press.file_check import FoundFault, NotLooked, Weight
from reviews.press.finish import FoundPlateFault
from reviews.press.taken_on import is_worse
from reviews.queries.bound import changed_again
from reviews.queries.file_faults import check_picture, is_checked
from reviews.queries.final_art import FinalArt, finals_among, finals_of_spreads
from reviews.queries.plate_faults import PlateForPress, PlateJudged, plates_judged
from reviews.queries.plates import plates_at
from reviews.queries.print_checks import ink_asked, inks_known
from reviews.rules.letters import seen_mark
from reviews.rules.states import PassageState, StageKind

#: Art in one of these was opened again, and is drawn or answered anew.
_AT_WORK = {PassageState.DRAWING, PassageState.ANSWERING}
#: Before the code of a fault that a plate has as a plate.
PLATE = "plate-"
#: Between such a code and the spot channel that the plate is.
CHANNEL = "."


@dataclass(frozen=True)
class Stopper:
    """One stopper of an approved picture.

    ``taken`` is who took it on as it is now or worse, None while it is open; ``outgrown`` who took on less than that.
    """

    passage: Passage
    picture: Picture
    fault: FoundFault | FoundPlateFault
    taken: TakenFault | None
    outgrown: TakenFault | None

    @property
    def code(self) -> str:
        return code_of(self.fault)

    @property
    def seen(self) -> str:
        """Name the figures that are shown, so that no others are taken on."""
        return seen_mark(self.picture.pk, self.code, sorted(self.fault.values.items()))


def code_of(fault: FoundFault | FoundPlateFault) -> str:
    """Name a fault among those of one picture: a plate has faults as a file and faults as a plate.

    A picture may hold several plates in its spot channels: then the name ends with the channel.
    """
    if not isinstance(fault, FoundPlateFault):
        return str(fault.code)
    channel = fault.values.get("channel")
    return f"{PLATE}{fault.code}" if channel is None else f"{PLATE}{fault.code}{CHANNEL}{channel}"


@dataclass(frozen=True)
class PlateCaution:
    """What speaks against an approved plate and is no stopper: the finisher's word is wanted."""

    passage: Passage
    picture: Picture
    fault: FoundPlateFault


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
    """The final art behind a proof: its stoppers, and what was not looked at, which is no word for the art.

    ``cautions`` are those of its plates; those of the art stand beside the art.
    """

    stoppers: list[Stopper] = field(default_factory=list)
    cautions: list[PlateCaution] = field(default_factory=list)
    unlooked: list[Unlooked] = field(default_factory=list)

    @property
    def in_work(self) -> list[Passage]:
        """List the art that is being changed again: a proof of it shows what is not to be printed."""
        return [one.passage for one in self.unlooked if one.picture is None and one.passage.state in _AT_WORK]

    @property
    def is_held(self) -> bool:
        """Say whether this art keeps its proof from "OK to print"."""
        return bool(self.in_work) or any(one.taken is None for one in self.stoppers)


def art_of_proof(passage: Passage, row: Sequence[Passage] | None = None) -> ProofArt:
    """Hold the final art of a proof's spread against its page (at most 5 queries; none at another stage).

    ``row``: the passages of its spread as ``finals_among`` needs them, where they are at hand, for 1 query less. What
    is not measured yet is no stopper: whoever answers is told of it beside them.
    """
    finals = None if row is None else {passage.spread_id: finals_among(row)}
    return _art_of_each([passage], finals)[passage.pk]


def _art_of_each(
    passages: Collection[Passage], finals: Mapping[int, list[FinalArt]] | None = None
) -> dict[int, ProofArt]:
    """Do so for each proof among some passages, by passage; the queries of one."""
    found = {passage.pk: ProofArt() for passage in passages}
    proofs = [passage for passage in passages if passage.stage.kind == StageKind.PROOF]
    if not proofs:
        return found
    finals = finals_of_spreads({proof.spread_id for proof in proofs}) if finals is None else finals
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
    known, plates = inks_known(asked), plates_judged(_plates(finals))
    faulty: list[tuple[Passage, Picture, Passage, FoundFault | FoundPlateFault]] = []
    for (proof, picture, of), one_asked in zip(judged, asked, strict=True):
        report = check_picture(picture, of, known.get(one_asked) if one_asked else None).report
        plate = plates.get(picture.pk, PlateJudged((), ()))
        faults: list[FoundFault | FoundPlateFault] = [*report.faults, *plate.faults]
        faulty += [(proof, picture, of, fault) for fault in faults if fault.weight == Weight.STOPPER]
        cautions = [fault for fault in plate.faults if fault.weight == Weight.CAUTION]
        found[proof.pk].cautions.extend(PlateCaution(of, picture, fault) for fault in cautions)
        missed = _missed(report.not_looked, of) + plate.missed
        if missed:
            found[proof.pk].unlooked.append(Unlooked(of, picture, missed))
    # Only a stopper is taken on: where there is none, nobody's name is looked for.
    taken = list(TakenFault.objects.select_related("by__person").filter(passage__in=proofs)) if faulty else []
    for proof, picture, of, fault in faulty:
        own = [row for row in taken if row.passage_id == proof.pk]
        found[proof.pk].stoppers.append(_stopper(of, picture, fault, own))
    return found


def _plates(finals: Mapping[int, list[FinalArt]]) -> list[PlateForPress]:
    """List the approved plates among final art, each with the art that stands approved beneath it."""
    return [
        PlateForPress(plate, next((art.approved for art in row if not _is_plate(art)), None))
        for row in finals.values()
        for one in row
        if one.approved is not None and is_checked(one.approved, one.passage)
        for plate in plates_at(one.approved, one.passage)
    ]


def _is_plate(one: FinalArt) -> bool:
    return one.passage.stage.kind == StageKind.FINISH


def _missed(codes: tuple[NotLooked, ...], passage: Passage) -> tuple[NotLooked, ...]:
    """Leave out of a plate that it has no inks: it is no art, and none are asked of it."""
    unasked = {NotLooked.INK_OF_RGB, NotLooked.INK_OF_PLATE} if passage.stage.kind == StageKind.FINISH else set()
    return tuple(code for code in codes if code not in unasked)


def stoppers_of(passage: Passage) -> list[Stopper]:
    """List the stoppers of the final art of a proof's spread (at most 5 queries; none at another stage)."""
    return art_of_proof(passage).stoppers


def _stopper(
    passage: Passage, picture: Picture, fault: FoundFault | FoundPlateFault, taken: Iterable[TakenFault]
) -> Stopper:
    code = code_of(fault)
    rows = [row for row in taken if (row.picture_id, row.code) == (picture.pk, code)]
    covering = [row for row in rows if not is_worse(code, fault.values, row.values)]
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
    """Name the proofs and F&Gs among some passages that an open stopper, or art in work again, holds up.

    Silence approves none of them.
    """
    return {passage for passage, art in _art_of_each(passages).items() if art.is_held} | set(changed_again(passages))
