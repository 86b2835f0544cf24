"""When a fault that somebody took on is worse than what they took on.

A name under a fault is a name under its figures: a file of 140 ppi that becomes one of 90, because the trim grew, is
another risk. What came no worse stays taken on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from reviews.press.file_check import FileFault

_ROUNDED = 0.005  # figures are told to the hundredth
Values = Mapping[str, Any]


def _less(name: str) -> Callable[[Values, Values], bool]:
    return lambda now, then: bool(now[name] < then[name] - _ROUNDED)


def _more(name: str) -> Callable[[Values, Values], bool]:
    return lambda now, then: bool(now[name] > then[name] + _ROUNDED)


def _other(name: str) -> Callable[[Values, Values], bool]:
    return lambda now, then: bool(abs(now[name] - then[name]) > _ROUNDED)


def _spine_farther_off(now: Values, then: Values) -> bool:
    off = [abs(values["drawn_mm"] - values["spine_mm"]) for values in (now, then)]
    return bool(off[0] > off[1] + _ROUNDED)


_SIZE = (_other("width_mm"), _other("height_mm"))
_WORSE: Mapping[FileFault, tuple[Callable[[Values, Values], bool], ...]] = {
    FileFault.TOO_FEW_PIXELS: (_less("ppi"), _more("least")),
    FileFault.WRONG_PROPORTIONS: (_more("per_cent"), *_SIZE),
    FileFault.NO_BLEED: (_more("bleed_mm"), *_SIZE),
    FileFault.TOO_MUCH_INK: (_more("highest"), _more("per_cent"), _less("limit")),
    FileFault.FRONT_ALONE: _SIZE,
    FileFault.SPINE_MOVED: (_spine_farther_off,),
}


def is_worse(code: str, now: Values, then: Values) -> bool:
    """Say whether a fault's figures are worse than those taken on; so is what cannot be compared.

    Of a plate every other figure is: its files are the same as long as its row is.
    """
    tests = _WORSE.get(FileFault(code)) if code in set(FileFault) else None
    if tests is None:
        return dict(now) != dict(then)
    try:
        return any(test(now, then) for test in tests)
    except (KeyError, TypeError):
        return True
