"""Health and readiness, for whatever watches the processes: no sign-in, by any host name or number, no secrets.

`/health/` says that this process answers. `/ready/` says whether what it needs answers too: database, tables, store,
broker. They stand before every other middleware, since a probe comes without our host name and without https.
"""

import threading
from collections.abc import Callable
from time import monotonic

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse

from portal.version import version

PATIENCE_SECONDS = 4.0
# Anybody may ask, so what was found is told again for a while instead of being looked at anew.
KEPT_SECONDS = 5.0


class AnswerProbes:
    """Middleware: answer the two addresses, and hand on everything else."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path_info == "/health/":
            return _never_kept(JsonResponse({"alive": True}))
        if request.path_info == "/ready/":
            found = readiness()
            return _never_kept(JsonResponse(found, status=200 if found["ready"] else 503))
        return self.get_response(request)


def _never_kept(response: HttpResponse) -> HttpResponse:
    response["Cache-Control"] = "no-store"
    return response


_lock = threading.Lock()
_kept: tuple[float, dict[str, object]] = (float("-inf"), {})


def readiness() -> dict[str, object]:
    """Say of each thing this process needs whether it answers: ok, away, or silent."""
    global _kept
    with _lock:
        if monotonic() - _kept[0] > KEPT_SECONDS:
            _kept = (monotonic(), _look())
        return _kept[1]


def _look() -> dict[str, object]:
    from reviews.queries import ready

    checks = {"database": ready.database, "tables": ready.tables, "store": ready.store}
    if settings.HOUSE:
        checks["broker"] = ready.broker
    answers: dict[str, str] = {}

    def ask(name: str, check: Callable[[], bool]) -> None:
        try:
            answers[name] = "ok" if check() else "away"
        except Exception:  # the log of whoever owns the thing has the reason; a stranger is not told
            answers[name] = "away"
        finally:
            ready.leave()

    # Each in a thread of its own and none waited for: a store that accepts and is silent must not hold the answer.
    threads = [threading.Thread(target=ask, args=one, daemon=True) for one in checks.items()]
    deadline = monotonic() + PATIENCE_SECONDS
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(max(0.0, deadline - monotonic()))
    told = {name: answers.get(name, "silent") for name in checks}
    return {"ready": set(told.values()) == {"ok"}, **told, "version": version()}
