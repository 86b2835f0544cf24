"""Judge a measured proof against a set of aims, and keep the verdict."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from reviews.actions._deed import Act, deed_on
from reviews.models import Book, MeasuredProof, Passage, ReferenceSet, Seat
from reviews.press.characterisation import read_measured
from reviews.press.proof_check import PROOF_LIMITS, Criterion, ProofLimits, judge_proof
from reviews.press.proof_text import lines_to_text, patches_to_text
from reviews.press.refused import CannotPrint
from reviews.rules import permits
from reviews.rules.proof_payloads import JudgeProofData
from reviews.rules.states import Deed, Refused, Role, StageKind

MOST_SETS, MOST_PROOFS = 20, 500  # on one book


@dataclass(frozen=True)
class SentText:
    """A text file as it was sent."""

    name: str
    data: bytes

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()

    @property
    def text(self) -> str:
        """Give the text; a file with zero bytes, which no database keeps as text, is none."""
        if b"\0" in self.data:
            raise Refused("no-plain-text", name=self.name)
        return self.data.decode("latin-1")


@dataclass(frozen=True, kw_only=True)
class ProofAsked:
    """What is asked: a measurement, the aims (a set of the book, or a file), the limits and what a house changed."""

    measured: SentText
    reference_id: int | None
    reference: SentText | None
    limits: str
    own_limits: Mapping[Criterion, float]
    passage_id: int | None


def judge_measured(book_id: int, asked: ProofAsked, *, actor: Seat) -> MeasuredProof:
    """Judge and keep a measured proof; raises Refused for a table that is none, or where no patch is in both.

    A chart takes a while to be read and judged, which waits for nobody and holds nobody's book: it is done before the
    deed, from the very text that the deed then keeps.
    """
    permits.check(Role(actor.role), Deed.JUDGE_PROOF)
    aims = asked.reference or _kept_text(book_id, asked.reference_id)
    limits = _limits(asked)
    try:
        report = judge_proof(read_measured(asked.measured.text), read_measured(aims.text), limits)
    except CannotPrint as no:
        raise Refused(no.code, **no.values) from no
    lines, patches = lines_to_text(report), patches_to_text(report.patches)
    with deed_on(Book, book_id, Deed.JUDGE_PROOF, actor) as act:
        if MeasuredProof.objects.filter(book=act.book).count() >= MOST_PROOFS:
            raise Refused("too-many-proofs", most=MOST_PROOFS)
        passage = _passage(asked.passage_id, act)
        reference = _reference(aims, act)
        row = MeasuredProof.objects.create(
            book=act.book,
            passage=passage,
            file_name=asked.measured.name[:255],
            sha256=asked.measured.sha256,
            reference=reference,
            limits=limits.source,
            verdict=report.verdict,
            lines=lines,
            patches=patches,
            unmatched=report.unmatched,
            judged_by=act.by,
            judged_at=act.now,
        )
        act.holds(row, reference)
        act.record(_told(row, reference, passage))
    return row


def _kept_text(book_id: int, reference_id: int | None) -> SentText:
    """Give aims kept on the book as the file they came in; refuse them where they are not that file any more."""
    row = ReferenceSet.objects.filter(book=book_id, pk=reference_id).first() if reference_id else None
    if row is None:
        raise Refused("no-reference-set")
    kept = SentText(row.name, row.text.encode("latin-1", "replace"))
    if kept.sha256 != row.sha256:
        raise Refused("aims-changed", name=row.name)
    return kept


def _told(row: MeasuredProof, aims: ReferenceSet, passage: Passage | None) -> JudgeProofData:
    payload = JudgeProofData(
        proof=row.pk,
        file_name=row.file_name,
        sha256=row.sha256,
        reference=aims.name,
        reference_sha256=aims.sha256,
        limits=row.limits,
        verdict=row.verdict,
        lines=row.lines,
    )
    if passage is not None:
        payload["where"] = passage.where
    return payload


def _passage(passage_id: int | None, act: Act) -> Passage | None:
    if passage_id is None:
        return None
    rows = Passage.objects.with_places().filter(book=act.book, stage__kind=StageKind.PROOF, spread__removed_at=None)
    passage = rows.filter(pk=passage_id).first()
    if passage is None:
        raise Refused("spread-elsewhere")
    return passage


def _reference(aims: SentText, act: Act) -> ReferenceSet:
    """Give the row of the aims that were used, kept once per content."""
    same = ReferenceSet.objects.filter(book=act.book, sha256=aims.sha256).first()
    if same is not None:
        return same
    if ReferenceSet.objects.filter(book=act.book).count() >= MOST_SETS:
        raise Refused("too-many-sets", most=MOST_SETS)
    return ReferenceSet.objects.create(
        book=act.book, name=aims.name[:120], sha256=aims.sha256, text=aims.text, added_by=act.by, added_at=act.now
    )


def _limits(asked: ProofAsked) -> ProofLimits:
    """Give the limits that are judged: those of the standard, and each that the house set, named by it or not."""
    start = PROOF_LIMITS[asked.limits]
    own = asked.own_limits.items()
    changed = {criterion: limit for criterion, limit in own if limit != start.limits.get(criterion)}
    return ProofLimits("own", start.limits | changed) if changed else start
