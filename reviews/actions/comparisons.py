"""What changed: asked for when something is handed in, kept when the worker has made it, corrected by hand."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from reviews import jobs
from reviews.actions._deed import Act, deed_on
from reviews.actions.clock import moment
from reviews.geometry import region_from_json, region_to_json
from reviews.models import CarriedNote, Comparison, HandIn, Note, Passage, Picture, Seat
from reviews.queries.comparisons import COMPARE_METHOD, MOST_OPTIONS, forerunners, print_width_um
from reviews.rules.letter_payloads import PlaceNoteData
from reviews.rules.states import Deed, HandInState, NoteState, PictureState, Refused


def ask_for_comparisons(passage: Passage, handed: HandIn, act: Act) -> None:
    """Ask the worker to compare a new hand-in with what came before it. Part of handing in.

    One picture is compared with the version before it and with the approved picture of the stage before;
    several options are looked at side by side, which no computation has to help.
    """
    pictures = list(handed.pictures.filter(removed_at=None))
    if len(pictures) != 1:
        return
    for before in forerunners(passage, handed):
        ask_for_comparison(before, pictures[0], passage)


def compare_draft(draft: HandIn, passage: Passage) -> None:
    """Ask for the comparisons of a draft, so that its illustrator sees what the publisher would.

    Part of every deed that may leave a draft with a picture that is read. Of several options each is held against what
    came last, for its maker's own eyes. Nobody else is told: a draft is nobody else's affair, and what is kept hangs
    on its pictures.
    """
    if draft.state != HandInState.DRAFT:
        return
    pictures = list(draft.pictures.filter(removed_at=None))
    befores = forerunners(passage, draft)
    if len(pictures) > 1:
        befores, pictures = befores[:1], pictures[:MOST_OPTIONS]
    for picture in pictures:
        if picture.state == PictureState.READY:
            for before in befores:
                ask_for_comparison(before, picture, passage)


def ask_for_comparison(before: Picture, after: Picture, passage: Passage) -> Comparison | None:
    """Ask for one pair; a pair that was compared before, at this width by this method, is not done again."""
    width_um = print_width_um(before, passage)
    if width_um is None or before.sha256 == after.sha256:
        return None
    comparison, _ = Comparison.objects.get_or_create(
        sha256_a=before.sha256, sha256_b=after.sha256, width_um=width_um, method=COMPARE_METHOD
    )
    # The notes of the version before ride along, so the job's name holds both pictures.
    jobs.enqueue(jobs.COMPARE, comparison.pk, key=f"compare:{comparison.pk}:{before.pk}:{after.pk}")
    return comparison


def keep_comparison(comparison_id: int, result: dict[str, Any], carried: list[dict[str, Any]]) -> None:
    """Keep what the worker found. No deed of anyone's: the same pictures always give the same.

    ``carried``: {note, picture, state, region, by_page, verdict, score}. A note placed by hand keeps its place.
    The same pair asked for again brings other notes along, so where they lie by the second reading is added.
    """
    with transaction.atomic():
        row = Comparison.objects.select_for_update().get(pk=comparison_id)
        if row.result is None:
            row.result, row.made_at = result, moment()
        elif result.get("other_notes"):
            row.result["other_notes"] = row.result.get("other_notes", {}) | result["other_notes"]
        row.save(update_fields=["result", "made_at"])
        # Together: a table that finds the comparison made asks no more, so its notes must be there.
        for one in carried:
            fields = {key: one[key] for key in ("state", "region", "by_page", "verdict", "score")}
            CarriedNote.objects.update_or_create(
                note_id=one["note"], picture_id=one["picture"], defaults={**fields, "comparison_id": comparison_id}
            )


def place_note(note_id: int, picture_id: int, region: Any, *, actor: Seat) -> CarriedNote:
    """Correct by hand where a note's subject is on a later picture; the correction is kept until it is put back."""
    with deed_on(Note, note_id, Deed.PLACE_NOTE, actor) as act:
        carried = _carried(note_id, picture_id)
        if carried is None or carried.note.state != NoteState.SENT:
            raise Refused("no-answer-yet")
        try:
            carried.corrected = region_to_json(region_from_json(region))
        except ValueError as problem:
            raise Refused("bad-region") from problem
        carried.corrected_by = act.by
        carried.save(update_fields=["corrected", "corrected_by"])
        passage = act.passage(carried.note.passage_id)
        act.holds(carried)
        act.record(_placed(carried, passage), passage=passage)
    return carried


def put_back_note(note_id: int, picture_id: int, *, actor: Seat) -> CarriedNote:
    """Take a correction by hand away again: the note stands where its subject was found."""
    with deed_on(Note, note_id, Deed.PLACE_NOTE, actor) as act:
        carried = _carried(note_id, picture_id)
        if carried is None or carried.corrected is None:
            raise Refused("not-placed-by-hand")
        carried.corrected = carried.corrected_by = None
        carried.save(update_fields=["corrected", "corrected_by"])
        passage = act.passage(carried.note.passage_id)
        payload = _placed(carried, passage)
        payload["is_put_back"] = True
        act.holds(carried)
        act.record(payload, passage=passage)
    return carried


def _carried(note_id: int, picture_id: int) -> CarriedNote | None:
    rows = CarriedNote.objects.select_related("note__letter")
    # A draft has its notes found too, for its illustrator; nobody may learn of it by trying numbers.
    handed = rows.filter(picture__hand_in__state=HandInState.HANDED_IN)
    return handed.filter(note_id=note_id, picture_id=picture_id).first()


def _placed(carried: CarriedNote, passage: Passage) -> PlaceNoteData:
    note = carried.note
    number, of_letter = note.cited
    return PlaceNoteData(
        where=passage.where,
        note=note.pk,
        picture=carried.picture_id,
        number=number,
        of_letter=of_letter,
    )
