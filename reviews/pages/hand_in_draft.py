"""The hand-in being gathered: seen by its illustrator only."""

from __future__ import annotations

from typing import TypedDict

from django.conf import settings
from django.urls import reverse

from reviews.models import HandIn, Letter, Passage, Picture, Seat
from reviews.pages.briefs import BriefOnTable, on_table
from reviews.pages.derived import DerivedRow, derived_rows
from reviews.pages.file_faults import file_cautions
from reviews.pages.pieces import PieceAsked, piece_asked
from reviews.pages.review_table import passage_words
from reviews.pages.table_shapes import TableHead
from reviews.pages.wording.pictures import picture_reason
from reviews.pages.wording.press import PRINTER_WINS
from reviews.queries.book_notes import n_asking
from reviews.queries.briefs import briefs_concerning
from reviews.queries.letters import last_letter
from reviews.queries.trouble import READING, Trouble, troubles
from reviews.rules.derived import PAGED_KINDS, Pencil
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Gate, HandInState, PictureState, StageKind

MAX_PICTURES = 20


class PictureRow(TypedDict):
    """One picture of a draft, as its page and its script read it."""

    id: int
    hand_in: int
    place: int
    name: str
    n_bytes: int
    state: str
    reason: str
    width_px: int | None
    height_px: int | None
    thumb_url: str | None
    remove_url: str
    state_url: str
    again_url: str
    order_url: str
    hand_in_url: str


class GatheredPicture(PictureRow):
    """A picture on the page: whether it was made from sheets, what hinders its reading, what speaks against it."""

    is_made: bool
    pages_url: str
    pencil_url: str
    n_pages: int
    trouble: Trouble | None
    cautions: list[str]


class Crumb(TypedDict):
    """One step of the way back."""

    label: str
    url: str


class HandInDraft(TypedDict):
    """The page of a hand-in being gathered."""

    passage: TableHead
    row: Passage
    draft: HandIn | None
    pictures: list[GatheredPicture]
    derived: list[DerivedRow]
    pencils: list[str]
    n_waiting: int
    n_refused: int
    most: int
    max_mb: int
    next_number: int
    n_unanswered: int
    last_letter: Letter | None
    who_sees: str
    is_printers: bool
    has_own_gathered: bool
    piece: PieceAsked | None
    printer_wins: str
    brief: BriefOnTable | None
    crumbs: list[Crumb]


def draft_page(passage: Passage, seat: Seat) -> HandInDraft:
    """Gather the draft page of one passage (6 queries, and up to 4 on what is made from its scans and what hinders)."""
    there = list(HandIn.objects.filter(passage=passage))
    draft = next((one for one in there if one.state == HandInState.DRAFT and one.by_id == seat.pk), None)
    pictures = list(draft.pictures.filter(removed_at=None).order_by("position")) if draft else []
    derived = derived_rows(draft)
    hindered = troubles(READING, (picture.pk for picture in pictures if picture.state == PictureState.RECEIVED))
    made = {row["picture"]["id"] for row in derived if row["picture"]}
    letter = last_letter(passage)
    return {
        "passage": passage_words(passage, seat=seat),
        "row": passage,
        "draft": draft,
        "pictures": [_gathered(one, passage, is_made=one.pk in made, trouble=hindered.get(one.pk)) for one in pictures],
        "derived": derived,
        "pencils": [pencil.value for pencil in Pencil],
        "n_waiting": sum(picture.state == PictureState.RECEIVED for picture in pictures),
        "n_refused": sum(picture.state == PictureState.REFUSED for picture in pictures),
        "most": MAX_PICTURES,
        "max_mb": settings.MAX_PICTURE_BYTES // (1024 * 1024),
        "next_number": max((one.number or 0 for one in there), default=0) + 1,
        "n_unanswered": (letter.n_unanswered if letter else 0) + _n_on_book(passage),
        "last_letter": letter,
        "who_sees": _who_sees(passage),
        "is_printers": passage.stage.kind in PRINTERS_STAGES,
        "has_own_gathered": _has_own_gathered(passage),
        "piece": piece_asked(passage),
        "printer_wins": str(PRINTER_WINS),
        "brief": on_table(passage, None, seat, versions=briefs_concerning(passage)),
        "crumbs": [
            {"label": passage.book.title, "url": reverse("reviews:book-map", args=[passage.book_id])},
            {"label": passage.where, "url": reverse("reviews:passage", args=[passage.pk])},
            {"label": "Hand in", "url": ""},
        ],
    }


def _gathered(picture: Picture, passage: Passage, *, is_made: bool, trouble: Trouble | None) -> GatheredPicture:
    return {
        **picture_row(picture),
        "is_made": is_made,
        "pages_url": reverse("reviews:take-pages", args=[picture.pk]) if has_pages_to_take(picture) else "",
        "pencil_url": reverse("reviews:point-at-pencil", args=[picture.pk]),
        "n_pages": picture.facts.get("n_pages", 1),
        "trouble": trouble,
        "cautions": file_cautions(picture, passage),
    }


def has_pages_to_take(picture: Picture) -> bool:
    """Say whether further pages of a picture's file can be made pictures of their own."""
    facts = picture.facts
    return picture.state == PictureState.READY and facts.get("n_pages", 1) > 1 and facts.get("kind") in PAGED_KINDS


def picture_row(picture: Picture) -> PictureRow:
    """Describe one picture of a draft, for the page and for its script."""
    return {
        "id": picture.pk,
        "hand_in": picture.hand_in_id,
        "place": picture.position,
        "name": picture.file_name,
        "n_bytes": picture.n_bytes,
        "state": picture.state,
        "reason": picture_reason(picture),
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "thumb_url": reverse("reviews:picture-thumb", args=[picture.pk]) if picture.has_preview else None,
        "remove_url": reverse("reviews:remove-picture", args=[picture.pk]),
        "state_url": reverse("reviews:picture-state", args=[picture.pk]),
        "again_url": reverse("reviews:read-again", args=[picture.pk]),
        "order_url": reverse("reviews:order-pictures", args=[picture.hand_in_id]),
        "hand_in_url": reverse("reviews:hand-in", args=[picture.hand_in_id]),
    }


def handed_in_words(hand_in_id: int) -> str:
    """Confirm a hand-in in one sentence: what, to whom, answered by when (1 query)."""
    handed = HandIn.objects.select_related("passage__spread", "passage__stage").get(pk=hand_in_id)
    passage = handed.passage
    told = f"Handed in: number {handed.number} of {passage.where}."
    if passage.stage.gate == Gate.ANSWERS and passage.answer_due_on:
        day = passage.answer_due_on
        return f"{told} The publisher answers by {day.day} {day:%B %Y}."
    if passage.stage.gate == Gate.SHOWN:
        return f"{told} The publisher can look at it; no answer is needed, and the next stage is open."
    return f"{told} It stays in the studio, and the next stage is open."


def _n_on_book(passage: Passage) -> int:
    """Count the notes on the book that wait for an answer here (1 query where there are any)."""
    return n_asking([passage]).get(passage.pk, 0) if passage.has_book_notes else 0


def _has_own_gathered(passage: Passage) -> bool:
    """Say whether a printer's spread has a stage of its own for F&Gs, this one or a later one (at most 1 query)."""
    if passage.stage.kind != StageKind.PROOF:
        return passage.stage.kind == StageKind.GATHERED
    return Passage.objects.filter(spread=passage.spread_id, stage__kind=StageKind.GATHERED).exists()


def _who_sees(passage: Passage) -> str:
    if passage.stage.gate == Gate.HIDDEN:
        return "It stays in the studio once it is handed in, too: nobody else sees this stage."
    if passage.stage.kind in PRINTERS_STAGES:
        return "Once you hand it in, both sides see it, and the art director answers it with a letter."
    if passage.stage.gate == Gate.SHOWN:
        return "Once you hand it in, the publisher and the agent see it. No answer is needed at this stage."
    return "Once you hand it in, the publisher and the agent see it, and the publisher answers with one letter."
