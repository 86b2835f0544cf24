"""Which function does which kind of job.

A module in this folder registers its functions by decorator:

    @does(jobs.RENDITIONS)
    def make_renditions(claim: Claim) -> None: ...

The function computes, then hands the result to an action. It may be begun again after a crash, so it either
does no harm twice, or its action calls `settle_job(claim)` inside the transaction that writes the result:
then the result and the end of the job stand or fall together.
"""

import pkgutil
from collections.abc import Callable
from importlib import import_module

import reviews.tasks
from reviews.actions.jobs import Claim
from reviews.jobs import KINDS

JobFunction = Callable[[Claim], None]

# The parts of this folder that run jobs; every other module does some.
_GROUND = {"carrier", "registry", "runner", "worker"}
_functions: dict[str, JobFunction] = {}


class CannotBeDone(Exception):
    """Raised by a job's function when trying again would not help; `pages.wording.jobs` has the words for its code."""

    def __init__(self, code: str, **values: str | int) -> None:
        super().__init__(code)
        self.code, self.values = code, values


def does(kind: str) -> Callable[[JobFunction], JobFunction]:
    """Register the function for a kind named in reviews/jobs.py; a second one for that kind is an error."""
    if kind not in KINDS:
        raise ValueError(f"No job is called “{kind}”; name it in reviews/jobs.py first.")

    def register(function: JobFunction) -> JobFunction:
        if _functions.get(kind, function) is not function:
            raise ValueError(f"“{kind}” is already done by {_functions[kind].__module__}.")
        _functions[kind] = function
        return function

    return register


def load() -> dict[str, JobFunction]:
    """Import every module that registers functions, and return them by kind."""
    for module in pkgutil.iter_modules(reviews.tasks.__path__):
        if module.name not in _GROUND:
            import_module(f"reviews.tasks.{module.name}")
    return _functions


def function_for(kind: str) -> JobFunction:
    """Return the function that does this kind of job."""
    function = _functions.get(kind) or load().get(kind)
    if function is None:
        raise CannotBeDone("unknown-kind", kind=kind)
    return function
