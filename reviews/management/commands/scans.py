"""Join scanned sheets, or take a coloured under-drawing out of a scan; the result is a new file beside the sheets."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from reviews.imaging.derived import Derived, Refusal, join_files, take_ink_from
from reviews.pages.wording.derived import made_sentence
from reviews.pages.wording.pictures import refusal_sentence


class Command(BaseCommand):
    help = "Join two or more overlapping scans into one picture, or leave only the ink of a scan. Needs no database."
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("deed", choices=["join", "ink"], help="join sheets, or leave only the ink of one")
        parser.add_argument("files", nargs="+", metavar="FILE", type=Path)
        parser.add_argument("--out", type=Path, required=True, help="where the new picture goes (a .png)")
        parser.add_argument(
            "--pencil", default="", choices=["", "orange", "red", "blue"], help="found by itself if not given"
        )
        parser.add_argument(
            "--at",
            nargs=2,
            type=float,
            metavar=("ACROSS", "DOWN"),
            help="a stroke of the pencil, in per cent of the scan from its left and its top",
        )
        parser.add_argument("--json", action="store_true", help="print the recipe of the new picture")

    def handle(self, *args: Any, **options: Any) -> None:
        files, out = options["files"], options["out"]
        if options["deed"] == "ink" and len(files) != 1:
            raise CommandError("The ink is taken from one scan at a time; name one file.")
        if any(out.resolve() == each.resolve() for each in files):
            raise CommandError("The sheets stay as they are; choose another name for the new picture.")
        at = [part / 100 for part in options["at"] or ()]
        if not all(0 <= part <= 1 for part in at):
            raise CommandError("Say where the stroke is between 0 and 100 per cent.")
        if options["deed"] == "join":
            made = join_files(files, out)
        else:
            made = take_ink_from(files[0], out, options["pencil"], at=at)
        if isinstance(made, Refusal):
            raise CommandError(refusal_sentence(made.code, made.values))
        self.stdout.write(json.dumps(made.recipe) if options["json"] else sentence(made))


def sentence(made: Derived) -> str:
    """Say in a line what was made."""
    return f"{made.path}: {made.width_px} × {made.height_px} px. {made_sentence(made.recipe)}"
