"""Start several deeds at the same moment."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from django.db import connection

from reviews.pages.wording.refusals import sentence_for
from reviews.rules.states import Refused


def at_once(*deeds: Callable[[], object]) -> list[str]:
    """Say for each deed what came of it, sorted: "done", or the code of a refusal that has its sentence."""
    start = Barrier(len(deeds))

    def run(deed: Callable[[], object]) -> str:
        try:
            start.wait(10)
            deed()
        except Refused as refused:
            assert sentence_for(refused).endswith(".")
            return refused.code
        finally:
            connection.close()
        return "done"

    with ThreadPoolExecutor(len(deeds)) as pool:
        return sorted(pool.map(run, deeds))
