"""A deed that asks for counted jobs, and can be killed at a chosen moment.

`python -m tests.faults.counting_deed prepare | ask N FIRST [die-before-commit | die-after-commit]`
"""

import os
import signal
import sys
from time import monotonic

import django

django.setup()

from django.db import transaction  # noqa: E402

from reviews import jobs  # noqa: E402
from tests.faults import counting  # noqa: E402


def die(*_: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def ask(n_jobs: int, first: int, moment: str) -> None:
    if moment == "die-after-commit":
        jobs.send = die  # on_commit calls it: the row stands, the message never goes
    began = monotonic()
    with transaction.atomic():
        for subject in range(first, first + n_jobs):
            jobs.enqueue(counting.KIND, subject)
        if moment == "die-before-commit":
            die()
    print(monotonic() - began)


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["prepare"]:
            counting.make_table()
        case ["ask", n_jobs, first, *moment]:
            ask(int(n_jobs), int(first), "".join(moment))
        case other:
            sys.exit(f"What is {other}?")
