"""How a note is named by its number, and a marked place by where it lies."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.geometry import Region
from reviews.models import Note
from reviews.pages.wording.briefs import missed_words
from reviews.pages.wording.names import cause_words, error_words, response_words
from reviews.queries.last_notes import LastNote
from reviews.rules.book_notes import SaidOfNote
from reviews.rules.crops import place_of
from reviews.rules.letters import note_mark
from reviews.rules.states import Reach

#: Of a note on the book, on the table of a spread where it waits for an answer.
AWAITS_HERE = gettext_lazy("Not answered for this spread yet")


def note_name(number: int | None, letter: int | None = None) -> str:
    """Name a note in a sentence by what its flag shows, so that what is read aloud can be found by eye."""
    return _("the note left out") if number is None else _("note {mark}").format(mark=note_mark(number, letter))


def reason_words(note: Note) -> str:
    """Say why a note asks, with the line of the brief that it means; needs its brief joined."""
    # No brackets: letters on paper and in mails set all of it in a pair of their own.
    parts = (
        cause_words(note.cause),
        error_words(note.error),
        reach_words(note),
        missed_words(note.brief, note.brief_line),
    )
    return ", ".join(part for part in parts if part)


def reach_words(note: Note) -> str:
    """Say that a note is about the whole spread or the whole book; nothing where it marks a place."""
    if note.reach == Reach.BOOK and note.concerns:
        n = len(note.concerns)
        return ngettext("on {n} spread of the book", "on {n} spreads of the book", n).format(n=n)
    return {Reach.SPREAD: _("on the whole spread"), Reach.BOOK: _("on the whole book")}.get(Reach(note.reach), "")


def note_key(number: int, letter: int) -> str:
    """Say how to read the flags, by the example of one that is there."""
    return _("{mark} is note {number} of letter {letter}.").format(
        mark=note_mark(number, letter), number=number, letter=letter
    )


def answered_words(note: LastNote) -> str:
    """Say what was answered to a note of the last letter, and what speaks against it."""
    if note.said is None:
        return _("Not answered")
    words = said_words(note.row, note.said)
    return _("{answer}, but no change was found here").format(answer=words) if note.is_untouched else words


def said_words(note: Note, said: SaidOfNote) -> str:
    """Say what was answered to a note; of one on the book, whether for this spread or for all of them."""
    words = response_words(said.response)
    if note.reach != Reach.BOOK:
        return words
    return (
        _("{answer}, on this spread").format(answer=words)
        if said.is_there
        else _("{answer}, throughout").format(answer=words)
    )


def place_words(region: Region) -> str:
    """Say roughly where a mark lies, for whoever reads without seeing the picture."""
    return {
        ("left", "top"): _("at the top left"),
        ("middle", "top"): _("at the top"),
        ("right", "top"): _("at the top right"),
        ("left", "middle"): _("at the left"),
        ("middle", "middle"): _("in the middle"),
        ("right", "middle"): _("at the right"),
        ("left", "bottom"): _("at the bottom left"),
        ("middle", "bottom"): _("at the bottom"),
        ("right", "bottom"): _("at the bottom right"),
    }[place_of(region)]
