"""Judge a measured proof against a reference, without a server or a database."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from reviews.pages.wording import press as words
from reviews.press.characterisation import Measured, read_measured
from reviews.press.proof_check import PROOF_LIMITS, ProofReport, ProofVerdict, judge_proof
from reviews.press.refused import CannotPrint

AT_FAULT, COULD_NOT_LOOK = 1, 2
MOST_BYTES = 8_000_000
# Debian's icc-profiles-free puts published characterisation data here; a bare name is looked for among them.
PUBLISHED = Path("/usr/share/color/icc")


class Command(BaseCommand):
    help = (
        "Judge the measured patches of a proof (CGATS text) against a reference set. Exits 1 where a line is beyond "
        "its limit, 2 where the files or a needed patch are missing. It certifies nothing."
    )
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("measured", metavar="MEASURED.txt", type=Path)
        parser.add_argument("--reference", required=True, help="a characterisation file, or the name of one installed")
        parser.add_argument("--limits", choices=sorted(PROOF_LIMITS), default="contract-proof")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        measured = self.read(options["measured"])
        reference = self.read(self.reference(options["reference"]))
        try:
            report = judge_proof(measured, reference, PROOF_LIMITS[options["limits"]])
        except CannotPrint as no:
            self.stop(words.refusal(no))
        self.stdout.write(json.dumps(as_plain(report), ensure_ascii=False) if options["json"] else in_lines(report))
        if report.verdict == ProofVerdict.FAIL:
            raise SystemExit(AT_FAULT)
        if report.verdict == ProofVerdict.NOT_MEASURED:
            raise SystemExit(COULD_NOT_LOOK)

    def reference(self, named: str) -> Path:
        path = Path(named)
        return path if path.exists() or path.suffix else PUBLISHED / f"{named}.ti3"

    def read(self, path: Path) -> Measured:
        try:
            if path.stat().st_size > MOST_BYTES:
                self.stop(f"{path} is too large for a table of patches. Give the measurement as CGATS text.")
            return read_measured(path.read_text(encoding="latin-1"))
        except OSError:
            self.stop(f"{path} could not be read. Check its name and that you may read it.")
        except CannotPrint as no:
            self.stop(f"{path}: {words.refusal(no)}")
        raise AssertionError("every way out above ends the command")

    def stop(self, sentence: str) -> None:
        self.stderr.write(sentence)
        raise SystemExit(COULD_NOT_LOOK)


def as_plain(report: ProofReport) -> dict[str, Any]:
    """Put the verdict into plain values, the caution with them."""
    return {
        "verdict": report.verdict,
        "reference": report.reference,
        "limits": words.source(report.limits.source),
        "lines": [
            {
                "criterion": line.criterion,
                "verdict": line.verdict,
                "value": None if line.value is None else round(line.value, 3),
                "limit": line.limit,
                "patches": line.n_patches,
                "worst": line.worst,
            }
            for line in report.lines
        ],
        "patches": len(report.patches),
        "unmatched": report.unmatched,
        "worst": [{"patch": p.measured.name, "de00": round(p.de00, 3)} for p in report.worst()],
        "note": str(words.PROOF_CAUTION),
    }


def in_lines(report: ProofReport) -> str:
    """Put the verdict into lines for reading."""
    lines = [f"Against {report.reference or 'the reference'}, by the limits of {words.source(report.limits.source)}:"]
    for line in report.lines:
        value = "–" if line.value is None else f"{line.value:.2f}"
        worst = f", worst {line.worst}" if line.worst else ""
        no_patch = f", no patch of {', '.join(line.missing)}" if line.missing else ""
        lines.append(
            f"  {words.CRITERIA[line.criterion]}: {value} (limit {line.limit:g}, {line.n_patches} patches{worst}): "
            f"{words.VERDICTS[line.verdict]}{no_patch}"
        )
    if report.unmatched:
        lines.append(f"  {report.unmatched} measured patches stand in no line: the reference has no aim for them.")
    return "\n".join([*lines, str(words.PROOF_CAUTION)])
