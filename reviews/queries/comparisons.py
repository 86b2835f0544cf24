"""What changed between versions, ready for the review table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django.urls import reverse

from reviews.geometry import page_map
from reviews.models import CarriedNote, Comparison, HandIn, Note, Passage, Picture, Seat
from reviews.queries.changed_places import changed_places
from reviews.queries.frames import frame_of
from reviews.rules import permits
from reviews.rules.letters import note_key, note_mark, note_name
from reviews.rules.states import Deed, Gate, HandInState, NoteState, Response, Role, StageKind

# Raised when the computation says something else of the same pictures; the worker's own method string stands
# in what it told. Kept here because a request must not load the engine to learn its name.
COMPARE_METHOD = "changes-4"
PLATE_WORDS = "A plate shows only what is foiled or varnished, so it is not compared with the art."
LAY_WORDS = "Lay the art over it to see where the finish falls."
BESIDE_WORDS = "The two are not known to show the same pages at one size, so the art can only be laid beside it."


def changes_seen(passage: Passage, shown: HandIn | None, seat: Seat) -> dict[str, Any]:
    """Gather what changed up to a hand-in, and where earlier notes are on it (4 queries)."""
    pictures = list(shown.pictures.filter(removed_at=None)) if shown else []
    comparisons = comparisons_of(passage, pictures, seat)
    carried = carried_onto(pictures, seat)
    words = [carried_words(one, seat) | _by_the_other_reading(one, comparisons) for one in carried]
    for pair in comparisons:
        # The same two files may lie in several books: what was told of their notes goes out by the notes alone.
        pair["told"] = pair["told"] and {key: told for key, told in pair["told"].items() if key != "other_notes"}
    return {
        "comparisons": comparisons,
        "rates": next((pair["told"]["rates"] for pair in comparisons if pair["told"] and "rates" in pair["told"]), ""),
        "carried": words,
        "key": next((note_key(one.note.number, one.note.letter.number) for one in carried), ""),
        "is_several": len(pictures) > 1,
        "may_place": permits.may(Role(seat.role), Deed.PLACE_NOTE),
    }


def forerunners(passage: Passage, handed: HandIn) -> list[Picture]:
    """Find what a hand-in is compared with: the version before it, and the approved picture before this stage.

    A plate is compared with the plate before it only: against the art, everything it leaves out would read as gone.
    """
    found = []
    before = (
        passage.hand_ins.filter(state=HandInState.HANDED_IN, number__lt=handed.number or 0).order_by("-number").first()
    )
    if before is not None:
        pictures = list(before.pictures.filter(removed_at=None))
        marked = [picture for picture in pictures if picture.notes.filter(state=NoteState.SENT).exists()]
        found += pictures if len(pictures) == 1 else marked[:1]
    approved = None if is_plate(passage) else approved_before(passage)
    if approved is not None:
        found.append(approved)
    return found


def is_plate(passage: Passage) -> bool:
    """Say whether what is handed in here is the plate of a special finish; needs stage joined."""
    return passage.stage.kind == StageKind.FINISH


def approved_before(passage: Passage) -> Picture | None:
    """Find the newest approved picture of an earlier stage of the same spread (1 query)."""
    row = (
        Passage.objects.select_related("approved_picture__hand_in__passage__stage", "stage")
        .filter(
            spread_id=passage.spread_id,
            stage__position__lt=passage.stage.position,
            approved_picture__isnull=False,
            stage__kind__in=["sketch", "full_sketch", "line", "ink", "flats", "colour"],
        )
        .order_by("-stage__position")
        .first()
    )
    return row.approved_picture if row else None


def print_width_um(picture: Picture, passage: Passage) -> int | None:
    """Give the width at which a picture is printed; None while its size is unknown. Needs book and spread joined."""
    frame = frame_of(picture, passage)
    return round(frame.width_mm * 1000) if frame else None


def comparisons_of(passage: Passage, pictures: list[Picture], seat: Seat) -> list[dict[str, Any]]:
    """List what a hand-in's one picture was compared with, for the table (2 queries; 3 for a plate)."""
    if len(pictures) != 1 or seat.role == Role.GUEST:
        return []
    after = pictures[0]
    # What an older method told stays readable; the newest row of a pair is the one that counts.
    rows = {row.sha256_a: row for row in Comparison.objects.filter(sha256_b=after.sha256).order_by("pk")}
    named = _named(rows, passage, seat) if rows else {}
    pairs = [_compared(rows[sha256], other, after, passage) for sha256, other in named.items()]
    art = approved_before(passage) if is_plate(passage) else None
    if art is not None and _may_see(art, seat):
        pairs.append(_laid_only(art, after, passage))
    return pairs


def _named(rows: Mapping[str, Comparison], passage: Passage, seat: Seat) -> dict[str, Picture]:
    """Find whose pictures these were, by their fingerprints (1 query)."""
    others = (
        Picture.objects.select_related("hand_in__passage__stage")
        .filter(sha256__in=list(rows), hand_in__passage__spread_id=passage.spread_id, removed_at=None)
        .exclude(hand_in__state=HandInState.DRAFT)
        .order_by("-hand_in__passage__stage__position", "-hand_in__number")
    )
    if is_plate(passage):
        others = others.filter(hand_in__passage=passage)
    # One file handed in twice, as an idea and as a sketch say, would show the same places twice: the newest names it.
    named: dict[str, Picture] = {}
    for other in others:
        if _may_see(other, seat):
            named.setdefault(other.sha256, other)
    return named


def _may_see(picture: Picture, seat: Seat) -> bool:
    hidden = picture.hand_in.passage.stage.gate == Gate.HIDDEN
    return permits.sees(Role(seat.role), "pictures") and (not hidden or seat.role == Role.ILLUSTRATOR)


def _compared(row: Comparison, before: Picture, after: Picture, passage: Passage) -> dict[str, Any]:
    return {
        **_pair(before, after, passage),
        "id": row.pk,
        "is_told": row.told is not None,
        "told": row.told,
        "places": changed_places(row.told, before, after),
        "other_places": changed_places(row.told, before, after, reading=1),
    }


def _laid_only(art: Picture, plate: Picture, passage: Passage) -> dict[str, Any]:
    """Offer the art to lay over its plate by the page's edges, as the press will: nothing was compared.

    Laid by what is drawn, a plate that sits askew on its page would be put straight, and the fault hidden.
    """
    frames = [frame_of(picture, passage) for picture in (art, plate)]
    laying = page_map(*frames) if all(frames) else None
    told = {
        "state": "by-page" if laying else "not-aligned",
        "maps": [asdict(laying)] if laying else [],
        "sentences": [PLATE_WORDS, LAY_WORDS if laying else BESIDE_WORDS],
    }
    nothing = {"places": [], "other_places": []}
    return {**_pair(art, plate, passage), "id": 0, "is_told": True, "told": told, "is_plate": True, **nothing}


def _pair(before: Picture, after: Picture, passage: Passage) -> dict[str, Any]:
    stage = before.hand_in.passage.stage
    is_same_stage = before.hand_in.passage_id == passage.pk
    factors = before.facts.get("scale_factors")
    name = f"hand-in {before.hand_in.number}" if is_same_stage else f"the approved {stage.name.lower()}"
    return {
        "name": name,
        "after": after.pk,
        "before": {
            "id": before.pk,
            "width_px": before.width_px,
            "height_px": before.height_px,
            "preview_url": reverse("reviews:picture-preview", args=[before.pk]),
            "tiles_url": reverse("reviews:picture-tile", args=[before.pk, "_"])[:-1] if factors else None,
            "scale_factors": factors or [],
            "passage_url": reverse("reviews:passage", args=[before.hand_in.passage_id])
            + f"?hand_in={before.hand_in.number}",
        },
    }


def carried_onto(pictures: list[Picture], seat: Seat) -> list[CarriedNote]:
    """List the notes of earlier versions as they lie on these pictures (1 query)."""
    if seat.role == Role.GUEST or len(pictures) != 1:
        return []
    return list(
        CarriedNote.objects.select_related("note__letter", "note__author__person")
        .filter(picture__in=[picture.pk for picture in pictures], note__state=NoteState.SENT)
        .order_by("note__letter__number", "note__number")
    )


def carried_words(carried: CarriedNote, seat: Seat) -> dict[str, Any]:
    """Describe one carried note for the table; only sent notes are carried, so each has its letter."""
    note = carried.note
    is_house = permits.sees(Role(seat.role), "unsent-notes")
    return {
        "id": note.pk,
        "mark": note_mark(note.number, note.letter.number),
        "name": note_name(note.number, note.letter.number),
        "picture": carried.picture_id,
        "region": carried.place,
        "by_page": carried.by_page,
        "state": carried.state,
        "verdict": carried.verdict,
        "is_by_hand": carried.corrected is not None,
        "words": note.said,
        "evidence": evidence_words(carried),
        "sign": evidence_sign(carried),
        "response": note.response_label,
        "response_words": note.response_words,
        # Only the house is shown where "done" and the picture differ: evidence to look at, no accusation.
        "asks_for_a_look": is_house and is_done_but_untouched(carried),
        "place_url": reverse("reviews:place-note", args=[note.pk]),
    }


def _by_the_other_reading(carried: CarriedNote, comparisons: list[dict[str, Any]]) -> dict[str, Any]:
    """Say where the note is if the second of two readings is right; nothing where a person has shown it."""
    told = next((pair["told"] for pair in comparisons if pair["id"] == carried.comparison_id), None) or {}
    seen = told.get("other_notes", {}).get(str(carried.note_id))
    if not seen or carried.corrected:
        return {"other": None}
    other = CarriedNote(note=carried.note, **seen)
    places = {"region": seen["region"], "by_page": seen["by_page"], "state": seen["state"]}
    return {"other": {**places, "evidence": evidence_words(other), "sign": evidence_sign(other)}}


def evidence_words(carried: CarriedNote) -> str:
    """Say what was seen where a note points: evidence, never an accusation."""
    if carried.corrected:
        return "Its place here was shown by hand."
    if carried.state == "cannot-tell":
        return "Cannot tell where this is now, or whether it changed."
    seen = {
        "touched": "A change was found here.",
        "untouched": "No change was found here.",
    }.get(carried.verdict, "Cannot tell whether this changed.")
    return ("It moved to here. " if carried.state == "followed" else "") + seen


def evidence_sign(carried: CarriedNote) -> str:
    """Sum up the same in one sign: ≠ a change was found, = none was, ? cannot tell; none where a person placed it."""
    if carried.corrected:
        return ""
    return {"touched": "≠", "untouched": "="}.get(carried.verdict if carried.state != "cannot-tell" else "", "?")


def is_done_but_untouched(carried: CarriedNote) -> bool:
    """Say whether a note was answered "done" while nothing is seen to have changed: the art director looks."""
    is_seen_untouched = carried.verdict == "untouched" and carried.state != "cannot-tell"
    return carried.note.response == Response.DONE and is_seen_untouched and not carried.corrected


def notes_to_carry(sha256_before: str, after: Picture) -> list[Note]:
    """List the sent notes on the version before that are to be found again on the new one (1 query)."""
    return list(
        Note.objects.filter(
            picture__sha256=sha256_before, passage_id=after.hand_in.passage_id, state=NoteState.SENT
        ).order_by("number")
    )
