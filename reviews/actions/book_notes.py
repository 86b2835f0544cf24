"""Notes on the whole book: answered for some of their spreads, and taken along by a letter that answers one of them."""

from __future__ import annotations

from collections.abc import Collection

from reviews.actions._deed import deed_on
from reviews.models import AnsweredThere, Letter, Note, Passage, Seat, Spread
from reviews.rules.hands import PRINTERS_STAGES, check_answers
from reviews.rules.letter_payloads import AnswerNoteData
from reviews.rules.states import Cause, Deed, NoteState, Reach, Refused, Response, Role, Weighing


def answer_on_spreads(
    note_id: int, *, response: str, words: str = "", spreads: Collection[int], actor: Seat
) -> list[Spread]:
    """Answer a note on the book for some of its spreads; once each of them has its answer, the note has.

    Gives back the spreads. Raises Refused for a note that is not on the book, or spreads that it is not about.
    """
    if response not in set(Response) or (response != Response.DONE and not words.strip()):
        raise Refused("response-needs-words")
    with deed_on(Note, note_id, Deed.ANSWER_NOTE, actor) as act:
        note = Note.objects.select_related("letter", "picture__hand_in__by").get(pk=note_id)
        if note.state != NoteState.SENT:
            raise Refused("no-answer-yet")
        if note.reach != Reach.BOOK:
            raise Refused("note-not-on-book")
        check_answers(Role(act.by.role), made_by=Role(note.picture.hand_in.by.role))
        if not Cause(note.cause).asks:
            raise Refused("praise-asks-nothing")
        lying = Spread.objects.filter(book=act.book, removed_at=None).order_by("position")
        about = [row for row in lying if note.is_about(row.pk)]
        meant = [row for row in about if row.pk in spreads]
        if not meant or len(meant) < len(set(spreads)):
            raise Refused("note-not-about")
        given = {"response": response, "words": words.strip(), "at": act.now}
        rows = [AnsweredThere.objects.update_or_create(note=note, spread=row, defaults=given)[0] for row in meant]
        answered = set(note.answers_there.values_list("spread_id", flat=True))
        if note.responded_at is None and answered.issuperset(row.pk for row in about):
            note.responded_at = act.now
            note.save(update_fields=["responded_at"])
        number, of_letter = note.cited
        passage = act.passage(note.passage_id, is_gone=True)
        act.holds(note, *rows)
        told = AnswerNoteData(
            where=passage.where,
            note=note.pk,
            number=number,
            of_letter=of_letter,
            response=response,
            there=[row.label for row in meant],
        )
        act.record(told, passage=passage)
    return meant


def take_along(letter: Letter, passage: Passage) -> list[Note]:
    """Let the notes on the book that wait with another spread go with one that a letter answers and they are about.

    Those whose own spread has its answer in the letter stay with it. A missed line of a brief is said of the picture
    it was seen on, and what the printer made wrong goes back with what the printer made.
    """
    answered = letter.answers.values("passage")
    rows = Note.objects.select_related("picture__hand_in__passage__stage").filter(
        passage__book=letter.book_id, state=NoteState.UNSENT, weighing=Weighing.THROUGH, reach=Reach.BOOK
    )
    moved = [note for note in rows.exclude(passage__in=answered) if _may_go_with(note, passage)]
    for note in moved:
        note.passage = passage
    Note.objects.bulk_update(moved, ["passage"])
    return moved


def _may_go_with(note: Note, passage: Passage) -> bool:
    written_on = note.picture.hand_in.passage.stage.kind
    is_same_hands = (written_on in PRINTERS_STAGES) == (passage.stage.kind in PRINTERS_STAGES)
    return is_same_hands and note.cause != Cause.BRIEF and note.is_about(passage.spread_id)
