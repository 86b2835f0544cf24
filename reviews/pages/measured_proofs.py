"""Measured proofs of a book: each verdict line by line, its worst patches, and a plot to show to a printer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from reviews.models import Book, MeasuredProof
from reviews.pages.wording import press
from reviews.pages.wording.print_set_up import line_verdict, verdict_words
from reviews.press.proof_check import Criterion

N_WORST = 20
#: Half the width of the plot in a* and b*, which holds every printed solid.
_REACH = 110.0
_BARS, _BAR_TOP = 200.0, 8.0


@dataclass(frozen=True, kw_only=True)
class LineShown:
    """One line of the verdict."""

    words: str
    verdict: str
    verdict_words: str
    value: str
    limit: str
    patches: int
    worst: str


@dataclass(frozen=True)
class PatchShown:
    name: str
    de00: str
    aim: str
    measured: str


@dataclass(frozen=True)
class SolidPlotted:
    """A full ink in the plane of a* and b*: its aim, and what was measured."""

    name: str
    aim_x: float
    aim_y: float
    x: float
    y: float


@dataclass(frozen=True, kw_only=True)
class ProofHead:
    """One measured proof with its verdict line by line, as lists and papers show it."""

    id: int
    file_name: str
    sha256: str
    where: str
    spread_id: int | None
    reference: str
    limits: str
    verdict: str
    verdict_words: str
    by: str
    at: datetime
    lines: list[LineShown]
    unmatched: int


@dataclass(frozen=True, kw_only=True)
class ProofShown:
    """A measured proof with its patches, farthest from their aims first: all of them, or the worst."""

    head: ProofHead
    patches: list[PatchShown]
    solids: list[SolidPlotted]
    bars: str
    most: str
    n_patches: int

    @property
    def is_whole(self) -> bool:
        return len(self.patches) == self.n_patches


def proof_heads(book: Book) -> list[ProofHead]:
    """List a book's measured proofs, newest first, without their patches (1 query)."""
    return [_head(row) for row in _rows(book).defer("patches", "reference__text")]


def newest_proof(book: Book) -> ProofShown | None:
    """Show the newest measured proof with its worst patches (1 query)."""
    row = _rows(book).defer("reference__text").first()
    return _shown(row, N_WORST) if row else None


def whole_proof(book: Book, proof_id: int) -> ProofShown | None:
    """Show one measured proof with every patch (1 query); None where the book has no such."""
    row = _rows(book).defer("reference__text").filter(pk=proof_id).first()
    return _shown(row, None) if row else None


def _rows(book: Book) -> QuerySet[MeasuredProof]:
    rows = MeasuredProof.objects.select_related("reference", "judged_by__person", "passage__spread", "passage__stage")
    return rows.filter(book=book)


def _head(row: MeasuredProof) -> ProofHead:
    return ProofHead(
        id=row.pk,
        file_name=row.file_name,
        sha256=row.sha256,
        where=row.passage.where if row.passage else "",
        spread_id=row.passage.spread_id if row.passage else None,
        reference=row.reference.name,
        limits=press.source(row.limits),
        verdict=row.verdict,
        verdict_words=verdict_words(row.verdict, row.lines),
        by=row.judged_by.person.name,
        at=row.judged_at,
        lines=[_line(line) for line in row.lines],
        unmatched=row.unmatched,
    )


def _shown(row: MeasuredProof, n_shown: int | None) -> ProofShown:
    patches: Sequence[Any] = row.patches
    return ProofShown(
        head=_head(row),
        patches=[
            PatchShown(str(name), f"{de00:.2f}", _lab(aim), _lab(measured))
            for name, de00, aim, measured, _ink in patches[:n_shown]
        ],
        solids=list(_solids(patches)),
        bars=_bars([patch[1] for patch in patches]),
        most=f"{patches[0][1]:.2f}" if patches else "",
        n_patches=len(patches),
    )


def _line(line: dict[str, Any]) -> LineShown:
    value = line["value"]
    return LineShown(
        words=str(press.CRITERIA[Criterion(line["criterion"])]),
        verdict=line["verdict"],
        verdict_words=line_verdict(line),
        value=_("not measured") if value is None else f"{value:.2f}",
        limit=f"{line['limit']:g}",
        patches=line["patches"],
        worst=line["worst"],
    )


def _lab(lab: Sequence[float]) -> str:
    # Adding nought takes the sign from what rounds to it.
    return " / ".join(f"{round(part, 2) + 0:.2f}".replace("-", "\N{MINUS SIGN}") for part in lab)


def _solids(patches: Sequence[Any]) -> Iterator[SolidPlotted]:
    for _name, _de00, aim, measured, ink in patches:
        if ink and ink != "paper" and "K" not in ink:
            yield SolidPlotted(ink, *_placed(aim), *_placed(measured))


def _placed(lab: Sequence[float]) -> tuple[float, float]:
    """Place a colour in a view of 0 to 2 reach: a* to the right, b* upwards."""
    return round(lab[1] + _REACH, 1), round(_REACH - lab[2], 1)


def _bars(differences: Sequence[float]) -> str:
    """Draw the differences of all patches from the largest to the smallest, as the points of a line.

    Across is the share of the patches, 0 to 200; down is ΔE00 below a top of 8, ten to a unit.
    """
    n = len(differences)
    step = max(1, n // 200)
    heights = [10 * (_BAR_TOP - min(_BAR_TOP, difference)) for difference in differences]
    return " ".join(f"{_BARS * at / max(1, n - 1):.1f},{heights[at]:.1f}" for at in range(0, n, step))
