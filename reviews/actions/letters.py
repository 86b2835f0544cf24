"""The letter: weighed and worded as a draft, sent as one act."""

from __future__ import annotations

from collections.abc import Collection

from reviews import jobs
from reviews.actions._answers import answer_passage
from reviews.actions._consents import use_consents
from reviews.actions._deed import Act, deed_on, deeds_on
from reviews.actions.book_notes import take_along
from reviews.actions.taken_faults import check_stoppers
from reviews.models import Book, Letter, LetterAnswer, Note, Passage, Picture, Seat
from reviews.queries.letter_cost import planned_letter
from reviews.queries.letters import (
    answers_in_page_order,
    approved_over_brief,
    letter_fingerprint,
    next_number,
    placed_notes,
    same_place_as,
    unsent_notes,
)
from reviews.queries.plain_approvals import plain_passages
from reviews.rules import decisions, permits
from reviews.rules.contract.letter_cost_text import told_text
from reviews.rules.letter_payloads import (
    DropAnswerData,
    SendLetterData,
    SetAnswerData,
    WeighNoteData,
    WordLetterData,
)
from reviews.rules.letters import number_notes
from reviews.rules.states import APPROVALS, Answer, Cause, Deed, NoteState, Refused, Role, Sight, Weighing


def weigh_note(note_id: int, *, weighing: str, letter_words: str = "", seen: str = "", actor: Seat) -> Note:
    """Let a note through or hold it back, and reword it for the letter. The author's words stay kept.

    ``seen`` is the mark of the note that was on the screen: what changed since is not written over unseen.
    """
    with deed_on(Note, note_id, Deed.WEIGH_NOTE, actor) as act:
        _check_seen(note_id, seen)
        return _weigh(note_id, Weighing(weighing), letter_words, act)


def settle_overlap(note_id: int, *, others: str, letter_words: str, seen: str = "", actor: Seat) -> list[Note]:
    """Decide between notes about one place: let this one through, and the others through or held back.

    One decision: if any of the notes can no longer be weighed, none of them is.
    """
    with deeds_on(Note, note_id, actor) as acts:
        _check_seen(note_id, seen)
        rest = same_place_as(Note.objects.get(pk=note_id))
        with acts.deed(Deed.WEIGH_NOTE) as act:
            _weigh(note_id, Weighing.THROUGH, letter_words, act)
        for other in rest:
            with acts.deed(Deed.WEIGH_NOTE) as act:
                _weigh(other.pk, Weighing(others), other.letter_words, act)
    return rest


def set_answer(passage_id: int, *, answer: str, picture_id: int | None = None, actor: Seat) -> LetterAnswer:
    """Give a passage its answer in the draft letter, about the hand-in that is there now."""
    with deed_on(Passage, passage_id, Deed.SET_ANSWER, actor) as act:
        return _set_answer(passage_id, Answer(answer), picture_id, act)


def approve_waiting(book_id: int, *, named: Collection[int], actor: Seat) -> int:
    """Approve, in the draft, those of the named passages that wait with one picture and no open note; say how many.

    Only what was named on the screen is approved: what came in since has not been looked at, and what changed since
    is left out. Which those are is read under the lock, and then all of them are approved or none.
    """
    permits.check(Role(actor.role), Deed.SET_ANSWER)
    with deeds_on(Book, book_id, actor) as acts:
        plain = [passage_id for passage_id in plain_passages(acts.book) if passage_id in named]
        for passage_id in plain:
            with acts.deed(Deed.SET_ANSWER) as act:
                _set_answer(passage_id, Answer.APPROVE, None, act)
    return len(plain)


def drop_answer(passage_id: int, *, actor: Seat) -> None:
    """Take a passage out of the draft letter; its notes stay unsent, those on the book go with another."""
    with deed_on(Passage, passage_id, Deed.DROP_ANSWER, actor) as act:
        letter = _draft_letter(act)
        gone = letter.answers.filter(passage_id=passage_id).first()
        if gone is None:
            raise Refused("answer-gone")
        passage = act.passage(passage_id)
        act.holds(letter, gone)
        letter.answers.filter(pk=gone.pk).delete()
        act.holds(*take_along(letter))
        act.record(DropAnswerData(where=passage.where), passage=passage, sight=Sight.PUBLISHER)


def word_letter(book_id: int, words: str, *, seen: str = "", actor: Seat) -> Letter:
    """Write the lines that open the letter, over those that were ``seen``."""
    with deed_on(Book, book_id, Deed.WORD_LETTER, actor) as act:
        letter = _draft_letter(act)
        if seen and seen != letter.seen_words:
            raise Refused("lines-changed", said=letter.words, seen=letter.seen_words)
        letter.words = words.strip()
        letter.save(update_fields=["words"])
        act.holds(letter)
        act.record(WordLetterData(), sight=Sight.PUBLISHER)
    return letter


def send_letter(
    letter_id: int,
    *,
    looked_at: str,
    over_is_agreed: bool = False,
    over_brief: bool = False,
    leave: Collection[int] = (),
    actor: Seat,
) -> Letter:
    """Send the letter: every answer takes effect, every note let through goes out, all at once.

    ``looked_at`` is the fingerprint of the draft that the sender read; if an answer, a note or a word of
    it changed since, the letter is not sent, so that nobody sends what they have not seen.
    A letter that goes beyond the rounds in the fee needs ``over_is_agreed``; one that approves a spread whose notes
    say that the brief was not met needs ``over_brief``. Notes to ``leave`` came after the letter
    was read: they stay unsent, for a later one.
    """
    with deed_on(Letter, letter_id, Deed.SEND_LETTER, actor) as act:
        letter = Letter.objects.get(pk=letter_id)
        answers = _sendable(letter, looked_at)
        going = [note for note in unsent_notes([a.passage_id for a in answers]) if note.pk not in leave]
        planned = planned_letter(act.book, answers, going, at=act.now)
        planned.check()
        for answer in answers:
            check_stoppers(answer.passage, Answer(answer.answer))
        if any(effect.is_over or effect.outside_fee for effect in planned.effects) and not over_is_agreed:
            raise Refused("over-needs-yes")
        if (missed := approved_over_brief(answers, going)) and not over_brief:
            raise Refused("brief-needs-yes", where="; ".join(answer.passage.where for answer in missed))
        act.holds(letter, *answers, *use_consents(planned, letter))
        answered = [answer_passage(answer, act, leave=leave) for answer in answers]
        sent, held = _send_notes(letter, answers, act, leave)
        _close(letter, act)
        completes = frozenset({Role.PRODUCTION}) if any(a["opens"] for a in answered) else frozenset()
        act.record(
            SendLetterData(
                letter=letter.pk,
                number=letter.given_number,
                cost=told_text(planned.told),
                answers=answered,
                notes=sent,
                held=held,
            ),
            also_tell=completes,
        )
    return letter


def keep_letter_paper(letter: Letter, name: str) -> None:
    """Note where the letter's PDF is stored. Made by the worker from what was sent; no deed of anyone's.

    One that was begun before the letter was taken back does not say so, and is not kept.
    """
    Letter.objects.filter(pk=letter.pk, paper="", taken_back_at=letter.taken_back_at).update(paper=name)


def _check_seen(note_id: int, seen: str) -> None:
    note = Note.objects.get(pk=note_id)
    if seen and note.state == NoteState.UNSENT and seen != note.seen_weighed:
        raise Refused("note-changed", said=note.said, seen=note.seen_weighed)


def _weigh(note_id: int, weighing: Weighing, letter_words: str, act: Act) -> Note:
    note = Note.objects.get(pk=note_id)
    if note.state == NoteState.WITHDRAWN:
        raise Refused("note-is-gone")
    if note.state != NoteState.UNSENT:
        raise Refused("note-is-sent")
    note.weighing = weighing
    reworded = letter_words.strip()
    note.letter_words = "" if reworded == note.words else reworded
    note.save(update_fields=["weighing", "letter_words"])
    letter = _draft_letter(act)
    passage = act.passage(note.passage_id)
    payload = WeighNoteData(where=passage.where, note=note.pk, weighing=note.weighing)
    act.holds(note, letter, *take_along(letter))
    act.record(payload, passage=passage, sight=Sight.PUBLISHER)
    return note


def _set_answer(passage_id: int, given: Answer, picture_id: int | None, act: Act) -> LetterAnswer:
    passage = act.passage(passage_id)
    if passage.hand_in is None:
        raise Refused("nothing-handed-in")
    picture = _chosen_picture(passage, picture_id) if given in APPROVALS else None
    standing = passage.as_standing(next_is_closed=False)
    # Whether there are notes is asked when the letter goes; here only what can never be right.
    probe = [Cause.DIRECTION] if given == Answer.ASK else []
    decisions.check_answer(standing, given, hand_in=standing.hand_in, has_picture=picture is not None, causes=probe)
    check_stoppers(passage, given)
    letter = _draft_letter(act)
    written, _ = LetterAnswer.objects.update_or_create(
        letter=letter,
        passage=passage,
        defaults={"hand_in": passage.hand_in, "picture": picture, "answer": given},
    )
    act.holds(letter, written, *take_along(letter))
    act.record(SetAnswerData(where=passage.where, answer=given), passage=passage, sight=Sight.PUBLISHER)
    return written


def _sendable(letter: Letter, looked_at: str) -> list[LetterAnswer]:
    if letter.sent_at is not None:
        raise Refused("letter-sent")
    if letter_fingerprint(letter) != looked_at:
        raise Refused("letter-changed")
    answers = answers_in_page_order(letter)
    if not answers:
        raise Refused("letter-empty")
    return answers


def _send_notes(
    letter: Letter, answers: list[LetterAnswer], act: Act, leave: Collection[int]
) -> tuple[list[int], list[int]]:
    passages = [answer.passage_id for answer in answers]
    rows = Note.objects.select_related("picture").filter(passage_id__in=passages, state=NoteState.UNSENT)
    notes = list(rows.exclude(pk__in=leave).order_by("pk"))
    through = [note for note in notes if note.weighing == Weighing.THROUGH]
    held = [note for note in notes if note.weighing == Weighing.HELD]
    numbers = number_notes(placed_notes(through), passages)
    for note in through:
        note.state, note.letter, note.number = NoteState.SENT, letter, numbers[note.pk]
    for note in held:
        note.state, note.letter = NoteState.HELD_BACK, letter
    Note.objects.bulk_update(notes, ["state", "letter", "number"])
    act.holds(*notes)
    return [note.pk for note in through], [note.pk for note in held]


def _close(letter: Letter, act: Act) -> None:
    letter.number, letter.sent_at, letter.sent_by = next_number(act.book), act.now, act.by
    letter.save(update_fields=["number", "sent_at", "sent_by"])
    jobs.enqueue(jobs.LETTER_PAPER, letter.pk)


def _draft_letter(act: Act) -> Letter:
    """Find the book's draft letter or begin one."""
    letter, _ = Letter.objects.get_or_create(book=act.book, sent_at=None, defaults={"begun_at": act.now})
    return letter


def _chosen_picture(passage: Passage, picture_id: int | None) -> Picture | None:
    pictures = list(passage.hand_in.pictures.filter(removed_at=None)) if passage.hand_in else []
    if picture_id is None:
        return pictures[0] if len(pictures) == 1 else None
    for picture in pictures:
        if picture.pk == picture_id:
            return picture
    raise Refused("not-its-picture")
