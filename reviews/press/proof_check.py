"""Judge a measured proof against a reference: patch by patch in CIEDE2000, then each criterion by its limit.

The starting limits are those restated from ISO 12647-7:2016 and ISO 12647-8:2021 in public sources; a house edits them.
Nothing here certifies: a verdict says within which limits a sheet was, by which formula, over which patches.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from math import ceil

from reviews.press.characterisation import Inks, Measured, MeasuredPatch
from reviews.press.colour_difference import ciede2000, grey_difference, hue_difference
from reviews.press.refused import CannotPrint


class Criterion(StrEnum):
    """What is judged, each over its own patches with its own statistic."""

    PAPER = "paper"
    SOLIDS = "solids"  # each of C, M, Y, K: the largest
    SOLIDS_HUE = "solids-hue"  # C, M, Y: the largest metric hue difference
    MEAN = "mean"
    PERCENTILE_95 = "percentile-95"
    MOST = "most"
    GREY_MEAN = "grey-mean"
    GREY_MOST = "grey-most"


class ProofVerdict(StrEnum):
    PASS = "pass"
    FAIL = "fail"
    NOT_MEASURED = "not-measured"  # the sheet has no patch to judge it by, or not each one that the line names


@dataclass(frozen=True)
class ProofLimits:
    """A limit for each criterion that is judged, and where the figures come from."""

    source: str
    limits: dict[Criterion, float] = field(default_factory=dict)


PROOF_LIMITS = {
    "contract-proof": ProofLimits(
        "iso-12647-7-2016",
        {
            Criterion.PAPER: 3.0,
            Criterion.SOLIDS: 3.0,
            Criterion.SOLIDS_HUE: 2.5,
            Criterion.MEAN: 2.5,
            Criterion.MOST: 5.0,
            Criterion.GREY_MEAN: 2.0,
            Criterion.GREY_MOST: 3.5,
        },
    ),
    "validation-print": ProofLimits(
        "iso-12647-8-2021",
        {
            Criterion.PAPER: 3.0,
            Criterion.MEAN: 2.5,
            Criterion.PERCENTILE_95: 5.0,
            Criterion.GREY_MEAN: 2.5,
            Criterion.GREY_MOST: 4.0,
        },
    ),
}
# The near-neutral patches of cyan, magenta and yellow by which grey is judged (per cent).
GREYS: tuple[tuple[float, float, float], ...] = (
    (100, 85, 85),
    (80, 65, 65),
    (60, 45, 45),
    (40, 27, 27),
    (20, 12, 12),
    (10, 6, 6),
)
_PAPER: Inks = (0, 0, 0, 0)
_SOLIDS: tuple[Inks, ...] = ((100, 0, 0, 0), (0, 100, 0, 0), (0, 0, 100, 0), (0, 0, 0, 100))
_NEEDED = {Criterion.SOLIDS: _SOLIDS, Criterion.SOLIDS_HUE: _SOLIDS[:3]}
_ABOUT = 0.5  # per cent of ink by which a chart may write one patch differently


@dataclass(frozen=True)
class PatchDifference:
    """One patch of the proof beside its aim."""

    measured: MeasuredPatch
    aim: MeasuredPatch
    de00: float


@dataclass(frozen=True, kw_only=True)
class ProofLine:
    """One line of the verdict: the figure, the limit, over how many patches, and the patch that is worst.

    ``missing`` names the full inks that the line is about and that were not measured.
    """

    criterion: Criterion
    verdict: ProofVerdict
    value: float | None
    limit: float
    n_patches: int
    worst: str = ""
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ProofReport:
    """A proof judged. ``unmatched`` counts measured patches for which the reference has no aim: they are not judged."""

    reference: str
    limits: ProofLimits
    lines: tuple[ProofLine, ...]
    patches: tuple[PatchDifference, ...]
    unmatched: int

    @property
    def verdict(self) -> ProofVerdict:
        """Pass only where every line was measured and passes."""
        verdicts = {line.verdict for line in self.lines}
        if ProofVerdict.FAIL in verdicts:
            return ProofVerdict.FAIL
        return ProofVerdict.PASS if verdicts == {ProofVerdict.PASS} else ProofVerdict.NOT_MEASURED

    def worst(self, n: int = 10) -> list[PatchDifference]:
        """List the patches that are farthest from their aim, farthest first."""
        return sorted(self.patches, key=lambda patch: -patch.de00)[:n]


def judge_proof(measured: Measured, reference: Measured, limits: ProofLimits) -> ProofReport:
    """Judge a proof's patches against a reference set, matched by their inks, or by name where they tell none."""
    pairs = _paired(measured.patches, reference.patches)
    if not pairs:
        raise CannotPrint("no-patch-in-common", n=len(measured.patches))
    differences = tuple(PatchDifference(one, aim, ciede2000(aim.lab, one.lab)) for one, aim in pairs)
    return ProofReport(
        reference=reference.title,
        limits=limits,
        lines=tuple(_line(criterion, limit, differences) for criterion, limit in limits.limits.items()),
        patches=differences,
        unmatched=len(measured.patches) - len(pairs),
    )


def _paired(
    patches: Sequence[MeasuredPatch], aims: Sequence[MeasuredPatch]
) -> list[tuple[MeasuredPatch, MeasuredPatch]]:
    by_inks = {_key(aim.inks): aim for aim in aims if aim.inks is not None}
    by_name = {aim.name: aim for aim in aims}
    pairs = []
    for patch in patches:
        aim = by_inks.get(_key(patch.inks)) if patch.inks is not None else by_name.get(patch.name)
        if aim is not None:
            pairs.append((patch, aim))
    return pairs


def _key(inks: Inks) -> tuple[int, ...]:
    return tuple(round(ink) for ink in inks)


def _line(criterion: Criterion, limit: float, differences: Sequence[PatchDifference]) -> ProofLine:
    figures, missing = _figures(criterion, differences), _missing(criterion, differences)
    if not figures:
        return ProofLine(
            criterion=criterion,
            verdict=ProofVerdict.NOT_MEASURED,
            value=None,
            limit=limit,
            n_patches=0,
            missing=missing,
        )
    worst_value, worst = max(figures)
    values = sorted(value for value, _ in figures)
    if criterion in {Criterion.MEAN, Criterion.GREY_MEAN}:
        value = sum(values) / len(values)
    elif criterion == Criterion.PERCENTILE_95:
        value = values[ceil(0.95 * len(values)) - 1]
    else:
        value = worst_value
    return ProofLine(
        criterion=criterion,
        verdict=_verdict(missing, is_within=value <= limit),
        value=value,
        limit=limit,
        n_patches=len(values),
        worst=worst,
        missing=missing,
    )


def _missing(criterion: Criterion, differences: Sequence[PatchDifference]) -> tuple[str, ...]:
    """Name the full inks of which a line is and that were not measured."""
    needed = _NEEDED.get(criterion, ())
    return tuple(letter for letter, solid in zip("CMYK", needed, strict=False) if not _of(differences, [solid]))


def _verdict(missing: Sequence[str], *, is_within: bool) -> ProofVerdict:
    """One solid beyond the limit fails the line; to pass it every solid that it names must have been measured."""
    if not is_within:
        return ProofVerdict.FAIL
    return ProofVerdict.NOT_MEASURED if missing else ProofVerdict.PASS


def _figures(criterion: Criterion, differences: Sequence[PatchDifference]) -> list[tuple[float, str]]:
    if criterion == Criterion.PAPER:
        return [(d.de00, d.measured.name) for d in _of(differences, [_PAPER])]
    if criterion == Criterion.SOLIDS:
        return [(d.de00, d.measured.name) for d in _of(differences, _SOLIDS)]
    if criterion == Criterion.SOLIDS_HUE:
        return [(hue_difference(d.aim.lab, d.measured.lab), d.measured.name) for d in _of(differences, _SOLIDS[:3])]
    if criterion in {Criterion.GREY_MEAN, Criterion.GREY_MOST}:
        greys: list[Inks] = [(c, m, y, 0.0) for c, m, y in GREYS]
        return [(grey_difference(d.aim.lab, d.measured.lab), d.measured.name) for d in _of(differences, greys)]
    return [(d.de00, d.measured.name) for d in differences]


def _of(differences: Sequence[PatchDifference], wanted: Iterable[Inks]) -> list[PatchDifference]:
    """Find the patches of these inks; a proof that was matched by name is judged by its aim's inks."""
    wanted = list(wanted)
    return [
        difference
        for difference in differences
        if (inks := difference.aim.inks or difference.measured.inks) is not None
        and any(all(abs(x - y) <= _ABOUT for x, y in zip(inks, other, strict=True)) for other in wanted)
    ]
