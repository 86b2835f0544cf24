"""The notes of the review table: which of them a seat reads, how they are numbered, and what is shown of each."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from reviews.models import HandIn, Note, Passage, Picture, Reply, Seat
from reviews.pages.table_shapes import OnBookNote, OnTableNote, OnTableReply, OnTableResponse
from reviews.pages.wording.names import role_words
from reviews.pages.wording.notes import AWAITS_HERE, note_name, reason_words, said_words
from reviews.queries.access import may_see_note
from reviews.queries.book_notes import answers_there, said_of
from reviews.queries.letters import draft_numbers
from reviews.rules import permits
from reviews.rules.book_notes import newest_of
from reviews.rules.letters import note_mark
from reviews.rules.states import Cause, Deed, NoteState, Reach, Role, Weighing


def notes_seen(
    pictures: Sequence[Picture], seat: Seat, *, about: Passage | None = None, hand_in: HandIn | None = None
) -> list[Note]:
    """List the notes on these pictures that this seat may read, with replies (2 queries, 3 with one on the book).

    With a passage ``about``, those on its whole spread come along from the hand-in they were written on to every later
    one, and those on the whole book wherever they concern this spread.

    Unsent and held-back notes, and what was said under them, exist for the publisher's house only. An author or an
    expert reader reads what they wrote themselves.
    """
    role = Role(seat.role)
    rows = Note.objects.select_related("author__person", "letter", "brief", "picture__hand_in__by").filter(
        _about(pictures, about)
    )
    if permits.sees(role, "sent-notes") and not permits.sees(role, "unsent-notes"):
        rows = rows.filter(state=NoteState.SENT)
    elif permits.may(role, Deed.PIN_NOTE):
        rows = rows.exclude(state__in=(NoteState.WITHDRAWN, NoteState.TAKEN_BACK))
    else:
        return []
    notes = [
        note for note in rows.order_by("made_at", "pk") if may_see_note(seat, note) and _concerns(note, about, hand_in)
    ]
    replies: dict[int, list[Reply]] = {note.pk: [] for note in notes}
    seen = Reply.objects.select_related("author__person").filter(
        note__in=list(replies), sight__in=permits.sights_of(role)
    )
    for reply in seen.order_by("at", "pk"):
        replies[reply.note_id].append(reply)
    there = answers_there(notes, spreads=[about.spread_id]) if about is not None else {}
    for note in notes:
        note.seen_replies = replies[note.pk]
        own = there.get((note.pk, about.spread_id)) if about is not None else None
        note.said_here = newest_of(said_of(note), own)
    return notes


def _about(pictures: Sequence[Picture], about: Passage | None) -> Q:
    asked = Q(picture__in=[picture.pk for picture in pictures])
    if about is None:
        return asked
    return asked | Q(reach=Reach.SPREAD, passage=about) | Q(reach=Reach.BOOK, passage__book=about.book_id)


def _concerns(note: Note, about: Passage | None, hand_in: HandIn | None) -> bool:
    """Say whether a note that marks no place is about what lies here; a place lies on its picture."""
    if about is None or note.reach == Reach.PLACE:
        return True
    if note.reach == Reach.BOOK:
        return note.passage_id == about.pk or note.is_about(about.spread_id)
    return hand_in is None or (note.picture.hand_in.number or 0) <= (hand_in.number or 0)


def numbered(notes: list[Note], book_id: int, role: Role) -> list[Note]:
    """Number unsent notes as the letter does now, and sort all as letters read (1 query if any is unsent).

    Who reads no letter has their own notes counted through: a number of the letter would say how much else is asked.
    """
    if not permits.sees(role, "sent-notes"):
        for number, note in enumerate(notes, start=1):
            note.shown_number = number
        return notes
    numbers = draft_numbers(book_id) if any(note.state == NoteState.UNSENT for note in notes) else {}

    def place(note: Note) -> tuple[float, float, int]:
        is_unsent = note.state == NoteState.UNSENT
        letter = float("inf") if is_unsent or note.letter is None else note.letter.number or 0
        return letter, note.shown_number or float("inf"), note.pk

    for note in notes:
        note.shown_number = numbers.get(note.pk) if note.state == NoteState.UNSENT else note.number
    return sorted(notes, key=place)


def on_table(note: Note, seat: Seat, about: Passage) -> OnTableNote:
    """Describe one note for the table of a passage; what a seat may not know is empty."""
    reads_letters = permits.sees(Role(seat.role), "letters")
    is_publisher = permits.sees(Role(seat.role), "unsent-notes")
    mine = note.author_id == seat.pk
    is_unsent = note.state == NoteState.UNSENT
    is_sent = note.letter is not None and note.state == NoteState.SENT
    letter = note.letter.number if is_sent and note.letter and permits.sees(Role(seat.role), "sent-notes") else None
    return {
        "id": note.pk,
        "mark": note_mark(note.shown_number, letter),
        "name": note_name(note.shown_number, letter),
        "picture": note.picture_id,
        "region": note.region if note.reach == Reach.PLACE else None,
        "strokes": note.strokes,
        "reach": note.reach,
        # The art director's rewording is what is asked; what a reviewer first wrote stays in the house.
        "words": note.said if is_sent or (is_unsent and is_publisher) else note.words,
        "own_words": note.words if is_unsent and mine else "",
        "seen": note.seen_own if is_unsent and mine else "",
        "first_words": note.words if is_unsent and note.letter_words and is_publisher else "",
        "cause": note.cause,
        "error": note.error,
        "brief_line": f"{note.brief_id}:{note.brief_line}" if note.brief_id else "",
        "cause_words": reason_words(note),
        "author": note.author.person.name if is_publisher else "",
        "role": role_words(note.author.role) if is_publisher else "",
        "state": note.state,
        # What the art director means to do with it is the house's own talk until the letter has gone.
        "is_held": note.state == NoteState.HELD_BACK or (is_publisher and note.weighing == Weighing.HELD),
        "mine": mine,
        "may_edit": is_unsent and mine,
        "may_withdraw": is_unsent and mine,
        "may_reply": permits.may(Role(seat.role), Deed.REPLY),
        "replies": [_reply(reply) for reply in note.seen_replies],
        "url": reverse("reviews:edit-note", args=[note.pk]),
        "letter_number": letter,
        "letter_url": reverse("reviews:letter", args=[note.letter_id]) if note.letter_id and reads_letters else None,
        "response": _response(note) if permits.sees(Role(seat.role), "sent-notes") else None,
        **_on_book(note, seat, about),
    }


def _reply(reply: Reply) -> OnTableReply:
    at = date_format(timezone.localtime(reply.at), "j M, H:i")
    return {"author": reply.author.person.name, "words": reply.words, "at": at}


def _response(note: Note) -> OnTableResponse | None:
    said = note.said_here
    if said is None:
        return None
    return {"kind": said.response, "kind_words": said_words(note, said), "words": said.words}


def _on_book(note: Note, seat: Seat, about: Passage) -> OnBookNote:
    """Say how a sent note on the book stands on this spread, and whether it is this seat's to answer it here."""
    role = Role(seat.role)
    asks = note.state == NoteState.SENT and note.is_about(about.spread_id) and Cause(note.cause).asks
    if not asks or not permits.sees(role, "sent-notes"):
        return {"awaits": "", "answer_url": "", "spread": about.spread_id}
    is_makers = (note.picture.hand_in.by.role == Role.ILLUSTRATOR) == (role == Role.ILLUSTRATOR)
    may = is_makers and permits.may(role, Deed.ANSWER_NOTE)
    return {
        "awaits": "" if note.said_here else str(AWAITS_HERE),
        "answer_url": reverse("reviews:answer-note", args=[note.pk]) if may else "",
        "spread": about.spread_id,
    }
