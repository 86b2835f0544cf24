"""What somebody keeps of a book on which their seat ended: what they made, and what concerned them until that day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import groupby

from reviews.models import Book, Letter, Person, Picture, Reference, Seat, TimeStamp
from reviews.models.stage_names import speak_of
from reviews.pages.briefs import VersionRead, read_version
from reviews.pages.letter_pages import LetterNote, LetterPage, letter_page
from reviews.pages.statement import StatementPage, statement_page
from reviews.pages.text_blocks import TextVersionRead, versions_read
from reviews.queries.access import NotThere
from reviews.queries.briefs import briefs_until, references_at
from reviews.queries.ledger import LedgerLine, lines_for, read_by
from reviews.queries.text_blocks import texts_until
from reviews.rules import permits
from reviews.rules.states import PictureState, Role

#: A ledger of this many lines is a book of some thirty years; beyond it the archive says that it ends.
MOST_LINES = 100_000


@dataclass(frozen=True)
class Farewell:
    """One book somebody left; ``seat`` is their last one there, ended."""

    book: Book
    seat: Seat
    seats: tuple[Seat, ...]

    @property
    def role(self) -> Role:
        return Role(self.seat.role)

    @property
    def ended_at(self) -> datetime:
        assert self.seat.ended_at is not None, "only a seat that ended leaves a farewell"
        return self.seat.ended_at

    @property
    def day(self) -> date:
        return self.book.day_rule.local_date(self.ended_at)


def farewells_of(person: Person) -> list[Farewell]:
    """List the books somebody left for good, the last one left first (1 query)."""
    return farewells_in(Seat.objects.select_related("book", "person").filter(person=person))


def farewells_in(seats: Iterable[Seat]) -> list[Farewell]:
    """Find, among all the seats a person has or had, the books they left for good (no query)."""
    by_book: dict[int, list[Seat]] = {}
    for seat in sorted(seats, key=lambda seat: (seat.since, seat.pk)):
        by_book.setdefault(seat.book_id, []).append(seat)
    found = [
        Farewell(seats[-1].book, seats[-1], tuple(seats))
        for seats in by_book.values()
        if all(seat.ended_at for seat in seats) and permits.keeps_a_farewell(Role(seats[-1].role))
    ]
    return sorted(found, key=lambda one: one.ended_at, reverse=True)


def get_farewell(person: Person, book_id: int) -> Farewell:
    """Find what somebody keeps of a book they left; for everybody else there is no such page (1 query)."""
    for one in farewells_of(person):
        if one.book.pk == book_id:
            speak_of(one.book)
            return one
    raise NotThere


def own_pictures(farewell: Farewell) -> list[Picture]:
    """List every file the person put in, drafts and what they took back too, in page order (1 query)."""
    return list(
        Picture.objects.select_related("hand_in__passage__spread", "hand_in__passage__stage")
        .filter(hand_in__by__in=[seat.pk for seat in farewell.seats])
        .exclude(state=PictureState.REFUSED)
        .order_by(
            "hand_in__passage__spread__position", "hand_in__passage__stage__position", "hand_in", "position", "pk"
        )
    )


def own_picture(farewell: Farewell, picture_id: int) -> Picture:
    """Find one file the person put in (1 query)."""
    picture = Picture.objects.filter(pk=picture_id, hand_in__by__in=[seat.pk for seat in farewell.seats]).first()
    if picture is None:
        raise NotThere
    return picture


def letters_read(farewell: Farewell) -> list[Letter]:
    """List the letters that were sent before the seat ended (1 query)."""
    return list(
        Letter.objects.select_related("book", "sent_by__person")
        .filter(book=farewell.book, sent_at__lte=farewell.seat.ended_at)
        .order_by("number")
    )


def letter_read(farewell: Farewell, letter_id: int) -> Letter:
    """Find one of those letters (1 query)."""
    for letter in letters_read(farewell):
        if letter.pk == letter_id:
            return letter
    raise NotThere


def pages_read(farewell: Farewell) -> Iterator[LetterPage]:
    """Give each letter as its reader had it when the seat ended (7 queries a letter)."""
    for letter in letters_read(farewell):
        page = letter_page(letter, farewell.role)
        sections = [
            replace(section, notes=[_as_then(note, farewell.ended_at) for note in section.notes])
            for section in page.sections
        ]
        yield replace(page, sections=sections)


def _as_then(note: LetterNote, ended_at: datetime) -> LetterNote:
    """Show a note without what was said to it after the seat had ended."""
    if note.row.responded_at and note.row.responded_at > ended_at:
        note.row.response = note.row.response_words = ""
        note.row.responded_at = None
    there = tuple(replace(one, said=None) if one.said and one.said.at > ended_at else one for one in note.there)
    return replace(note, there=there, replies=[reply for reply in note.replies if reply.at <= ended_at])


def briefs_kept(farewell: Farewell) -> list[VersionRead]:
    """Give every version of every brief that was written before the seat ended (1 query)."""
    return [read_version(brief, brief.spread) for brief in briefs_until(farewell.book, farewell.ended_at)]


@dataclass(frozen=True)
class TextKept:
    """What was placed on one spread until a seat ended, newest version first."""

    label: str
    versions: list[TextVersionRead]


def texts_kept(farewell: Farewell) -> list[TextKept]:
    """Give every version of the text on every spread that was placed before the seat ended (1 query)."""
    rows = texts_until(farewell.book, farewell.ended_at)
    by_spread = groupby(rows, key=lambda row: row.spread)
    return [TextKept(spread.label, versions_read(list(versions))) for spread, versions in by_spread]


def references_kept(farewell: Farewell) -> list[Reference]:
    """List what lay beside the briefs on that day (1 query)."""
    return references_at(farewell.book, farewell.ended_at)


def lines_kept(farewell: Farewell) -> list[LedgerLine]:
    """Tell the ledger as the person could read it when the seat ended, newest first."""
    return lines_for(farewell.seat, newest=MOST_LINES)


def stamps_kept(farewell: Farewell) -> list[TimeStamp]:
    """List the time stamps of lines that the person could read (1 query)."""
    rows = TimeStamp.objects.select_related("entry").filter(entry__in=read_by(farewell.seat).values("pk"))
    return list(rows.order_by("entry__seq"))


def statement_kept(farewell: Farewell) -> StatementPage:
    """Draw up the statement of the day on which the seat ended, from what had happened by then."""
    return statement_page(farewell.book, farewell.role, at=farewell.ended_at, until=farewell.ended_at)
