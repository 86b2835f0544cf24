"""What changed up to a hand-in, and where earlier notes are on it, as the review table shows them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any, TypedDict

from django.urls import reverse
from django.utils.translation import gettext

from reviews.geometry import page_map
from reviews.models import CarriedNote, Comparison, HandIn, Passage, Picture, Seat
from reviews.pages.beyond import UnsharedPart, unshared_parts
from reviews.pages.changed_places import ChangedPlace, changed_places
from reviews.pages.trouble import ShownTrouble, shown_trouble
from reviews.pages.wording.changes import evidence_sign, evidence_words, remark_sentence
from reviews.pages.wording.names import response_words
from reviews.pages.wording.notes import note_key, note_name
from reviews.queries.access import may_see_picture
from reviews.queries.comparisons import (
    approved_before,
    carried_onto,
    is_done_but_untouched,
    is_plate,
    others_named,
)
from reviews.queries.frames import frame_of
from reviews.queries.trouble import comparing_trouble, draft_trouble
from reviews.rules import permits
from reviews.rules.letters import note_mark
from reviews.rules.states import Deed, HandInState, Role, in_a_sentence


class ShownRemark(TypedDict):
    """One thing to know of a comparison: scripts go by its code, people read its words."""

    code: str
    words: str


class ShownResult(TypedDict):
    """What a comparison found, as far as the table needs it; ``maps`` carry fractions of the earlier picture over."""

    state: str
    maps: list[dict[str, float]]
    remarks: list[ShownRemark]


class EarlierPicture(TypedDict):
    """The picture that a hand-in was compared with."""

    id: int
    width_px: int | None
    height_px: int | None
    preview_url: str
    tiles_url: str | None
    scale_factors: list[int]
    passage_url: str


class ComparedPair(TypedDict):
    """Two pictures beside each other; ``result`` is None while they are still being compared."""

    id: int
    name: str
    after: int
    before: EarlierPicture
    is_compared: bool
    is_newest: bool
    is_plate: bool
    result: ShownResult | None
    places: list[ChangedPlace]
    other_places: list[ChangedPlace]
    unsure_places: list[ChangedPlace]
    unshared: list[UnsharedPart]


class OtherReading(TypedDict):
    """Where a note is if the second of two readings is right."""

    region: dict[str, Any]
    by_page: dict[str, Any]
    state: str
    evidence: str
    sign: str


class ShownNote(TypedDict):
    """A sent note of an earlier version, shown where its subject is now."""

    id: int
    mark: str
    name: str
    picture: int
    region: dict[str, Any]
    by_page: dict[str, Any]
    state: str
    verdict: str
    is_by_hand: bool
    words: str
    evidence: str
    sign: str
    response: str
    response_words: str
    asks_for_a_look: bool
    place_url: str
    other: OtherReading | None


class ChangesSeen(TypedDict):
    """The whole answer that the table's script asks for, and what the page without a script shows."""

    comparisons: list[ComparedPair]
    rates: str
    carried: list[ShownNote]
    key: str
    is_several: bool
    may_place: bool
    trouble: ShownTrouble | None


def changes_seen(passage: Passage, shown: HandIn | None, seat: Seat) -> ChangesSeen:
    """Gather what changed up to a hand-in, and where earlier notes are on it (4 queries).

    ``shown`` may be the draft of the seat that looks: what would be seen of it once it is handed in.
    """
    is_draft = shown is not None and shown.state == HandInState.DRAFT
    pictures = list(shown.pictures.filter(removed_at=None)) if shown else []
    rows = _rows_for(pictures, seat)
    carried = carried_onto(pictures, seat)
    pairs = comparisons_of(passage, pictures, seat, rows)
    shown_ids = {pair["id"] for pair in pairs}
    results = {row.pk: row.result for row in rows.values() if row.result is not None and row.pk in shown_ids}
    return {
        "comparisons": pairs,
        "rates": next((remark_sentence(result["rates"]) for result in results.values() if "rates" in result), ""),
        "carried": [_shown_note(one, seat, results.get(one.comparison_id), is_own_draft=is_draft) for one in carried],
        "key": next((note_key(*one.note.cited) for one in carried), ""),
        "is_several": len(pictures) > 1,
        "may_place": permits.may(Role(seat.role), Deed.PLACE_NOTE),
        "trouble": None if all(pair["is_compared"] for pair in pairs) else _trouble(passage, shown),
    }


def _trouble(passage: Passage, shown: HandIn | None) -> ShownTrouble | None:
    is_draft = shown is not None and shown.state == HandInState.DRAFT
    return shown_trouble(draft_trouble(shown) if shown and is_draft else comparing_trouble(passage))


def comparisons_of(
    passage: Passage, pictures: list[Picture], seat: Seat, rows: dict[str, Comparison] | None = None
) -> list[ComparedPair]:
    """List what a hand-in's one picture was compared with, for the table (2 queries; 3 for a plate)."""
    if len(pictures) != 1 or not permits.sees(Role(seat.role), "comparisons"):
        return []
    after = pictures[0]
    rows = _rows_for(pictures, seat) if rows is None else rows
    named = others_named(rows, passage, seat) if rows else {}
    pairs = [_compared(rows[sha256], other, after, passage) for sha256, other in named.items()]
    art = approved_before(passage) if is_plate(passage) else None
    if art is not None and may_see_picture(art, seat):
        pairs.append(_laid_only(art, after, passage))
    return pairs


def comparisons_of_options(passage: Passage, pictures: list[Picture], seat: Seat) -> list[ComparedPair]:
    """List what each of several options in a draft was compared with, option by option (2 queries)."""
    if not permits.sees(Role(seat.role), "comparisons"):
        return []
    found = Comparison.objects.filter(sha256_b__in=[picture.sha256 for picture in pictures]).order_by("pk")
    rows = {(row.sha256_a, row.sha256_b): row for row in found}
    named = others_named({before: row for (before, _), row in rows.items()}, passage, seat) if rows else {}
    return [
        _compared(rows[sha256, picture.sha256], other, picture, passage)
        for picture in pictures
        for sha256, other in named.items()
        if (sha256, picture.sha256) in rows
    ]


def _rows_for(pictures: list[Picture], seat: Seat) -> dict[str, Comparison]:
    """Find the comparisons of a hand-in's one picture by the other picture's hash (1 query).

    What an older method found stays readable; the newest row of a pair is the one that counts.
    """
    if len(pictures) != 1 or not permits.sees(Role(seat.role), "comparisons"):
        return {}
    return {row.sha256_a: row for row in Comparison.objects.filter(sha256_b=pictures[0].sha256).order_by("pk")}


def _compared(row: Comparison, before: Picture, after: Picture, passage: Passage) -> ComparedPair:
    places = changed_places(row.result, before, after)
    return {
        **_names(before, passage),
        "after": after.pk,
        "id": row.pk,
        "is_compared": row.result is not None,
        "is_newest": before.hand_in.passage_id == passage.pk,
        "is_plate": False,
        "result": _shown_result(row.result, n_joined=len(row.result["changes"]) - len(places)) if row.result else None,
        "places": places,
        "other_places": changed_places(row.result, before, after, reading=1, which="other_changes"),
        "unsure_places": changed_places(row.result, before, after, which="unsure"),
        "unshared": unshared_parts(row.result, before, after),
    }


def _shown_result(result: dict[str, Any], *, n_joined: int) -> ShownResult:
    """Leave out what only the places and the notes need; the places are counted as they are shown.

    The same two files may lie in several books, so where notes are by the second reading goes out by the notes alone.
    """
    counted = ({**one, "n": one["n"] - n_joined} if one["code"] == "n-places" else one for one in result["remarks"])
    return {"state": result["state"], "maps": result["maps"], "remarks": _with_words(counted)}


def _with_words(remarks: Iterable[Mapping[str, Any]]) -> list[ShownRemark]:
    return [{"code": remark["code"], "words": remark_sentence(remark)} for remark in remarks]


def _laid_only(art: Picture, plate: Picture, passage: Passage) -> ComparedPair:
    """Offer the art to lay over its plate by the page's edges, as the press will: nothing was compared.

    Laid by what is drawn, a plate that sits askew on its page would be put straight, and the fault hidden.
    """
    of_art, of_plate = frame_of(art, passage), frame_of(plate, passage)
    laying = page_map(of_art, of_plate) if of_art and of_plate else None
    codes = ("plate-not-compared", "lay-the-art" if laying else "art-beside-only")
    return {
        **_names(art, passage),
        "after": plate.pk,
        "id": 0,
        "is_compared": True,
        "is_newest": False,
        "is_plate": True,
        "result": {
            "state": "by-page" if laying else "not-aligned",
            "maps": [asdict(laying)] if laying else [],
            "remarks": _with_words({"code": code} for code in codes),
        },
        "places": [],
        "other_places": [],
        "unsure_places": [],
        "unshared": [],
    }


class _Names(TypedDict):
    name: str
    before: EarlierPicture


def _names(before: Picture, passage: Passage) -> _Names:
    stage = before.hand_in.passage.stage
    is_same_stage = before.hand_in.passage_id == passage.pk
    factors = before.facts.get("scale_factors")
    if is_same_stage:
        name = gettext("hand-in {n}").format(n=before.hand_in.number)
    else:
        name = gettext("the approved {stage}").format(stage=in_a_sentence(stage.name))
    return {
        "name": name,
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


def _shown_note(carried: CarriedNote, seat: Seat, result: dict[str, Any] | None, *, is_own_draft: bool) -> ShownNote:
    """Describe one carried note for the table; only sent notes are carried, so each has its letter."""
    note = carried.note
    is_house = permits.sees(Role(seat.role), "unsent-notes")
    is_by_hand = carried.corrected is not None
    return {
        "id": note.pk,
        "mark": note_mark(*note.cited),
        "name": note_name(*note.cited),
        "picture": carried.picture_id,
        "region": carried.place,
        "by_page": carried.by_page,
        "state": carried.state,
        "verdict": carried.verdict,
        "is_by_hand": is_by_hand,
        "words": note.said,
        "evidence": evidence_words(carried.state, carried.verdict, is_by_hand=is_by_hand),
        "sign": evidence_sign(carried.state, carried.verdict, is_by_hand=is_by_hand),
        "response": response_words(note.response),
        "response_words": note.response_words,
        # The house is shown where "done" and the picture differ, and the illustrator before anybody else sees it:
        # evidence to look at, no accusation.
        "asks_for_a_look": (is_house or is_own_draft) and is_done_but_untouched(carried),
        "place_url": reverse("reviews:place-note", args=[note.pk]),
        "other": None if is_by_hand else _by_the_other_reading(note.pk, result),
    }


def _by_the_other_reading(note_id: int, result: dict[str, Any] | None) -> OtherReading | None:
    """Say where a note is if the second of two readings is right; nothing where there is no such reading."""
    seen = (result or {}).get("other_notes", {}).get(str(note_id))
    if not seen:
        return None
    state, verdict = seen["state"], seen["verdict"]
    return {
        "region": seen["region"],
        "by_page": seen["by_page"],
        "state": state,
        "evidence": evidence_words(state, verdict, is_by_hand=False),
        "sign": evidence_sign(state, verdict, is_by_hand=False),
    }
