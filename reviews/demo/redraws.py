"""The shape of what changed between versions: a note as it was marked, and where the edit is on the picture.

Places are fractions of the whole picture (x0, y0, x1, y1), origin top left, as notes are stored.
"""

from dataclasses import dataclass

Box = tuple[float, float, float, float]
Key = tuple[str, str, int]


@dataclass(frozen=True, slots=True)
class DemoNote:
    """A note as somebody marked it: `shape` is box (two corners), point (one) or outline (many).

    Without points it says what the note is about: the whole spread or book.
    """

    shape: str
    points: tuple[tuple[float, float], ...]
    words: str
    #: new_direction, text_change, question, or brief with the line that was not met as it begins: "brief: The moon".
    cause: str
    role: str = "art_director"  # or editor


@dataclass(frozen=True, slots=True)
class Redraw:
    """One edit of a version: where it was, where it is (None: it was not there), and the note that asked for it."""

    edit: str
    before: Box | None
    after: Box | None
    note: DemoNote | None = None


def note(box: Box, words: str, cause: str, role: str = "art_director", shape: str = "box") -> DemoNote:
    x0, y0, x1, y1 = box
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    if shape == "point":
        return DemoNote(shape, (middle,), words, cause, role)
    if shape == "outline":
        around = (
            (0.0, 0.4),
            (0.12, 0.1),
            (0.45, 0.0),
            (0.8, 0.06),
            (1.0, 0.35),
            (0.96, 0.75),
            (0.7, 1.0),
            (0.3, 0.97),
            (0.05, 0.76),
        )
        return DemoNote(
            shape,
            tuple((round(x0 + u * (x1 - x0), 4), round(y0 + v * (y1 - y0), 4)) for u, v in around),
            words,
            cause,
            role,
        )
    return DemoNote(shape, ((x0, y0), (x1, y1)), words, cause, role)


def moved(
    edit: str, before: Box, after: Box, words: str, cause: str, role: str = "art_director", shape: str = "box"
) -> Redraw:
    return Redraw(edit, before, after, note(before, words, cause, role, shape))


def came(edit: str, after: Box, words: str, cause: str, role: str = "art_director", shape: str = "box") -> Redraw:
    return Redraw(edit, None, after, note(after, words, cause, role, shape))


def went(edit: str, before: Box, words: str, cause: str, role: str = "art_director", shape: str = "box") -> Redraw:
    return Redraw(edit, before, None, note(before, words, cause, role, shape))
