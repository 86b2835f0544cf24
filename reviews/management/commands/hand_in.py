"""`manage.py hand_in BOOK SPREAD STAGE FILE…`: the same act as on the web, for files already on this machine."""

from __future__ import annotations

import hashlib
from argparse import ArgumentParser
from pathlib import Path

from django.core.files import File
from django.core.management.base import BaseCommand, CommandError

from reviews.actions import hand_ins
from reviews.models import Passage, Picture, Seat
from reviews.pages.hand_in_draft import handed_in_words
from reviews.pages.wording.lookup import no_such_thing
from reviews.pages.wording.pictures import picture_reason
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.lookup import (
    NoSuchThing,
    book_named,
    maker_of,
    passage_named,
    reading_jobs,
    refused_of,
)
from reviews.rules.states import Refused
from reviews.tasks.runner import run_job


class Command(BaseCommand):
    help = "Hand in pictures for one spread at one stage: as its illustrator, and a proof as production."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("book", help="the book's title or number")
        parser.add_argument("spread", help="cover, or its pages: 4-5")
        parser.add_argument("stage", help="ideas, sketch, line, …")
        parser.add_argument("files", nargs="+", type=Path, metavar="FILE", help="1 to 20 pictures, in order")
        parser.add_argument("--as", dest="email", default="", help="whose hand-in it is, if there are several")
        parser.add_argument("--note", default="", help="the cover note")

    def handle(
        self, *, book: str, spread: str, stage: str, files: list[Path], email: str, note: str, **_: object
    ) -> None:
        try:
            found = book_named(book)
            passage = passage_named(found, spread, stage)
            seat = maker_of(passage, email)
            for path in files:
                if not path.is_file():
                    raise CommandError(f"There is no file {path}. Nothing was handed in.")
            pictures = [self.put(path, passage, seat) for path in files]
            for job in reading_jobs(pictures):
                run_job(job)
            if refused := refused_of(pictures):
                why = [f"{picture.file_name}: {picture_reason(picture)}" for picture in refused]
                raise CommandError(
                    "\n".join(why) + "\nThe others wait in the draft: replace these on its page, then hand in."
                )
            handed = hand_ins.hand_in(pictures[0].hand_in_id, cover_note=note, actor=seat)
        except NoSuchThing as problem:
            raise CommandError(no_such_thing(problem)) from problem
        except Refused as refused:
            raise CommandError(sentence_for(refused)) from refused
        self.stdout.write(handed_in_words(handed.pk))

    def put(self, path: Path, passage: Passage, seat: Seat) -> Picture:
        """Put one file into the draft, hashed as it is read."""
        with path.open("rb") as data:
            sha256 = hashlib.file_digest(data, "sha256").hexdigest()
            data.seek(0)
            return hand_ins.add_picture(passage.pk, File(data, name=path.name), sha256=sha256, actor=seat)
