"""What the publisher would see of a draft: shown to its illustrator before it is handed in, and to nobody else."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, TypedDict

from django.db.models import Q, Subquery
from django.urls import reverse
from django.utils.translation import gettext as _

from reviews.geometry import Box, region_from_json
from reviews.models import HandIn, Letter, Note, Passage, Picture, Seat
from reviews.pages.changed_places import ChangedPlace
from reviews.pages.changes import ChangesSeen, ComparedPair, ShownNote, changes_seen, comparisons_of_options
from reviews.pages.hand_in_draft import Crumb
from reviews.pages.on_page import OnPage, on_pages
from reviews.pages.plates import PlateShown, plates_shown
from reviews.pages.wording.notes import note_name, said_words
from reviews.pages.wording.plates import PLATE_WORDS
from reviews.queries.book_notes import answers_there, said_of
from reviews.queries.comparisons import MOST_OPTIONS
from reviews.rules.asked_places import is_asked
from reviews.rules.book_notes import SaidOfNote, newest_of
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.letters import note_mark
from reviews.rules.states import Cause, HandInState, NoteState, PictureState, Reach, Role


class CheckedNote(TypedDict):
    """One note of the last letter: what was answered to it, and what the draft's picture shows there."""

    mark: str
    name: str
    words: str
    answer: str
    answer_words: str
    evidence: str
    sign: str
    is_doubted: bool
    cover_words: str


class CheckedPlace(TypedDict):
    """One changed place, and whether a note lies there; ``cover_words`` go into the cover note by one press."""

    place: ChangedPlace
    is_asked: bool
    cover_words: str


class CheckedPair(TypedDict):
    """What changed against one earlier picture; ``option`` names which of several pictures it is about."""

    pair: ComparedPair
    option: str
    places: list[CheckedPlace]
    n_unasked: int


class DraftCheck(TypedDict):
    """Everything the check says; ``state`` is none, unread, waits, hindered or told."""

    row: Passage
    state: str
    seen: ChangesSeen
    pairs: list[CheckedPair]
    notes: list[CheckedNote]
    letter: Letter | None
    same_as: int | None
    is_several: bool
    n_left_out: int
    n_doubted: int
    n_unanswered: int
    n_unasked: int
    on_page: list[OnPage]
    plates: list[PlateShown]
    plates_wait: bool
    plate_words: Mapping[str, Any]
    crumbs: list[Crumb]


def draft_check(passage: Passage, seat: Seat) -> DraftCheck:
    """Hold a draft against what came before it, as the publisher's table would (at most 12 queries)."""
    draft = HandIn.objects.filter(passage=passage, state=HandInState.DRAFT, by=seat).select_related("by").first()
    pictures = list(draft.pictures.filter(removed_at=None)) if draft else []
    seen = changes_seen(passage, draft, seat)
    notes, letter = _notes(passage, seen["carried"])
    if len(pictures) > 1:
        # The publisher looks at options side by side; what each changed is told to its maker alone.
        seen["comparisons"] = comparisons_of_options(passage, pictures, seat)
        if all(pair["is_compared"] for pair in seen["comparisons"]):
            seen["trouble"] = None
    pairs = _pairs(seen, pictures, has_letter=bool(notes))
    plates = plates_shown(pictures, passage, seat)
    return {
        "row": passage,
        "state": _state(pictures, seen),
        "seen": seen,
        "pairs": pairs,
        "notes": notes,
        "letter": letter,
        "same_as": _same_as(passage, pictures),
        "is_several": len(pictures) > 1,
        "n_left_out": _left_out(pictures, seen),
        "n_doubted": sum(note["is_doubted"] for note in notes),
        "n_unanswered": sum(not note["answer"] for note in notes),
        "n_unasked": sum(pair["n_unasked"] for pair in pairs),
        "on_page": on_pages(pictures, passage),
        "plates": plates,
        "plates_wait": any(plate.state == "waits" for plate in plates),
        "plate_words": PLATE_WORDS,
        "crumbs": [
            {"label": passage.book.title, "url": reverse("reviews:book-map", args=[passage.book_id])},
            {"label": passage.where, "url": reverse("reviews:passage", args=[passage.pk])},
            {"label": _("Hand in"), "url": reverse("reviews:draft-hand-in", args=[passage.pk])},
            {"label": _("Before you hand in"), "url": ""},
        ],
    }


def _left_out(pictures: list[Picture], seen: ChangesSeen) -> int:
    """Count the options beyond those that are compared, where any is: of these nothing is known."""
    compared = {pair["after"] for pair in seen["comparisons"]}
    return sum(picture.pk not in compared for picture in pictures[MOST_OPTIONS:]) if compared else 0


def _state(pictures: list[Picture], seen: ChangesSeen) -> str:
    if not pictures:
        return "none"
    if any(picture.state not in (PictureState.READY, PictureState.REFUSED) for picture in pictures):
        return "unread"
    if all(pair["is_compared"] for pair in seen["comparisons"]):
        return "told"
    return "hindered" if seen["trouble"] else "waits"


def _same_as(passage: Passage, pictures: list[Picture]) -> int | None:
    """Name the hand-in of which this is the very file, if it is one (1 query)."""
    if len(pictures) != 1:
        return None
    same = passage.hand_ins.filter(state=HandInState.HANDED_IN, pictures__sha256=pictures[0].sha256)
    return same.order_by("-number").values_list("number", flat=True).first()


def _notes(passage: Passage, carried: list[ShownNote]) -> tuple[list[CheckedNote], Letter | None]:
    """List the notes of the last letter as they would be read beside the draft, and that letter.

    Notes on the book that ask here come after them (2 queries, 1 more with notes on the book).
    ."""
    newest = Letter.objects.filter(answers__passage=passage, sent_at__isnull=False, taken_back_at=None).order_by(
        "-sent_at", "-pk"
    )
    sent = Note.objects.filter(passage=passage, letter=Subquery(newest.values("pk")[:1]), state=NoteState.SENT)
    rows = list(sent.exclude(cause=Cause.PRAISE).select_related("letter").order_by("number"))
    found = {one["id"]: one for one in carried}
    letter = rows[0].letter if rows else None
    rows += _on_book(passage, {row.pk for row in rows})
    there = answers_there(rows, spreads=[passage.spread_id])
    said = {row.pk: newest_of(said_of(row), there.get((row.pk, passage.spread_id))) for row in rows}
    return [_note(row, said[row.pk], found.get(row.pk)) for row in rows], letter


def _on_book(passage: Passage, there: Collection[int]) -> list[Note]:
    """List the other notes on the book that are about this spread and not answered as a whole (1 query if any)."""
    if not passage.has_book_notes:
        return []
    rows = Note.objects.filter(
        passage__book=passage.book_id, reach=Reach.BOOK, state=NoteState.SENT, responded_at=None
    ).exclude(Q(cause=Cause.PRAISE) | Q(pk__in=there))
    is_printers = passage.stage.kind in PRINTERS_STAGES
    return [
        row
        for row in rows.select_related("letter", "picture__hand_in__by").order_by("letter__number", "number")
        # What the printer made goes back there, and what the illustrator drew to the illustrator.
        if row.is_about(passage.spread_id) and is_printers == (row.picture.hand_in.by.role != Role.ILLUSTRATOR)
    ]


def _note(row: Note, said: SaidOfNote | None, found: ShownNote | None) -> CheckedNote:
    name = note_name(*row.cited)
    return {
        "mark": note_mark(*row.cited),
        "name": name,
        "words": row.said,
        "answer": said_words(row, said) if said else "",
        "answer_words": said.words if said else "",
        "evidence": found["evidence"] if found else "",
        "sign": found["sign"] if found else "",
        "is_doubted": bool(found and found["asks_for_a_look"]),
        "cover_words": _("About {note}: ").format(note=name),
    }


def _pairs(seen: ChangesSeen, pictures: list[Picture], *, has_letter: bool) -> list[CheckedPair]:
    """Tell asked changes from others against the newest version; older pictures only say what changed.

    What changed since the stage before was partly asked for by letters whose notes are not followed to here, so "nobody
    asked for this" is said of it only where no letter came between. Notes are followed to none of several options, so
    nothing is said of what was asked.
    """
    if not pictures:
        return []
    is_several = len(pictures) > 1
    options = {one.pk: _("Option {n}, {name}").format(n=n, name=one.file_name) for n, one in enumerate(pictures, 1)}
    width, height = pictures[0].width_px or 1, pictures[0].height_px or 1
    boxes = [region_from_json(note[where]).box for note in seen["carried"] for where in ("region", "by_page")]
    told: list[CheckedPair] = []
    for pair in seen["comparisons"]:
        is_judged = not is_several and (pair["is_newest"] or not has_letter)
        places = [_place(place, boxes, width / height, is_judged, pair["name"]) for place in pair["places"]]
        n_unasked = sum(not place["is_asked"] for place in places)
        option = options.get(pair["after"], "") if is_several else ""
        told.append({"pair": pair, "option": option, "places": places, "n_unasked": n_unasked})
    return told


def _place(place: ChangedPlace, notes: list[Box], aspect: float, is_judged: bool, name: str) -> CheckedPlace:
    shown = place["on_b"] or place["new"] or place["old"]
    asked = not is_judged or (shown is not None and is_asked(Box(**shown), notes, aspect))
    told = ", ".join(part for part in (place["words"].lower(), place["where"]) if part)
    words = _("Also changed since {name}: {what} ({letter}).").format(name=name, what=told, letter=place["letter"])
    return {"place": place, "is_asked": asked, "cover_words": words}
