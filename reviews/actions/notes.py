"""Notes: pinned, changed and withdrawn while unsent; replied to; answered by the illustrator."""

from __future__ import annotations

from typing import Any

from reviews.actions._deed import Act, deed_on
from reviews.actions.book_notes import take_along
from reviews.geometry import region_from_json, region_to_json
from reviews.models import Look, Note, OptionMark, Passage, Picture, Reply, Seat, Spread
from reviews.press.pages import PieceKind
from reviews.queries.briefs import briefs_concerning, stood_at
from reviews.queries.letters import draft_letter
from reviews.rules.hands import PRINTERS_STAGES, check_answers
from reviews.rules.letter_payloads import (
    AnswerNoteData,
    LookOverData,
    MarkOptionData,
    NoteData,
    PinNoteData,
    ReplyData,
    UnmarkOptionData,
)
from reviews.rules.page_names import pages_named
from reviews.rules.states import (
    ERROR_BY_CAUSE,
    PUBLISHER_SIDE,
    Cause,
    Deed,
    ErrorOf,
    NoteState,
    PassageState,
    Reach,
    Refused,
    Response,
    Role,
    Sight,
    StageKind,
    Verdict,
    Weighing,
)
from reviews.rules.strokes import box_around, checked_strokes

#: The region of a note that marks no place.
WHOLE = {"kind": "box", "points": [[0.0, 0.0], [1.0, 1.0]]}


def pin_note(
    passage_id: int,
    picture_id: int,
    *,
    region: Any,
    words: str,
    cause: str,
    error: str = "",
    brief_line: tuple[int, int] | None = None,
    strokes: Any = None,
    reach: str = Reach.PLACE,
    pages: str = "",
    actor: Seat,
) -> Note:
    """Pin a note to a region of a picture of the passage's newest hand-in.

    Seen by the publisher's side only, until a letter lets it through. "The brief was not met" names the version of the
    brief and the line in it that it means (``brief_line``). ``strokes`` drawn over the art are its place. A note whose
    ``reach`` is the whole spread or book marks no place; one on the book goes out with the answer to a spread it is
    about (``book_notes.take_along``), and may be about some ``pages`` only.
    """
    if reach not in set(Reach):
        raise Refused("note-reach")
    with deed_on(Passage, passage_id, Deed.PIN_NOTE, actor) as act:
        passage = act.passage(passage_id)
        picture = Picture.objects.filter(pk=picture_id, hand_in=passage.hand_in, removed_at=None).first()
        if picture is None:
            raise Refused("not-its-picture")
        note = Note.objects.create(
            passage=passage,
            picture=picture,
            author=act.by,
            **(_place(region, strokes) if reach == Reach.PLACE else {"region": WHOLE}),
            reach=reach,
            concerns=_spreads_meant(pages, act) if reach == Reach.BOOK else [],
            words=_checked_words(words),
            cause=_checked_cause(cause, passage),
            error=_checked_error(error, cause, passage),
            **_missed(cause, brief_line, passage),
            state=NoteState.UNSENT,
            weighing=Weighing.THROUGH,
            made_at=act.now,
        )
        payload = PinNoteData(where=passage.where, note=note.pk, picture=picture.pk)
        act.holds(note, *_taken_along(note, act))
        act.record(payload, passage=passage, sight=Sight.PUBLISHER)
    return note


def edit_note(
    note_id: int,
    *,
    words: str,
    cause: str,
    region: Any = None,
    strokes: Any = None,
    brief_line: tuple[int, int] | None = None,
    error: str = "",
    seen: str = "",
    actor: Seat,
) -> Note:
    """Change one's own note while it is unsent; ``region`` None leaves the mark and its drawing.

    ``seen`` is the mark of the note that was on the screen: what another tab changed since is not written over unseen.
    """
    with deed_on(Note, note_id, Deed.EDIT_NOTE, actor) as act:
        note = _own_unsent(note_id, act)
        if seen and seen != note.seen_own:
            raise Refused("note-changed", said=note.words, seen=note.seen_own)
        passage = act.passage(note.passage_id)
        note.words = _checked_words(words)
        note.cause = _checked_cause(cause, passage)
        note.error = _checked_error(error, cause, passage)
        missed = _missed(cause, brief_line, passage)
        note.brief_id, note.brief_line = missed["brief_id"], missed["brief_line"]
        if region is not None and note.reach == Reach.PLACE:
            place = _place(region, strokes)
            note.region, note.strokes = place["region"], place["strokes"]
        note.save(update_fields=["words", "cause", "error", "region", "strokes", "brief", "brief_line"])
        _record(note, act)
    return note


def withdraw_note(note_id: int, *, actor: Seat) -> None:
    """Withdraw one's own note while it is unsent."""
    with deed_on(Note, note_id, Deed.WITHDRAW_NOTE, actor) as act:
        note = _own_unsent(note_id, act)
        note.state = NoteState.WITHDRAWN
        note.save(update_fields=["state"])
        _record(note, act)


def restore_note(note_id: int, *, actor: Seat) -> None:
    """Undo a withdrawal of one's own note."""
    with deed_on(Note, note_id, Deed.RESTORE_NOTE, actor) as act:
        note = Note.objects.get(pk=note_id)
        if note.author_id != act.by.pk:
            raise Refused("not-your-note")
        if note.state != NoteState.WITHDRAWN:
            raise Refused("note-is-sent")
        note.state = NoteState.UNSENT
        note.save(update_fields=["state"])
        _record(note, act)


def look_over(passage_id: int, *, actor: Seat) -> None:
    """Say that one looked at the newest hand-in and has nothing to note; a second time changes nothing."""
    with deed_on(Passage, passage_id, Deed.LOOK_OVER, actor) as act:
        passage = act.passage(passage_id)
        if passage.hand_in is None:
            raise Refused("nothing-to-look-over")
        look, is_new = Look.objects.get_or_create(hand_in=passage.hand_in, seat=act.by, defaults={"at": act.now})
        if not is_new:
            act.void()
            return
        act.holds(look)
        payload = LookOverData(where=passage.where, hand_in=passage.hand_in.given_number)
        act.record(payload, passage=passage, sight=Sight.PUBLISHER)


def reply(note_id: int, words: str, *, actor: Seat) -> Reply:
    """Reply under a note. Before the letter the publisher's side reads it; afterwards both sides do."""
    if not words.strip():
        raise Refused("reply-needs-words")
    with deed_on(Note, note_id, Deed.REPLY, actor) as act:
        note = Note.objects.get(pk=note_id)
        is_sent = note.state == NoteState.SENT
        if not is_sent and Role(act.by.role) not in PUBLISHER_SIDE:
            raise Refused("not-yours")
        if note.state == NoteState.WITHDRAWN:
            raise Refused("note-is-gone")
        sight = Sight.ALL if is_sent else Sight.PUBLISHER
        written = Reply.objects.create(note=note, author=act.by, words=words.strip(), sight=sight, at=act.now)
        passage = act.passage(note.passage_id, is_gone=note.reach == Reach.BOOK)
        act.holds(written)
        act.record(ReplyData(where=passage.where, note=note.pk, reply=written.pk), passage=passage, sight=sight)
    return written


def mark_option(picture_id: int, *, verdict: str, why: str = "", actor: Seat) -> OptionMark:
    """Mark one idea option "this" or "not this"; marking again changes one's mark."""
    if verdict not in set(Verdict):
        raise Refused("not-an-idea")
    with deed_on(Picture, picture_id, Deed.MARK_OPTION, actor) as act:
        picture, passage = _option(picture_id, act)
        mark, _ = OptionMark.objects.update_or_create(
            picture=picture,
            seat=act.by,
            defaults={"verdict": verdict, "why": why.strip()[:400], "at": act.now},
        )
        act.holds(mark)
        act.record(
            MarkOptionData(where=passage.where, picture=picture.pk, option=picture.position, verdict=verdict),
            passage=passage,
            sight=Sight.PUBLISHER,
        )
    return mark


def unmark_option(picture_id: int, *, actor: Seat) -> None:
    """Take one's own mark on an option back; that it was there stays told in the ledger."""
    with deed_on(Picture, picture_id, Deed.UNMARK_OPTION, actor) as act:
        picture, passage = _option(picture_id, act)
        mark = OptionMark.objects.filter(picture=picture, seat=act.by).first()
        if mark is None:
            raise Refused("mark-gone")
        act.holds(mark)
        OptionMark.objects.filter(pk=mark.pk).delete()
        told = UnmarkOptionData(where=passage.where, picture=picture.pk, option=picture.position)
        act.record(told, passage=passage, sight=Sight.PUBLISHER)


def _option(picture_id: int, act: Act) -> tuple[Picture, Passage]:
    """Find an option that can be marked now: an idea of the newest hand-in."""
    picture = Picture.objects.select_related("hand_in").get(pk=picture_id)
    passage = act.passage(picture.hand_in.passage_id)
    if passage.stage.kind != StageKind.IDEAS:
        raise Refused("not-an-idea")
    if picture.hand_in_id != passage.hand_in_id or picture.removed_at:
        raise Refused("not-its-picture")
    return picture, passage


def answer_note(note_id: int, *, response: str, words: str = "", actor: Seat) -> Note:
    """Answer one note of a letter: done, not done and why, or a question back."""
    if response not in set(Response):
        raise Refused("response-needs-words")
    if response != Response.DONE and not words.strip():
        raise Refused("response-needs-words")
    with deed_on(Note, note_id, Deed.ANSWER_NOTE, actor) as act:
        note = Note.objects.select_related("letter", "picture__hand_in__by").get(pk=note_id)
        if note.state != NoteState.SENT:
            raise Refused("no-answer-yet")
        check_answers(Role(act.by.role), made_by=Role(note.picture.hand_in.by.role))
        if not Cause(note.cause).asks:
            raise Refused("praise-asks-nothing")
        number, of_letter = note.cited
        note.response, note.response_words, note.responded_at = response, words.strip(), act.now
        note.save(update_fields=["response", "response_words", "responded_at"])
        # A note on the whole book is answered though the spread on which it was written is dropped.
        passage = act.passage(note.passage_id, is_gone=note.reach == Reach.BOOK)
        act.holds(note)
        act.record(
            AnswerNoteData(
                where=passage.where,
                note=note.pk,
                number=number,
                of_letter=of_letter,
                response=response,
            ),
            passage=passage,
        )
    return note


def _record(note: Note, act: Act) -> None:
    """Write down a deed about one unsent note: the publisher's own affair."""
    passage = act.passage(note.passage_id)
    act.holds(note, *_taken_along(note, act))
    act.record(NoteData(where=passage.where, note=note.pk), passage=passage, sight=Sight.PUBLISHER)


def _place(region: Any, strokes: Any) -> dict[str, Any]:
    """Read where a note is: what was drawn, with the box around it, or else the marked place."""
    if strokes:
        drawn = checked_strokes(strokes)
        return {"strokes": drawn, "region": _checked_region(box_around(drawn))}
    return {"strokes": [], "region": _checked_region(region)}


def _taken_along(note: Note, act: Act) -> list[Note]:
    """Let a note on the book go with the letter being written, where that answers a spread it is about."""
    return take_along(draft_letter(act.book)) if note.reach == Reach.BOOK else []


def _checked_region(region: Any) -> dict[str, Any]:
    try:
        return region_to_json(region_from_json(region))
    except ValueError as problem:
        raise Refused("bad-region") from problem


def _checked_words(words: str) -> str:
    if not words.strip():
        raise Refused("note-needs-words")
    return words.strip()


def _checked_cause(cause: str, passage: Passage) -> str:
    if cause not in set(Cause):
        raise Refused("bad-cause")
    # What was approved met its brief; a later change to it is somebody's new wish.
    if passage.state == PassageState.APPROVED and cause == Cause.BRIEF:
        raise Refused("brief-after-approval")
    if cause == Cause.PRINTER and passage.stage.kind not in PRINTERS_STAGES:
        raise Refused("printer-at-proof")
    return cause


def _checked_error(error: str, cause: str, passage: Passage) -> str:
    """Say whose error a mark on a proof is: what was told, or what its cause says where nothing was."""
    if passage.stage.kind not in PRINTERS_STAGES or Cause(cause) not in ERROR_BY_CAUSE:
        return ""
    if not error:
        return ERROR_BY_CAUSE[Cause(cause)].value
    if error not in set(ErrorOf):
        raise Refused("bad-error")
    # The printer's error is outside the rounds by its cause: the two must not say different things.
    if (error == ErrorOf.PRINTER) != (cause == Cause.PRINTER):
        raise Refused("error-and-cause")
    return error


def _spreads_meant(pages: str, act: Act) -> list[int]:
    """Find the spreads that a note on the book names by their pages; no pages are the whole book."""
    if not pages.strip():
        return []
    meant = pages_named(pages)
    if meant is None:
        raise Refused("note-pages")
    rows = Spread.objects.filter(book=act.book, removed_at=None).order_by("position")
    found = [
        row.pk
        for row in rows
        if (row.kind == PieceKind.COVER and meant.cover)
        or any(row.first_page and row.first_page <= page <= (row.last_page or 0) for page in meant.pages)
    ]
    if not found or (meant.pages and max(meant.pages) > act.book.n_pages):
        raise Refused("note-pages")
    return found


def _missed(cause: str, named: tuple[int, int] | None, passage: Passage) -> dict[str, int | None]:
    """Find the line of the brief that a note says was not met; other causes name none.

    Only what stood in the brief when the picture was handed in can have been missed.
    """
    if cause != Cause.BRIEF:
        return {"brief_id": None, "brief_line": None}
    handed_in_at = passage.hand_in.handed_in_at if passage.hand_in else None
    versions = briefs_concerning(passage)
    stood = {brief.pk: brief for brief in stood_at(versions, handed_in_at)} if handed_in_at else {}
    if not stood:
        raise Refused("no-brief")
    if named is None:
        raise Refused("brief-line-needed")
    brief_id, number = named
    if brief_id not in stood:
        raise Refused("brief-line-later" if any(one.pk == brief_id for one in versions) else "brief-line-needed")
    if not any(line.number == number and line.may_be_missed for line in stood[brief_id].lines):
        raise Refused("brief-line-needed")
    return {"brief_id": brief_id, "brief_line": number}


def _own_unsent(note_id: int, act: Act) -> Note:
    note = Note.objects.get(pk=note_id, passage__book=act.book)
    if note.author_id != act.by.pk:
        raise Refused("not-your-note")
    if note.state == NoteState.WITHDRAWN:
        raise Refused("note-is-gone")
    if note.state != NoteState.UNSENT:
        raise Refused("note-is-sent")
    return note
