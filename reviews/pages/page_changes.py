"""What may be changed of a book's pages, and what is kept of a dropped spread: its art, notes and history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from reviews.models import HandIn, LedgerEntry, Note, Passage, Person, Picture, Reply, Seat, Spread
from reviews.models.stage_names import speak_of
from reviews.pages.briefs import ReferenceRead, VersionRead, read_references, read_version
from reviews.pages.review_table import holder_words
from reviews.pages.wording.notes import note_name, reason_words, said_words
from reviews.pages.wording.page_changes import dropped_words
from reviews.press.pages import Piece
from reviews.queries.access import NotThere, get_book, may_see_hand_in, may_see_note
from reviews.queries.book_notes import answers_there, said_of
from reviews.queries.briefs import is_sketch_approved, references_of, versions_of
from reviews.queries.page_changes import BookPages, free_of, has_begun
from reviews.queries.proposals import open_proposals, speaks
from reviews.queries.reach import shows_picture
from reviews.rules import permits
from reviews.rules.book_notes import SaidOfNote, newest_of
from reviews.rules.moving_payloads import RepageData
from reviews.rules.payloads import payload_of
from reviews.rules.proposals import Matter
from reviews.rules.states import Deed, HandInState, NoteState, Role


@dataclass(frozen=True, kw_only=True)
class DroppedCard:
    """A spread that was dropped, and the free pages of its shape to which it could come back."""

    spread: Spread
    places: list[Piece]


@dataclass(frozen=True, kw_only=True)
class PagesPart:
    """The pages of a book: free ones, dropped spreads, and what this reader may do.

    ``is_begun``: terms are agreed or something is begun, so that either side proposes; until then the publisher does it
    alone. ``seen`` is the number of the open proposal about pages. ``may_count``: the number of pages can still change.
    """

    may_change: bool
    is_begun: bool
    may_count: bool
    seen: int | None
    free: list[Piece]
    dropped: list[DroppedCard]

    @property
    def free_shown(self) -> list[Piece]:
        """List each free page once: a free opening as one."""
        openings = [place for place in self.free if place.n_pages_across == 2]
        inside = {page for place in openings for page in (place.first_page, place.last_page)}
        return [place for place in self.free if place in openings or place.first_page not in inside]


def pages_part(pages: BookPages, seat: Seat) -> PagesPart:
    """Gather it (2 queries, 3 where the number of pages could change)."""
    book, is_begun = pages.book, has_begun(pages.book)
    found = open_proposals([book.pk], matter=Matter.PAGES)
    may = speaks(seat, Matter.PAGES) and (is_begun or seat.role == Role.ART_DIRECTOR)
    free = free_of(book, [row.as_piece() for row in pages.live])
    return PagesPart(
        may_change=may,
        is_begun=is_begun,
        may_count=may and not is_sketch_approved(book, None),
        seen=found[0].number if found else None,
        free=free,
        dropped=_cards(pages, free),
    )


def _cards(pages: BookPages, free: Sequence[Piece]) -> list[DroppedCard]:
    return [
        DroppedCard(spread=row, places=[place for place in free if place.kind == row.kind]) for row in pages.dropped
    ]


@dataclass(frozen=True, kw_only=True)
class KeptVersion:
    """One hand-in of a dropped spread, with its pictures; ``cover_note`` where this reader reads it."""

    number: int | None
    by: str
    at: datetime | None
    cover_note: str
    pictures: list[Picture]


@dataclass(frozen=True, kw_only=True)
class KeptNote:
    """One note on a dropped spread, as this reader knows it; ``letter`` names the letter that sent it, and its row."""

    name: str
    words: str
    reason: str
    by: str
    answer: str
    letter: tuple[int, int] | None
    replies: list[Reply]
    is_sent: bool


@dataclass(frozen=True, kw_only=True)
class KeptStage:
    """A stage of a dropped spread: where it stood, and what is kept of it."""

    name: str
    stood: str
    versions: list[KeptVersion]
    notes: list[KeptNote]


def get_dropped(person: Person, spread_id: int) -> tuple[Spread, Seat]:
    """Fetch a dropped spread for looking at what is kept of it (2 queries)."""
    spread = Spread.objects.filter(pk=spread_id, dropped_at__isnull=False).first()
    if spread is None:
        raise NotThere
    spread.book, seat = get_book(person, spread.book_id, thing="plan")
    return spread, seat


def why_dropped(spread: Spread) -> str:
    """Say by whose word a spread was dropped, and why; nothing where no entry tells it (1 query)."""
    rows = LedgerEntry.objects.filter(book=spread.book, deed=Deed.REPAGE)
    for row in rows.order_by("-seq"):
        data = payload_of(row, RepageData)
        if any(one["spread"] == spread.pk for one in data["dropped"]):
            return dropped_words(row.by, data)
    return ""


def kept_stages(spread: Spread, seat: Seat) -> list[KeptStage]:
    """Gather what is kept of a dropped spread, stage by stage, as this reader saw it before.

    5 queries, 6 with a note on the book.
    """
    speak_of(spread.book)
    passages = Passage.objects.with_places().filter(spread=spread).order_by("stage__position")
    hand_ins: dict[int, list[HandIn]] = {}
    rows = HandIn.objects.select_related("by__person", "passage__stage", "passage__spread").prefetch_related("pictures")
    for hand_in in rows.filter(passage__spread=spread).order_by("number", "pk"):
        if may_see_hand_in(seat, hand_in):
            hand_ins.setdefault(hand_in.passage_id, []).append(hand_in)
    notes: dict[int, list[Note]] = {}
    found = Note.objects.select_related("author__person", "letter", "brief", "picture__hand_in__by", "passage__stage")
    found = found.filter(passage__spread=spread).exclude(state__in=[NoteState.WITHDRAWN, NoteState.TAKEN_BACK])
    for note in found.order_by("letter__number", "number", "pk"):
        seen = {one.pk for one in hand_ins.get(note.passage_id, ())}
        if may_see_note(seat, note) and note.picture.hand_in_id in seen:
            notes.setdefault(note.passage_id, []).append(note)
    every = [note for some in notes.values() for note in some]
    replies, there = _replies(every, seat), answers_there(every, spreads=[spread.pk])
    said = {note.pk: newest_of(said_of(note), there.get((note.pk, spread.pk))) for note in every}
    return [
        KeptStage(
            name=passage.stage.name,
            stood=holder_words(passage),
            versions=[_version(one, seat) for one in hand_ins[passage.pk]],
            notes=[_note(one, said[one.pk], replies.get(one.pk, []), seat) for one in notes.get(passage.pk, ())],
        )
        for passage in passages
        if passage.pk in hand_ins
    ]


def _version(hand_in: HandIn, seat: Seat) -> KeptVersion:
    reads = permits.sees(Role(seat.role), "cover-notes")
    pictures = [one for one in hand_in.pictures.all() if one.removed_at is None and shows_picture(seat, one)]
    return KeptVersion(
        number=hand_in.number,
        by=hand_in.by.person.name,
        at=None if hand_in.state == HandInState.DRAFT else hand_in.handed_in_at,
        cover_note=hand_in.cover_note if reads else "",
        pictures=sorted(pictures, key=lambda one: (one.position, one.pk)),
    )


def kept_briefs(spread: Spread, seat: Seat) -> list[VersionRead]:
    """Read every version of a dropped spread's own brief, newest first, for whoever reads briefs (1 query)."""
    versions = versions_of(spread.book, spread) if permits.sees(Role(seat.role), "brief") else []
    return [read_version(version, spread) for version in versions]


def kept_references(spread: Spread, seat: Seat) -> list[ReferenceRead]:
    """List what lay beside the brief of a dropped spread, for whoever reads briefs (1 query)."""
    reads = permits.sees(Role(seat.role), "brief")
    return read_references(references_of(spread.book, spread)) if reads else []


def _replies(notes: Sequence[Note], seat: Seat) -> dict[int, list[Reply]]:
    rows = Reply.objects.select_related("author__person").filter(note__in=[note.pk for note in notes])
    found: dict[int, list[Reply]] = {}
    for reply in rows.filter(sight__in=permits.sights_of(Role(seat.role))).order_by("at", "pk"):
        found.setdefault(reply.note_id, []).append(reply)
    return found


def _note(note: Note, said: SaidOfNote | None, replies: list[Reply], seat: Seat) -> KeptNote:
    number, of_letter = note.cited if note.state == NoteState.SENT else (None, None)
    letter = None
    if of_letter is not None and note.letter_id is not None and permits.sees(Role(seat.role), "letters"):
        letter = (note.letter_id, of_letter)
    answer = said_words(note, said) if said else ""
    return KeptNote(
        name=note_name(number, of_letter) if number is not None else "",
        words=note.said,
        reason=reason_words(note),
        by=note.author.person.name,
        answer=f"{answer}: {said.words}" if said and said.words else answer,
        letter=letter,
        replies=replies,
        is_sent=note.state == NoteState.SENT,
    )
