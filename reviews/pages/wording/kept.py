"""Remember what was put in words: a page of a whole book says the same few hundred things over and over."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import ParamSpec

from django.utils.translation import get_language

P = ParamSpec("P")


def kept_by_language(words: Callable[P, str]) -> Callable[P, str]:
    """Keep what a function of plain values says, for each language by itself."""

    @lru_cache(maxsize=4096)
    def kept(language: str | None, *args: P.args, **kwargs: P.kwargs) -> str:
        return words(*args, **kwargs)

    @wraps(words)
    def say(*args: P.args, **kwargs: P.kwargs) -> str:
        return kept(get_language(), *args, **kwargs)  # type: ignore[arg-type]  # plain values: each has its hash

    return say
