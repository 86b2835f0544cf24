"""Say what changed between an approved picture and a new one, without a server or a database."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from reviews.geometry import Region, region_from_json
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.overlaying import overlay, png_place, save_png
from reviews.imaging.changes.touch_evidence import RATES
from reviews.imaging.changes.wording import as_plain, change_sentence, note_sentence
from reviews.imaging.decode import read_rgb
from reviews.imaging.results import Refusal

READ_PX = 4096


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
        problem = png_place(options["overlay"]) if options["overlay"] else None
        if problem:
            raise CommandError(problem)
        notes = read_notes(options["notes"])
        approved, new = (self.picture(options[name]) for name in ("approved", "new"))
        try:
            found = compare(approved, new, options["width_mm"], notes)
            if options["overlay"]:
                save_png(overlay(approved, new, found), options["overlay"])
        except (ValueError, OSError) as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps(as_plain(found), ensure_ascii=False))
            return
        lines = [*found.sentences, *(f"  {i}. {change_sentence(c)}" for i, c in enumerate(found.changes, 1))]
        lines += [f"  Note {i}: {note_sentence(n)}" for i, n in enumerate(found.notes, 1)]
        lines += [f"How far to trust that: {RATES}"] if found.notes else []
        self.stdout.write("\n".join(lines))

    def picture(self, path: Path) -> Any:
        """Read one picture through the door that hand-ins go through."""
        found = read_rgb(path, READ_PX)
        if isinstance(found, Refusal):
            raise CommandError(f"{path}: {found.sentence}")
        return found


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
