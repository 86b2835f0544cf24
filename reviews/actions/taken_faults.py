"""Take on a stopper by name, and refuse "OK to print" while one is open."""

from __future__ import annotations

from reviews.actions._deed import deed_on
from reviews.models import Passage, Seat, TakenFault
from reviews.queries.bound import changed_again
from reviews.queries.stoppers import art_of_proof, open_stoppers
from reviews.rules.proof_payloads import TakeOnFaultData
from reviews.rules.states import APPROVALS, Answer, Deed, Refused, StageKind

_LONGEST = 300


def take_on_fault(passage_id: int, *, picture_id: int, code: str, seen: str, reason: str, actor: Seat) -> TakenFault:
    """Say that a stopper will be printed as it is; the proof's answer then no longer waits for it.

    ``seen`` names the figures that were shown (``Stopper.seen``). Raises Refused where no such stopper is open, its
    figures are others now, or no reason is given.
    """
    with deed_on(Passage, passage_id, Deed.TAKE_ON_FAULT, actor) as act:
        passage = act.passage(passage_id)
        if not reason.strip():
            raise Refused("taken-fault-reason")
        stands = next(
            (one for one in open_stoppers(passage) if one.picture.pk == picture_id and one.code == code), None
        )
        if stands is None:
            raise Refused("no-such-stopper")
        if stands.seen != seen:
            raise Refused("stopper-changed")
        row = TakenFault.objects.create(
            passage=passage,
            picture=stands.picture,
            code=stands.code,
            values=stands.fault.values,
            reason=reason.strip()[:_LONGEST],
            by=act.by,
            at=act.now,
        )
        act.holds(row)
        act.record(
            TakeOnFaultData(
                where=passage.where,
                picture=stands.picture.pk,
                file_name=stands.picture.file_name,
                sha256=stands.picture.sha256,
                code=stands.code,
                values=stands.fault.values,
                reason=row.reason,
            ),
            passage=passage,
        )
    return row


def check_stoppers(passage: Passage, given: Answer) -> None:
    """Raise Refused where a proof would be let go to print while its art is changed or a stopper of it is open.

    F&Gs are not let go to be bound likewise, while what they were printed from is changed.
    """
    if given not in APPROVALS:
        return
    if found := changed_again([passage]).get(passage.pk):
        raise Refused("printed-in-work", where=passage.where, art=found[0].where)
    if passage.stage.kind != StageKind.PROOF:
        return
    art = art_of_proof(passage)
    if art.in_work:
        raise Refused("art-in-work", where=passage.where, art=art.in_work[0].where)
    if stoppers := [one for one in art.stoppers if one.taken is None]:
        raise Refused("stopper-open", where=passage.where, n=len(stoppers), file=stoppers[0].picture.file_name)
