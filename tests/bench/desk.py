"""How much the desk of somebody with many books takes: processor time, bytes and queries.

    ROUGHPROOF_DATA=EMPTY_FOLDER .venv/bin/python -m tests.bench.desk [--books 20]

Makes the books in the folder (32 pages, hand-ins in every third of their spreads, a note on each), unless they are
there, and prints for each seat the median and the smallest processor time of a desk and its size. The aim is 40 ms and
60 kB at 20 books on a quiet machine.
"""

from __future__ import annotations

import argparse
import os
import statistics
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

import django

django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402

from reviews.models import Book, Passage, Seat  # noqa: E402
from reviews.pages.wording.names import role_words  # noqa: E402
from reviews.rules.states import Role, StageKind  # noqa: E402
from tests.cast import _gather  # noqa: E402
from tests.letter_scene import pinned  # noqa: E402
from tests.makers import a_book, handed_in  # noqa: E402

N_WARM, N_TIMED = 3, 25


def make_books(n: int) -> None:
    call_command("migrate", verbosity=0)
    for number in range(Book.objects.count(), n):
        cast = _gather(a_book(n_pages=32))
        ideas = Passage.objects.filter(book=cast.book, stage__kind=StageKind.IDEAS).order_by("spread__position")
        for seed, passage in enumerate(ideas[::3]):
            handed_in(passage, cast.illustrator, [100 * number + seed])
            pinned(passage, cast.editor)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--books", type=int, default=20)
    n = asked.parse_args().books
    make_books(n)
    print(
        f"{'desk of ' + str(Book.objects.count()) + ' books':<24}{'cpu median ms':>15}{'cpu min ms':>12}"
        f"{'kB':>8}{'queries':>9}"
    )
    for role in (Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION):
        person = Seat.objects.select_related("person").filter(role=role).first().person
        client = Client(SERVER_NAME="127.0.0.1")
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        times = []
        for turn in range(N_WARM + N_TIMED):
            before = time.process_time()
            page = client.get("/")
            if turn >= N_WARM:
                times.append((time.process_time() - before) * 1000)
        with CaptureQueriesContext(connection) as queries:
            client.get("/")
        size = len(page.content) / 1000
        print(
            f"{role_words(role):<24}{statistics.median(times):>15.1f}{min(times):>12.1f}{size:>8.1f}{len(queries):>9}"
        )


if __name__ == "__main__":
    main()
