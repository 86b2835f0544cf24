"""What a ledger line is called by whoever reads it.

Lines that both sides read are numbered 1, 2, 3 … and have the same number for everybody, so that one side can cite
them to the other. A line that one side keeps to itself is named after the shared line before it: 87.2 is the second
such line after line 87. So nobody can count what the other side has done and not yet said.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from reviews.rules.states import Sight


def name_lines(lines: Iterable[tuple[int, str]], sights: Collection[str]) -> dict[int, str]:
    """Name the lines a reader may see, by their place in the chain; ``lines`` are (place, sight) in order."""
    names: dict[int, str] = {}
    shared, kept = 0, 0
    for place, sight in lines:
        if sight == Sight.ALL:
            shared, kept = shared + 1, 0
            names[place] = str(shared)
        elif sight in sights:
            kept += 1
            names[place] = f"{shared}.{kept}"
    return names


def shared_before(names: dict[int, str], place: int) -> int:
    """Give the number of the last shared line at or before a place in the chain; 0 where there is none."""
    found = [name for at, name in names.items() if at <= place and "." not in name]
    return int(found[-1]) if found else 0
