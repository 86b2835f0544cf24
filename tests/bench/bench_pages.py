"""How long the server works on the three screens that everybody opens, on the demo's own data.

    ROUGHPROOF_DATA=var .venv/bin/python -m tests.bench.bench_pages

Prints for desk, book map and review table, as the roles open them, the median and the 95th percentile of
server time and their ratio to the sign-in page, the cheapest page there is, in the same run. The aim on the
demo is 60 ms at the 95th percentile on a quiet machine; processor time is what a busy machine can still tell.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

import django

django.setup()

from django.test import Client  # noqa: E402

from reviews.models import Passage, Seat  # noqa: E402
from reviews.pages.wording.names import role_words  # noqa: E402
from reviews.rules.states import PassageState, Role  # noqa: E402

N_WARM, N_TIMED = 5, 60


def timed(call: Callable[[], object]) -> tuple[list[float], list[float]]:
    """Return milliseconds of wall and of processor time, one each per call."""
    walls, cpus = [], []
    for turn in range(N_WARM + N_TIMED):
        wall, cpu = time.perf_counter(), time.process_time()
        call()
        if turn >= N_WARM:
            walls.append((time.perf_counter() - wall) * 1000)
            cpus.append((time.process_time() - cpu) * 1000)
    return walls, cpus


def p95(values: list[float]) -> float:
    return statistics.quantiles(values, n=20)[-1]


def main() -> None:
    reference = Client(SERVER_NAME="127.0.0.1")
    base = statistics.median(timed(lambda: reference.get("/sign-in/"))[1])
    print(f"{'page':<34}{'median ms':>11}{'p95 ms':>9}{'cpu median':>12}{'cpu p95':>9}{'x sign-in':>11}")
    answering = Passage.objects.filter(state=PassageState.ANSWERING).order_by("pk").first()
    for role in (Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT):
        seat = Seat.objects.select_related("person").filter(role=role, ended_at=None).first()
        if seat is None or answering is None:
            raise SystemExit("This folder holds no demo. Make one with `manage.py demo --no-serve`.")
        client = Client(SERVER_NAME="127.0.0.1")
        client.force_login(seat.person, backend="django.contrib.auth.backends.ModelBackend")
        pages = {
            "desk": "/",
            "book map": f"/books/{seat.book_id}/",
            "review table": f"/passages/{answering.pk}/",
        }
        for name, path in pages.items():
            assert client.get(path).status_code == 200, path
            walls, cpus = timed(lambda path=path, client=client: client.get(path))
            print(
                f"{name + ', ' + role_words(seat.role):<34}{statistics.median(walls):>11.1f}{p95(walls):>9.1f}"
                f"{statistics.median(cpus):>12.1f}{p95(cpus):>9.1f}{statistics.median(cpus) / base:>11.1f}"
            )


if __name__ == "__main__":
    main()
