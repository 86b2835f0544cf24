"""What a changed place is called, in a few words a person would use."""

from __future__ import annotations

_WORDS = {
    "moved": "Moved",
    "changed": "Drawn differently",
    "removed": "Gone",
    "added": "New",
    "colour": "Another colour",
    "detail": "A small detail changed",
}


def change_words(label: str, vector_mm: tuple[float, float] | None) -> str:
    """Say one change: ``vector_mm`` counts to the right and down, and is told in whole millimetres."""
    words = _WORDS.get(label, "Changed")
    if vector_mm is None:
        return words
    across, along = (round(part) for part in vector_mm)
    parts = []
    if across:
        parts.append(f"{abs(across)} mm to the {'right' if across > 0 else 'left'}")
    if along:
        parts.append(f"{abs(along)} mm {'down' if along > 0 else 'up'}")
    return f"{words} {' and '.join(parts)}" if parts else f"{words} less than 1 mm"


def place_letter(position: int) -> str:
    """Name the changed places A, B, … Z, AA, AB: letters, because numbers belong to notes. Counts from 0."""
    name = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        name = chr(ord("A") + rest) + name
    return name
