"""Notes on the review table: pinned, changed, withdrawn, replied to; options marked."""

from __future__ import annotations

from django.http import HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from reviews.actions import comparisons, notes
from reviews.forms.filled import filled_in
from reviews.forms.notes import MarkForm, NoteForm, PlaceForm, ReplyForm
from reviews.pages.wording.notes import note_name
from reviews.queries.access import NotThere, get_note, get_passage, get_picture
from reviews.rules.briefs import missed_line
from reviews.rules.states import ADVISERS, Deed, Reach, Role
from reviews.views.responses import done
from reviews.views.signed_in import SignedInRequest


@require_POST
def pin_note(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.PIN_NOTE)
    given = filled_in(NoteForm(request.POST), "bad-region")
    note = notes.pin_note(
        passage.pk,
        given["picture"] or 0,
        region=given["region"],
        strokes=given["strokes"],
        words=given["words"],
        cause=given["cause"],
        error=given["error"],
        brief_line=missed_line(given["brief_line"]),
        reach=given["reach"] or Reach.PLACE,
        pages=given["pages"],
        actor=seat,
    )
    said = "Your note is in the letter. Nobody outside the house sees it yet."
    if Role(seat.role) in ADVISERS:
        said = "Your note is with the art director, who decides what goes into the letter."
    return done(request, said, note={"id": note.pk})


@require_POST
def edit_note(request: SignedInRequest, note_id: int) -> HttpResponse:
    note, seat = get_note(request.user, note_id, deed=Deed.EDIT_NOTE)
    given = filled_in(NoteForm(request.POST), "bad-region")
    notes.edit_note(
        note.pk,
        words=given["words"],
        cause=given["cause"],
        error=given["error"],
        region=given["region"],
        strokes=given["strokes"],
        brief_line=missed_line(given["brief_line"]),
        seen=given["seen"],
        actor=seat,
    )
    return done(request, "Your note is changed.", note={"id": note.pk})


@require_POST
def withdraw_note(request: SignedInRequest, note_id: int) -> HttpResponse:
    note, seat = get_note(request.user, note_id, deed=Deed.WITHDRAW_NOTE)
    notes.withdraw_note(note.pk, actor=seat)
    undo = reverse("reviews:restore-note", args=[note.pk])
    return done(request, "Your note is withdrawn.", undo=undo, undo_url=undo)


@require_POST
def restore_note(request: SignedInRequest, note_id: int) -> HttpResponse:
    note, seat = get_note(request.user, note_id, deed=Deed.RESTORE_NOTE)
    notes.restore_note(note.pk, actor=seat)
    return done(request, "Your note is back.")


@require_POST
def look_over(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.LOOK_OVER)
    notes.look_over(passage.pk, actor=seat)
    return done(request, _("Noted: you looked at {where} and have nothing to add.").format(where=passage.where))


@require_POST
def reply(request: SignedInRequest, note_id: int) -> HttpResponse:
    note, seat = get_note(request.user, note_id, deed=Deed.REPLY)
    given = filled_in(ReplyForm(request.POST), "reply-needs-words")
    notes.reply(note.pk, given["words"], actor=seat)
    return done(request, "Your reply is saved.")


@require_POST
def mark_option(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, _seat = get_passage(request.user, passage_id, deed=Deed.MARK_OPTION)
    given = filled_in(MarkForm(request.POST), "not-an-idea")
    picture, seat = get_picture(request.user, given["picture"], deed=Deed.MARK_OPTION)
    if picture.hand_in.passage_id != passage.pk:
        raise NotThere
    if given["verdict"] == "none":
        notes.unmark_option(picture.pk, actor=seat)
        return done(request, f"Your mark on option {picture.position} is taken back.")
    notes.mark_option(picture.pk, verdict=given["verdict"], why=given["why"], actor=seat)
    return done(request, f"Your mark on option {picture.position} is kept.")


@require_POST
def place_note(request: SignedInRequest, note_id: int) -> HttpResponse:
    """Keep a person's own placing of a note on a later picture, or take it away again."""
    note, seat = get_note(request.user, note_id, deed=Deed.PLACE_NOTE)
    given = filled_in(PlaceForm(request.POST), "not-its-picture")
    # Only a sent note lies on a later picture; before that the deed itself refuses, so this name is not shown.
    name = note_name(note.number, note.letter.number if note.letter else None).capitalize()
    picture, _seat = get_picture(request.user, given["picture"], deed=Deed.PLACE_NOTE)
    if given["put_back"]:
        comparisons.put_back_note(note.pk, picture.pk, actor=seat)
        return done(request, f"{name} is back where it was found.")
    comparisons.place_note(note.pk, picture.pk, given["region"], actor=seat)
    return done(request, f"{name} is shown there from now on.")
