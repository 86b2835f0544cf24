"""Check that the ledger was not tampered with and that the stored rows are what it adds up to."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from reviews.models import Book
from reviews.queries.ledger_check import ledger_faults


class Command(BaseCommand):
    help = "Check the hash chain of every book's ledger, and the stored rows against what the ledger says."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("book", nargs="?", type=int, help="the number of one book; without it, all")

    def handle(self, *, book: int | None, **options: object) -> None:
        books = Book.objects.order_by("pk")
        if book is not None and not (books := books.filter(pk=book)):
            raise CommandError(f"There is no book {book}.")
        n_faults = sum(self._check(each) for each in books)
        if n_faults:
            raise CommandError(f"{n_faults} fault{'' if n_faults == 1 else 's'} found.", returncode=1)

    def _check(self, book: Book) -> int:
        n_faults = 0
        for fault in ledger_faults(book):
            n_faults += 1
            self.stdout.write(f"Book {book.pk}, {book.title}: {fault}")
        if not n_faults:
            n = book.entries.count()
            self.stdout.write(f"Book {book.pk}, {book.title}: {n} entries, whole and in order.")
        return n_faults
