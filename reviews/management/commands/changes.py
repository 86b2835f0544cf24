"""Say what changed between an approved picture and a new one, without a server or a database."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from reviews.geometry import Region, region_from_json
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.fields import TooNarrow
from reviews.imaging.changes.findings import ComparisonResult
from reviews.imaging.changes.measured import touch_bounds
from reviews.imaging.changes.overlaying import can_be_png, overlay, save_png
from reviews.imaging.decode import read_rgb
from reviews.imaging.results import Refusal
from reviews.pages.changes_file import comparison_json, remark_words
from reviews.pages.wording.changes import change_sentence, note_sentence
from reviews.pages.wording.pictures import refusal_sentence

READ_PX = 4096
NO_PNG = "The overlay could not be written to {path}; give a name ending in .png in a folder that exists."
TOO_NARROW = "A picture is too narrow to be compared: its short side is less than a seventy-fifth of its long one."


class Command(BaseCommand):
    help = "Lay NEW on APPROVED and say what moved, came and went, and where notes on APPROVED are now."
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("approved", metavar="APPROVED", type=Path)
        parser.add_argument("new", metavar="NEW", type=Path)
        parser.add_argument("--width-mm", type=float, required=True, help="print width of the whole of APPROVED")
        parser.add_argument("--notes", type=Path, help='a JSON list of regions, {"kind": "box", "points": [[x, y], …]}')
        parser.add_argument("--json", action="store_true", help="print one JSON object instead of sentences")
        parser.add_argument("--overlay", metavar="OUT.png", help="write the two laid on each other, changes outlined")

    def handle(self, *args: Any, **options: Any) -> None:
        if not 1 <= options["width_mm"] <= 5000:
            raise CommandError("The print width must lie between 1 and 5000 mm; give that of the whole picture.")
        if options["overlay"] and not can_be_png(options["overlay"]):
            raise CommandError(NO_PNG.format(path=options["overlay"]))
        notes = read_notes(options["notes"])
        approved, new = (self.picture(options[name]) for name in ("approved", "new"))
        try:
            found = compare(approved, new, options["width_mm"], notes)
        except TooNarrow as problem:
            raise CommandError(TOO_NARROW) from problem
        if options["overlay"] and not save_png(overlay(approved, new, found), options["overlay"]):
            raise CommandError(f"The overlay could not be written to {options['overlay']}; choose another place.")
        if options["json"]:
            self.stdout.write(json.dumps(comparison_json(found, touch_bounds(found.media)), ensure_ascii=False))
            return
        self.stdout.write("\n".join(lines_of(found)))

    def picture(self, path: Path) -> Any:
        """Read one picture through the door that hand-ins go through."""
        found = read_rgb(path, READ_PX)
        if isinstance(found, Refusal):
            raise CommandError(f"{path}: {refusal_sentence(found.code, found.values)}")
        return found


def lines_of(found: ComparisonResult) -> list[str]:
    """Say a comparison in lines: what to know first, then each change, then each note."""
    lines = [remark_words(remark) for remark in found.remarks]
    lines += [
        f"  {i}. {change_sentence(c.label, c.vector_mm, scale=c.scale, turn_deg=c.turn_deg)}"
        for i, c in enumerate(found.changes, 1)
    ]
    lines += [f"  Note {i}: {note_sentence(n.state, n.evidence.verdict)}" for i, n in enumerate(found.notes, 1)]
    return [*lines, f"How far to trust that: {remark_words(touch_bounds(found.media))}"] if found.notes else lines


def read_notes(path: Path | None) -> list[Region]:
    """Read a list of regions, or of notes that carry one under "region"; refuse anything else in a sentence."""
    if path is None:
        return []
    try:
        raw = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as problem:
        raise CommandError(f"{path} could not be read as JSON; give a file with a list of regions.") from problem
    if not isinstance(raw, list):
        raise CommandError(f"{path} must hold a list of regions.")
    try:
        return [
            region_from_json(item["region"] if isinstance(item, dict) and "region" in item else item) for item in raw
        ]
    except ValueError as problem:
        raise CommandError(f"{path}: {problem}") from problem
