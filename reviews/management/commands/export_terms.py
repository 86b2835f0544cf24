"""Write a book's ledger and terms to a file that anybody can recount without this portal."""

from __future__ import annotations

import json
from argparse import ArgumentParser, ArgumentTypeError
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from reviews.pages.wording.lookup import no_such_thing
from reviews.pages.wording.refusals import sentence_for
from reviews.pages.wording.term_sets import CAUTION
from reviews.queries.lookup import NoSuchThing, book_named
from reviews.queries.statement import export_of
from reviews.rules.states import Refused


class Command(BaseCommand):
    help = (
        "Write a book's ledger, terms and figures as one JSON file. "
        "“python -m reviews.rules.contract.recount FILE” counts them again, with no database."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("book", help="the number of the book, or its title")
        parser.add_argument("--out", required=True, type=Path, metavar="FILE.json", help="where to write")
        parser.add_argument("--as-of", type=_day, metavar="YYYY-MM-DD", help="a past day; without it, today")

    def handle(self, *, book: str, out: Path, as_of: date | None = None, **options: Any) -> None:
        try:
            found = book_named(book)
            file = export_of(found, as_of, at=timezone.now())
            out.write_text(json.dumps(file, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
        except NoSuchThing as trouble:
            raise CommandError(no_such_thing(trouble)) from trouble
        except Refused as refused:
            raise CommandError(sentence_for(refused)) from refused
        except OSError as trouble:
            raise CommandError(f"{out} cannot be written: {trouble.strerror}. Name another file.") from trouble
        n = len(file["entries"])
        self.stdout.write(f"{out}: {found.title}, {n} ledger entries up to {file['as_of']}. {CAUTION}")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as trouble:
        raise ArgumentTypeError(f"“{text}” is no day. Write it as 2026-11-25.") from trouble
