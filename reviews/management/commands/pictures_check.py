"""Try pictures at the door: what each file is, or why it would not be taken."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from reviews.imaging.decode import check
from reviews.imaging.results import PictureFacts, Refusal
from reviews.pages.wording.pictures import assumed_words, plate_name, refusal_sentence


class Command(BaseCommand):
    help = "Open each FILE as a hand-in would and say what it is, or why it would be refused. Needs no database."
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE", type=Path)
        parser.add_argument("--json", action="store_true", help="one JSON object per line and file")
        parser.add_argument("--page", type=int, default=1, help="which page of a PDF or TIFF (first is 1)")
        parser.add_argument("--ppi", type=float, help="how finely to draw a PDF page (300 when not given)")

    def handle(self, *args: Any, **options: Any) -> None:
        n_refused = 0
        for path in options["files"]:
            found = check(path, page=options["page"] - 1, ppi=options["ppi"])
            n_refused += isinstance(found, Refusal)
            self.stdout.write(json.dumps(verdict(path, found)) if options["json"] else sentence(path, found))
        if n_refused:
            # A script can tell from the exit status that not every file would be taken.
            raise SystemExit(1)


def verdict(path: Path, found: PictureFacts | Refusal) -> dict[str, Any]:
    """Put one file's verdict into plain values."""
    if isinstance(found, Refusal):
        return {"file": str(path), "verdict": "refused", "code": found.code, "sentence": refused_words(found)}
    facts = asdict(found)
    return {"file": str(path), "verdict": "accepted", **facts, "assumed_profile": assumed_words(facts)}


def refused_words(found: Refusal) -> str:
    """Say why a file would not be taken."""
    return refusal_sentence(found.code, found.values)


def sentence(path: Path, found: PictureFacts | Refusal) -> str:
    """Put one file's verdict into a line for reading."""
    if isinstance(found, Refusal):
        return f"{path}: refused ({found.code}). {refused_words(found)}"
    ppi = f"{found.ppi_x:g} ppi" if found.ppi_x else "no resolution stated"
    parts = [
        f"{found.kind}, {found.width_px} × {found.height_px} px",
        f"{found.mode}, {found.bits} bits",
        found.profile_name or "no profile",
        ppi,
    ]
    if found.n_pages > 1:
        parts.append(f"page {found.page + 1} of {found.n_pages}")
    if found.plates:
        plates = (plate_name(asdict(plate), n) for n, plate in enumerate(found.plates, 1))
        parts.append("spot plates: " + ", ".join(plates))
    if found.layer_names:
        parts.append("layers: " + ", ".join(found.layer_names))
    return f"{path}: accepted. {'; '.join(parts)}."
