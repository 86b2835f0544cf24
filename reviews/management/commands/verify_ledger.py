"""Check that the ledger was not tampered with and that the stored rows and files are what it adds up to."""

from __future__ import annotations

from argparse import ArgumentParser
from collections import Counter
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import ngettext

from reviews.actions.held import hold_what_stands
from reviews.actions.old_proofs import give_old_proofs_on
from reviews.models import Book
from reviews.pages.wording.ledger_faults import fault_words
from reviews.queries.codes import CheckedCode, checked
from reviews.queries.ledger_check import LedgerCheck, check_ledger
from reviews.queries.line_names import last_stand, names_of
from reviews.rules.states import Role

# Whoever keeps a code of a line that one side keeps to itself has it under that side's name for it.
_SIDES = (Role.ART_DIRECTOR, Role.ILLUSTRATOR)


class Command(BaseCommand):
    help = "Check the hash chain of every book's ledger, and the stored rows and files against what the ledger says."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("book", nargs="?", type=int, help="the number of one book; without it, all")
        parser.add_argument(
            "--hold", action="store_true",
            help="first write into older ledgers what their rows say now, so that later changes are found, "
            "and give proofs that still count days against the illustrator to the printer",
        )  # fmt: skip
        parser.add_argument("--files", action="store_true", help="read every picture and paper whole; takes a while")
        parser.add_argument(
            "--code", action="append", default=[], metavar="CODES",
            help="a line and its code from a letter, “216 ABCD-EFGH-IJKL-MNOP”, or a file of them; may be repeated",
        )  # fmt: skip

    def handle(self, *, book: int | None, files: bool, hold: bool, code: list[str], **options: object) -> None:
        books = Book.objects.order_by("pk")
        if book is not None and not (books := books.filter(pk=book)):
            raise CommandError(f"There is no book {book}.")
        if code and book is None and len(books) != 1:
            raise CommandError("A code belongs to one book. Name its number: verify_ledger BOOK --code …")
        n_faults = 0
        for each in books:
            if hold and (n_proofs := give_old_proofs_on(each.pk)):
                given = ngettext("{n} proof is", "{n} proofs are", n_proofs).format(n=n_proofs)
                self.stdout.write(f"Book {each.pk}, {each.title}: {given} the printer’s from now on, in its ledger.")
            if hold and hold_what_stands(each.pk):
                self.stdout.write(f"Book {each.pk}, {each.title}: its ledger holds now what its rows say.")
            n_faults += self._check(each, hashes=files)
            n_faults += self._check_codes(each, "\n".join(map(_pasted, code))) if code else 0
        if n_faults:
            raise CommandError(
                ngettext("{n} fault found.", "{n} faults found.", n_faults).format(n=n_faults), returncode=1
            )

    def _check(self, book: Book, *, hashes: bool) -> int:
        found = check_ledger(book, hashes=hashes)
        for fault in found.faults:
            self.stdout.write(f"Book {book.pk}, {book.title}: {fault_words(fault)}")
        if not found.faults:
            agrees = "whole and in order" if found.is_whole else "in order as far as was looked"
            self.stdout.write(f"Book {book.pk}, {book.title}: {book.entries.count()} entries, {agrees}.")
        for words in _looked_at(book, found):
            self.stdout.write(f"  {words}")
        return len(found.faults)

    def _check_codes(self, book: Book, text: str) -> int:
        found = [checked(book, role, text).codes for role in _SIDES]
        if not found[0]:
            self.stdout.write("No line with a code was found in what you gave: write “216 ABCD-EFGH-IJKL-MNOP”.")
            return 1
        n_faults = 0
        for sides in zip(*found, strict=True):
            agrees = any(one.agrees for one in sides)
            n_faults += not agrees
            self.stdout.write(f"Book {book.pk}, {book.title}: {_told(sides[0], agrees)}")
        return n_faults


def _pasted(given: str) -> str:
    try:
        return Path(given).read_text(encoding="utf-8") if Path(given).is_file() else given
    except (OSError, UnicodeDecodeError) as problem:
        raise CommandError(f"{given} cannot be read: {problem}.") from problem


def _told(code: CheckedCode, agrees: bool) -> str:
    line, given = code.given.line, code.given.code
    if agrees:
        return f"line {line} has the code {given}, as when it was written down."
    if code.elsewhere:
        return f"the code {given} of line {line} stands at line {code.elsewhere} now: lines were taken out or put in."
    if code.now:
        return f"line {line} has the code {code.now}, and not {given}: something up to it was changed."
    return f"there is no line {line} any more: lines were cut off, or it is not this book’s."


def _looked_at(book: Book, found: LedgerCheck) -> list[str]:
    """Say what was compared, and above all what was not."""
    said = [f"Compared: the chain, where every passage stands, the terms, {_counted(found.held.compared)}."]
    if not found.held.holds_all:
        until = f"before {found.held.holds_from}" if found.held.holds_from else "of this book"
        said.append(f"Entries {until} hold no words: what was changed in their time cannot be known from them.")
    if found.held.unheld:
        said.append(f"Held by no entry, so not compared: {_counted(found.held.unheld)}. --hold takes them down.")
    n_files = f"{found.files.n_pictures} pictures and {found.files.n_papers} letters on paper"
    if found.files.is_hashed:
        said.append(f"Read whole: {n_files}.")
    else:
        said.append(f"Not read: the bytes of {n_files}; only that they are there, with their size. --files reads them.")
    stamps = found.stamps
    if stamps.n_checked or stamps.n_waiting:
        said.append(f"Time stamps: {stamps.n_checked} looked at, {stamps.n_waiting} lines still wait for theirs.")
    if stamps.n_untold:
        said.append(f"Not looked at: {stamps.n_untold} time stamps; TIMESTAMP_ROOTS names no certificates to trust.")
    said.append("Not looked at: screen sizes, comparisons, names and addresses of people, the publisher’s own remarks.")
    stand = last_stand(book.pk, names_of(book.pk, Role.AGENT))
    if stand:
        said.append(f"The ledger is at {stand}. Only a code kept elsewhere shows that nothing was cut off: --code.")
    return said


def _counted(kinds: Counter[str]) -> str:
    return ", ".join(f"{n} {kind}{'' if n == 1 else 's'}" for kind, n in kinds.items()) or "nothing"
