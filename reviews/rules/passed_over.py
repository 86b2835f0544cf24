"""Stages that a spread passed over: they came into the plan when a later one was open there already."""

from __future__ import annotations

from collections.abc import Sequence

from reviews.rules.states import PassageState


def are_passed_over(states: Sequence[PassageState]) -> list[bool]:
    """Say of each stage of one spread, in the plan's order, whether it is closed while a later one was opened.

    What is open leads on to what comes after it and never back, so such a stage opens only where somebody opens it.
    """
    found, is_later_open = [], False
    for state in reversed(states):
        found.append(is_later_open and state == PassageState.CLOSED)
        is_later_open = is_later_open or state != PassageState.CLOSED
    return found[::-1]
