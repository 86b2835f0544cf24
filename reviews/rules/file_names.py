"""What a picture is called where another of its name stands beside it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Container
from itertools import count

_LONGEST = 255


def name_told_apart(name: str, taken: Container[str]) -> str:
    """Give a file's own name, or with a number where that is taken: "scan.jpg", then "scan (2).jpg".

    Two folders each hold a "scan.jpg"; a sentence about one of them must not mean both.
    """
    return _told_apart(name, lambda other: other in taken)


def name_told_apart_on_disk(name: str, taken: Collection[str]) -> str:
    """Do so for a disk that tells no capitals from small letters: on many "Art.tif" replaces "art.tif"."""
    folded = {one.casefold() for one in taken}
    return _told_apart(name, lambda other: other.casefold() in folded)


def _told_apart(name: str, is_taken: Callable[[str], bool]) -> str:
    if not is_taken(name):
        return name
    stem, dot, ending = name.rpartition(".")
    if not stem or len(ending) > 5:
        stem, dot, ending = name, "", ""
    for n in count(2):
        tail = f" ({n}){dot}{ending}"
        if not is_taken(told := f"{stem[: _LONGEST - len(tail)]}{tail}"):
            return told
    raise AssertionError("counting has no end")
