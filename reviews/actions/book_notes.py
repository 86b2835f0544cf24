"""Notes on the whole book: answered for some of their spreads, and taken along by a letter that answers one of them."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from reviews.actions._deed import deed_on
from reviews.models import AnsweredThere, Letter, LetterAnswer, Note, Passage, Seat, Spread
from reviews.queries.letters import answers_in_page_order
from reviews.rules.hands import PRINTERS_STAGES, check_answers
from reviews.rules.letter_payloads import AnswerNoteData
from reviews.rules.states import Answer, Cause, Deed, NoteState, Reach, Refused, Response, Role, Weighing


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


def take_along(letter: Letter | None) -> list[Note]:
    """Let the notes on the book that go at all go with a spread that the letter answers and they are about.

    Every deed that gives or drops an answer, or brings a note, asks for it, so the order of deeds makes no difference.
    """
    if letter is None:
        return []
    rows = Note.objects.select_related("picture__hand_in__passage__stage")
    notes = list(
        rows.filter(
            passage__book=letter.book_id, state=NoteState.UNSENT, weighing=Weighing.THROUGH, reach=Reach.BOOK
        ).order_by("pk")
    )
    if not notes:
        return []
    answers = answers_in_page_order(letter)
    moved = []
    for note in notes:
        home = _home(note, answers)
        if home is not None and home.pk != note.passage_id:
            note.passage = home
            moved.append(note)
    Note.objects.bulk_update(moved, ["passage"])
    return moved


def _home(note: Note, answers: Sequence[LetterAnswer]) -> Passage | None:
    """Find the passage with whose answer a note goes; None where no answer takes it.

    What asks for changes has the first claim, as it rests on its notes: the spread that the note was written on, else
    where the note is, else the first it is about. Without such an ask it stays where it is, or goes with an approval.
    """
    written_on = note.picture.hand_in.passage_id
    about = [one for one in answers if _may_go_with(note, one.passage)]
    asks, about_asks = ([one for one in rows if one.answer == Answer.ASK] for rows in (answers, about))
    ranked = [
        *(one for one in asks if one.passage_id == written_on),
        *(one for one in answers if one.passage_id == note.passage_id == written_on),
        *(one for one in asks if one.passage_id == note.passage_id),
        *about_asks,
        *(one for one in answers if one.passage_id == note.passage_id),
        *about,
    ]
    return ranked[0].passage if ranked else None


def _may_go_with(note: Note, passage: Passage) -> bool:
    """Say whether a note may go with another spread than its own.

    A missed line of a brief is said of the picture it was seen on, and what the printer made wrong goes back with what
    the printer made.
    """
    written_on = note.picture.hand_in.passage.stage.kind
    is_same_hands = (written_on in PRINTERS_STAGES) == (passage.stage.kind in PRINTERS_STAGES)
    return is_same_hands and note.cause != Cause.BRIEF and note.is_about(passage.spread_id)
