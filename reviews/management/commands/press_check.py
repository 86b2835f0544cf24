"""Check a file for print against the piece it is meant for, without a server or a database."""

import json
from pathlib import Path
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandParser

from reviews.imaging.print_check import check_for_print
from reviews.imaging.results import Refusal
from reviews.management.measures import NoMeasure, length_mm, size_mm
from reviews.pages.wording import press as words
from reviews.pages.wording.pictures import refusal_sentence
from reviews.press.file_check import FileReport, NotLooked
from reviews.press.flats import Flat, PanelKind, flat_of
from reviews.press.limits import INK_CONDITIONS, ArtKind, FileLimits, InkCondition
from reviews.press.refused import CannotPrint

AT_FAULT, COULD_NOT_LOOK = 1, 2


class Command(BaseCommand):
    help = (
        "Say what would go wrong in print with FILE at a trimmed size. Exits 1 where a stopper was "
        "found, 2 where the file "
        "could not be looked at or its ink could not be measured. The printer's specification wins."
    )
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--size", required=True, help="the trimmed piece, like 500x250mm or 20x10in")
        parser.add_argument("--bleed", default="3mm", help="on every side, like 3mm or 0.125in")
        parser.add_argument("--art", choices=[kind.value for kind in ArtKind], default=ArtKind.TONE.value)
        parser.add_argument("--condition", choices=sorted(INK_CONDITIONS), default="coated-fogra39")
        parser.add_argument("--ink-limit", type=float, help="per cent of 400, in place of the condition's")
        parser.add_argument("--profile", type=Path, help="ICC profile of the condition, to measure a file without inks")
        parser.add_argument("--page", type=int, default=1)
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            flat, limits = self.piece(options), self.limits(options)
        except (CannotPrint, NoMeasure) as no:
            self.stop(words.refusal(no) if isinstance(no, CannotPrint) else str(no))
        found = check_for_print(
            options["file"],
            flat,
            ArtKind(options["art"]),
            limits,
            condition=options["profile"],
            page=options["page"] - 1,
        )
        if isinstance(found, Refusal):
            self.stop(f"{options['file']}: {refusal_sentence(found.code, found.values)}")
        _, report = found
        self.stdout.write(json.dumps(as_plain(report), ensure_ascii=False) if options["json"] else in_lines(report))
        if report.is_at_fault:
            raise SystemExit(AT_FAULT)
        if report.not_looked:
            raise SystemExit(COULD_NOT_LOOK)

    def piece(self, options: dict[str, Any]) -> Flat:
        width, height = size_mm(options["size"])
        return flat_of(((PanelKind.PAGE, width),), height, bleed_mm=length_mm(options["bleed"]), safety_mm=0.0)

    def limits(self, options: dict[str, Any]) -> FileLimits:
        asked = options["ink_limit"]
        if asked is None:
            return FileLimits(ink=INK_CONDITIONS[options["condition"]])
        if not 0 < asked <= 400:
            raise NoMeasure("The ink limit is a share of 400 per cent. Give a figure above 0 and up to 400.")
        return FileLimits(ink=InkCondition(asked, "your own limit"))

    def stop(self, sentence: str) -> NoReturn:
        self.stderr.write(sentence)
        raise SystemExit(COULD_NOT_LOOK)


def as_plain(report: FileReport) -> dict[str, Any]:
    """Put the report into plain values, the caution with them."""
    return {
        "faults": [
            {"code": f.code, "weight": f.weight, "sentence": words.fault(f), "values": f.values, "places": f.places}
            for f in report.faults
        ],
        "not_looked": [{"code": code, "sentence": not_looked(code)} for code in report.not_looked],
        "note": str(words.PRINTER_WINS),
    }


def not_looked(code: NotLooked) -> str:
    """Say what was not looked at, and how it can be from here."""
    told = str(words.NOT_LOOKED[code])
    if code == NotLooked.INK_OF_RGB:
        told += " Name the profile of a printing condition with --profile to measure it as converted."
    return told


def in_lines(report: FileReport) -> str:
    """Put the report into lines for reading; no fault found is said of what was looked for, and no more."""
    lines = [f"{words.WEIGHTS[found.weight]}: {words.fault(found)}" for found in report.faults]
    lines += [not_looked(code) for code in report.not_looked]
    if not lines:
        lines = [str(words.NO_FAULT)]
    return "\n".join([*lines, str(words.PRINTER_WINS)])
