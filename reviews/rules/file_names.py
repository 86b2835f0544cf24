"""What a picture is called where another of its name stands beside it."""

from __future__ import annotations

from collections.abc import Container
from itertools import count

_LONGEST = 255


def name_told_apart(name: str, taken: Container[str]) -> str:
    """Give a file's own name, or with a number where that is taken: "scan.jpg", then "scan (2).jpg".

    Two folders each hold a "scan.jpg"; a sentence about one of them must not mean both.
    """
    if name not in taken:
        return name
    stem, dot, ending = name.rpartition(".")
    if not stem or len(ending) > 5:
        stem, dot, ending = name, "", ""
    for n in count(2):
        tail = f" ({n}){dot}{ending}"
        if (told := f"{stem[: _LONGEST - len(tail)]}{tail}") not in taken:
            return told
    raise AssertionError("counting has no end")
