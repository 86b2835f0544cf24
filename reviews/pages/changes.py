"""What changed up to a hand-in, and where earlier notes are on it, as the review table shows them."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from django.urls import reverse

from reviews.geometry import page_map
from reviews.models import CarriedNote, Comparison, HandIn, Passage, Picture, Seat
from reviews.pages.changed_places import changed_places
from reviews.pages.wording.names import response_words
from reviews.pages.wording.notes import note_key, note_name
from reviews.queries.comparisons import (
    approved_before,
    carried_onto,
    is_done_but_untouched,
    is_plate,
    may_see_picture,
    others_named,
)
from reviews.queries.frames import frame_of
from reviews.queries.trouble import comparing_trouble
from reviews.rules import permits
from reviews.rules.letters import note_mark
from reviews.rules.states import Deed, Role

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
        "trouble": _trouble(passage) if any(not pair["is_told"] for pair in comparisons) else None,
    }


def _trouble(passage: Passage) -> dict[str, Any] | None:
    found = comparing_trouble(passage)
    return asdict(found) if found else None


def comparisons_of(passage: Passage, pictures: list[Picture], seat: Seat) -> list[dict[str, Any]]:
    """List what a hand-in's one picture was compared with, for the table (2 queries; 3 for a plate)."""
    if len(pictures) != 1 or seat.role == Role.GUEST:
        return []
    after = pictures[0]
    # What an older method told stays readable; the newest row of a pair is the one that counts.
    rows = {row.sha256_a: row for row in Comparison.objects.filter(sha256_b=after.sha256).order_by("pk")}
    named = others_named(rows, passage, seat) if rows else {}
    pairs = [_compared(rows[sha256], other, after, passage) for sha256, other in named.items()]
    art = approved_before(passage) if is_plate(passage) else None
    if art is not None and may_see_picture(art, seat):
        pairs.append(_laid_only(art, after, passage))
    return pairs


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
        "response": response_words(note.response),
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
