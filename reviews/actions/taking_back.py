"""Take back a letter sent by mistake, while nobody has answered it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from reviews import jobs
from reviews.actions._deed import Act, deed_on
from reviews.models import LedgerEntry, Letter, LetterAnswer, Note, OverConsent, Passage, Reply, Seat
from reviews.queries.reckoning import reckon_one
from reviews.queries.taking_back import entry_that_sent, touched_by, why_not_back
from reviews.rules.contract.silence import silences
from reviews.rules.letter_payloads import LetterAnswerData, SendLetterData
from reviews.rules.money_payloads import BackPassageData, TakeBackLetterData
from reviews.rules.payloads import payload_of
from reviews.rules.replay import Replayed, folded
from reviews.rules.states import Deed, NoteState, Refused, Sight


def take_back_letter(letter_id: int, because: str, *, actor: Seat) -> Letter:
    """Take a letter back: everything stands again as before it went, and it counts no round.

    The letter itself stays readable, marked as taken back, and its notes lie unsent in the draft once more, so that the
    right letter can be written. What the illustrator may have put into a draft meanwhile stays theirs.
    """
    with deed_on(Letter, letter_id, Deed.TAKE_BACK_LETTER, actor) as act:
        letter = Letter.objects.get(pk=letter_id)
        if letter.sent_at is None:
            raise Refused("letter-not-sent")
        if letter.taken_back_at is not None:
            raise Refused("letter-taken-back")
        if not because.strip():
            raise Refused("take-back-reason")
        sent = entry_that_sent(letter)
        if (refused := why_not_back(sent, act.now)) is not None:
            raise refused
        answers = payload_of(sent, SendLetterData)["answers"]
        letter.taken_back_at, letter.taken_back_because = act.now, because.strip()[:300]
        letter.paper = ""  # the paper says so too, and is made anew
        letter.save(update_fields=["taken_back_at", "taken_back_because", "paper"])
        back = _put_back(sent, answers, act)
        _free_consents(letter, act)
        _return_answers(letter, act)
        _return_notes(letter, act)
        jobs.enqueue(jobs.LETTER_PAPER, letter.pk, key=f"taken-back-{letter.pk}")
        act.holds(letter, *Passage.objects.filter(pk__in=[one["passage"] for one in back]))
        act.record(
            TakeBackLetterData(
                letter=letter.pk,
                number=letter.given_number,
                sent=sent.seq,
                reason=letter.taken_back_because,
                passages=back,
            )
        )
        _check_silence(back, act)
    return letter


def _check_silence(back: Iterable[BackPassageData], act: Act) -> None:
    """Refuse what silence would approve at the next look: it was answered in time, and must not go unanswered now."""
    statement = reckon_one(act.book, act.now).statement
    over = {one.passage for one in silences(statement) if one.deed == Deed.APPROVE_BY_SILENCE}
    # Nor where its days have passed without a warning, as none comes while a letter stands: who sends and takes back
    # daily would else never be silent.
    over |= {
        line.passage
        for line in statement.lines
        if line.turns and line.turns[-1].silence_on and statement.as_of > line.turns[-1].silence_on
    }
    for one in back:
        if one["passage"] in over:
            raise Refused("letter-silenced", where=one["where"])


def _put_back(sent: LedgerEntry, answers: Iterable[LetterAnswerData], act: Act) -> list[BackPassageData]:
    """Write each passage as it stood before the letter: by the ledger, and by the rows that its entries hold."""
    before = LedgerEntry.objects.filter(book=act.book, seq__lt=sent.seq).order_by("seq")
    stood = folded(row.as_entry() for row in before)
    rows = _rows_before(sent, set(touched_by(answers)))
    back = []
    for pk in touched_by(answers):
        passage = Passage.objects.with_places().get(pk=pk)
        back.append(_put_one_back(passage, stood[pk], rows.get(pk, {})))
    return back


def _put_one_back(passage: Passage, stood: Replayed, row: dict[str, Any]) -> BackPassageData:
    passage.state = stood.state
    if stood.due_on:
        passage.due_on = datetime.fromisoformat(stood.due_on).date()
    passage.answer_due_on = datetime.fromisoformat(stood.answer_due_on).date() if stood.answer_due_on else None
    passage.pending = passage.hand_ins.filter(number=stood.pending).first() if stood.pending else None
    passage.approved_sha256 = stood.approved_sha256
    passage.approved_picture_id = row.get("approved_picture_id")
    for name in ("approved_at", "opened_at", "held_since"):
        setattr(passage, name, datetime.fromisoformat(row[name]) if row.get(name) else None)
    passage.save(
        update_fields=[
            "state", "due_on", "answer_due_on", "pending", "approved_sha256", "approved_picture", "approved_at",
            "opened_at", "held_since",
        ]
    )  # fmt: skip
    return BackPassageData(
        where=passage.where,
        passage=passage.pk,
        to=stood.state,
        due_on=stood.due_on,
        answer_due_on=stood.answer_due_on,
        pending=stood.pending,
        sha256=stood.approved_sha256,
    )


def _rows_before(sent: LedgerEntry, wanted: set[int]) -> dict[int, dict[str, Any]]:
    """Read what the newest entry before the letter held of each passage."""
    found: dict[int, dict[str, Any]] = {}
    entries = LedgerEntry.objects.filter(book=sent.book_id, seq__lt=sent.seq).order_by("-seq")
    for rows in entries.values_list("rows", flat=True).iterator(chunk_size=200):
        held = (rows or {}).get("held", {}).get("passage", {})
        for pk in wanted - set(found):
            if held.get(str(pk)):
                found[pk] = held[str(pk)]
        if len(found) == len(wanted):
            break
    return found


def _free_consents(letter: Letter, act: Act) -> None:
    """Let a consent that this letter used be used by the next, unless another is open there already."""
    for used in OverConsent.objects.filter(used_by=letter):
        if not OverConsent.objects.open().filter(passage_id=used.passage_id).exists():
            used.used_by = None
            used.save(update_fields=["used_by"])
            act.holds(used)


def _return_answers(letter: Letter, act: Act) -> None:
    """Write the letter's words and answers into the draft, where it says nothing else by now."""
    draft, _ = Letter.objects.get_or_create(book=act.book, sent_at=None, defaults={"begun_at": act.now})
    if not draft.words:
        draft.words = letter.words
        draft.save(update_fields=["words"])
    for answer in letter.answers.all():
        kept, made = LetterAnswer.objects.get_or_create(
            letter=draft,
            passage_id=answer.passage_id,
            defaults={"hand_in_id": answer.hand_in_id, "picture_id": answer.picture_id, "answer": answer.answer},
        )
        if made:
            act.holds(kept)
    act.holds(draft)


def _return_notes(letter: Letter, act: Act) -> None:
    """Keep the notes with the letter that showed them, and lay the same notes unsent into the draft."""
    for note in Note.objects.filter(letter=letter, state=NoteState.HELD_BACK):
        note.state, note.letter = NoteState.UNSENT, None
        note.save(update_fields=["state", "letter"])
        act.holds(note)
    for note in Note.objects.filter(letter=letter, state=NoteState.SENT).order_by("number"):
        _lay_again(note, act)
        note.state = NoteState.TAKEN_BACK
        note.save(update_fields=["state"])
        act.holds(note)


def _lay_again(note: Note, act: Act) -> None:
    again = Note.objects.create(
        passage_id=note.passage_id,
        picture_id=note.picture_id,
        author_id=note.author_id,
        region=note.region,
        reach=note.reach,
        concerns=note.concerns,
        words=note.words,
        cause=note.cause,
        state=NoteState.UNSENT,
        weighing=note.weighing,
        letter_words=note.letter_words,
        brief_id=note.brief_id,
        brief_line=note.brief_line,
        made_at=act.now,
    )
    act.holds(again)
    # What was said of it inside the house goes on with it; what both sides said stays with the letter.
    for reply in note.replies.filter(sight=Sight.PUBLISHER):
        said = Reply.objects.create(
            note=again, author_id=reply.author_id, words=reply.words, sight=reply.sight, at=reply.at
        )
        act.holds(said)
