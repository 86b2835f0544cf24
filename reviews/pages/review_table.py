"""What lies on the review table: pictures, notes and rounds of one passage, as one seat may see them."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Exists, OuterRef, Q, Subquery
from django.db.models.functions import JSONObject
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from reviews.geometry import Box
from reviews.models import Agreement, Brief, HandIn, LetterAnswer, Look, OpenedTable, Passage, Picture, Seat
from reviews.pages.briefs import lines_to_miss
from reviews.pages.derived import DerivedRow, made_from
from reviews.pages.guides import guides_on
from reviews.pages.nearness import due_words
from reviews.pages.option_marks import marks_shown, with_marks
from reviews.pages.proof_sheets import laid_told, turn_of
from reviews.pages.table_notes import notes_seen, numbered, on_table
from reviews.pages.table_shapes import (
    HeadDates,
    OnTablePicture,
    OnTablePlate,
    StageLink,
    TableData,
    TableHead,
)
from reviews.pages.text_blocks import text_on
from reviews.pages.wording.names import CAUSE_WORDS, ERROR_WORDS, PASSED_OVER_WORDS
from reviews.pages.wording.names import passage_words as standing_words
from reviews.pages.wording.notes import note_key
from reviews.pages.wording.pictures import assumed_words, picture_reason, plate_name
from reviews.press.text_blocks import SetBlock
from reviews.queries.access import may_see_hand_in
from reviews.queries.approvals import told_silent
from reviews.queries.frames import bears_text, frame_of, placed_on
from reviews.queries.passed_over import passed_over_among
from reviews.queries.reach import reach_of, shows_picture
from reviews.queries.rounds import allowances_for, rounds_of
from reviews.queries.silence import silent_day
from reviews.queries.text_blocks import newest_text, set_blocks
from reviews.rules import permits
from reviews.rules.hands import PRINTERS_STAGES, uses_rounds
from reviews.rules.states import (
    Cause,
    Deed,
    Gate,
    HandInState,
    NoteState,
    PassageState,
    PictureState,
    Role,
    Sight,
    StageKind,
)


def hand_ins_seen(passage: Passage, seat: Seat) -> list[HandIn]:
    """List the passage's hand-ins this seat may see, oldest first, without drafts (1 query).

    For who writes the letter, each with the answer it has there so far.
    """
    looks = Look.objects.filter(hand_in=OuterRef("pk"), seat=seat)
    opened = OpenedTable.objects.filter(hand_in=OuterRef("pk"), seat=seat)
    rows = passage.hand_ins.select_related("by").filter(state=HandInState.HANDED_IN).order_by("number")
    if permits.may(Role(seat.role), Deed.SET_ANSWER):
        told = LetterAnswer.objects.filter(hand_in=OuterRef("pk"), letter__sent_at=None)
        written = told.values(told=JSONObject(answer="answer", picture_id="picture_id"))[:1]
        rows = rows.annotate(written=Subquery(written))  # type: ignore[no-redef]  # it fills what the model only names
    seen = []
    # It fills what the model only names.
    for row in rows.annotate(has_looked=Exists(looks), lay_open=Exists(opened)):  # type: ignore[no-redef]
        row.passage = passage
        if may_see_hand_in(seat, row):
            seen.append(row)
    return seen


def rows_around(passage: Passage, *, whole_book: bool = False) -> list[Passage]:
    """List the stages of the passage's spread, and with ``whole_book`` every one something lies on (1 query)."""
    about = Q(spread_id=passage.spread_id)
    if whole_book:
        about |= Q(book_id=passage.book_id, hand_in__isnull=False, spread__removed_at=None)
    rows = told_silent(Passage.objects.select_related("spread", "stage", "hand_in__by").filter(about))
    if is_beside_art(passage):
        rows = rows.select_related("approved_picture__hand_in")
    found = list(rows.order_by("spread__position", "stage__position"))
    for row in found:
        row.book = passage.book  # with its print set-up, and its own names for stages
    return found


def is_beside_art(passage: Passage) -> bool:
    """Say whether a stage is looked at together with the approved art of its spread."""
    return passage.stage.kind in (StageKind.FINISH, StageKind.PROOF)


def of_spread(passage: Passage, around: Sequence[Passage]) -> list[Passage]:
    """Keep the stages of the passage's own spread, in their order."""
    return [row for row in around if row.spread_id == passage.spread_id]


def passage_words(
    passage: Passage, *, seat: Seat, around: Sequence[Passage] | None = None, is_held: bool | None = None
) -> TableHead:
    """Put a passage's standing in words, with its rounds (1 query, 3 for another passage than ``get_passage`` fetched).

    Where the terms let silence approve, those of ``silent_day`` come along. ``around``: the rows of ``rows_around``
    where they are at hand, for 1 query less; ``is_held``: whether its art keeps a proof from its OK, where known.
    """
    rows = rows_around(passage) if around is None else around
    row = of_spread(passage, rows)
    passage.is_silent = next(other.is_silent for other in row if other.pk == passage.pk)
    is_over = passage.pk in {one.pk for one in passed_over_among(row)}
    allowances = allowances_for(row)
    count = rounds_of(passage.book, allowances, head=passage.ledger_head)[passage.pk]
    state = "waiting_second" if passage.pending_id else passage.state
    reads_terms = permits.sees(Role(seat.role), "terms")
    tells_rounds = reads_terms and uses_rounds(passage.stage.kind, count.used)
    return {
        "id": passage.pk,
        "book_title": passage.book.title,
        "spread_label": passage.spread.label,
        "stage_name": passage.stage.name,
        "stages": _stages(row, passage, seat),
        "state": state,
        "state_words": str(PASSED_OVER_WORDS) if is_over else standing_words(passage),
        "is_passed_over": is_over,
        "holder_words": holder_words(passage),
        # A guest is asked for one vote; dates and rounds are between the two sides.
        **_dates(passage, seat),
        "silent_on": silent_day(passage, timezone.now(), is_held=is_held) if reads_terms else None,
        "rounds": {
            "used": count.pool_used if tells_rounds else None,
            "included": count.included,
            "left": count.left,
            "over": count.over,
            "outside": count.outside,
        },
    }


def _dates(passage: Passage, seat: Seat) -> HeadDates:
    """Say which date the head names, and what it is: one that is met gives way to what happened; needs book joined."""
    dates: HeadDates = {"due_on": passage.due_on, "answer_due_on": passage.answer_due_on, **due_words(passage)}
    if not permits.sees(Role(seat.role), "schedule"):
        return {**dates, "due_on": None, "answer_due_on": None, "due_tone": "", "due_words": ""}
    if passage.state == PassageState.APPROVED and passage.approved_at:
        return {**dates, "due_on": passage.book.day_rule.local_date(passage.approved_at), "due_words": "approved"}
    if passage.state == PassageState.PASSED:
        return {**dates, "due_on": passage.planned_on}
    if passage.state == PassageState.CLOSED and passage.due_on != passage.planned_on:
        return {**dates, "due_words": "hand-in due"}
    return dates


def _stages(row: Sequence[Passage], here: Passage, seat: Seat) -> list[StageLink]:
    """Name the stages of a spread that were begun, as ways from one to the other; a guest is asked about one."""
    if permits.scope_of(Role(seat.role)) == permits.Scope.ONE:
        return []
    reach = reach_of([seat])
    begun: list[StageLink] = [
        {"name": other.stage.name, "url": reverse("reviews:passage", args=[other.pk]), "is_here": other.pk == here.pk}
        for other in row
        if other.pk == here.pk
        or (other.state != PassageState.CLOSED and not is_hidden_from(other, seat) and reach.has(seat, other))
    ]
    return begun if len(begun) > 1 else []


def holder_words(passage: Passage) -> str:
    """Say who holds a passage; needs stage joined."""
    if passage.pending_id:
        return "Approved by the art director, waiting for the editor"
    if passage.state == PassageState.ANSWERING:
        return "With the publisher"
    return standing_words(passage)


def pictures_in(passage: Passage, hand_in: HandIn | None, seat: Seat) -> list[Picture]:
    """List what was handed in and this seat may see, in its order (1 query)."""
    if hand_in is None:
        return []
    rows = hand_in.pictures.select_related("derivation").filter(removed_at=None)
    pictures = list(rows.order_by("position"))
    if permits.scope_of(Role(seat.role)) == permits.Scope.COVER_AND_APPROVED:
        hand_in.passage = passage
        return [picture for picture in pictures if shows_picture(seat, _of(picture, hand_in))]
    return pictures


def table_data(
    passage: Passage,
    hand_in: HandIn | None,
    seat: Seat,
    *,
    briefs: Sequence[Brief] = (),
    pictures: list[Picture] | None = None,
) -> TableData:
    """Gather pictures, notes and rights for the table (at most 8 queries; 1 less with ``pictures`` at hand)."""
    role = Role(seat.role)
    pictures = pictures_in(passage, hand_in, seat) if pictures is None else pictures
    is_newest = hand_in is not None and hand_in.pk == passage.hand_in_id
    state = PassageState(passage.state)
    may_mark = is_newest and passage.stage.kind == StageKind.IDEAS and permits.may(role, Deed.MARK_OPTION, state)
    notes = numbered(notes_seen(pictures, seat, about=passage, hand_in=hand_in), passage.book_id, role)
    made = made_from(pictures) if permits.sees(role, "originals") else {}
    may_pin = is_newest and permits.may(role, Deed.PIN_NOTE, state)
    lines = lines_to_miss(briefs, hand_in) if may_pin else []
    reads_sent = permits.sees(role, "sent-notes")
    reads_text = passage.has_text and permits.sees(role, "brief-on-table")
    text = set_blocks(newest_text(passage.spread)) if reads_text else ()
    return {
        "pictures": [
            _picture(picture, passage, seat, made.get(picture.pk), text)
            for picture in with_marks(pictures, passage, seat)
        ],
        "notes": [on_table(note, seat, passage) for note in notes],
        "key": next((note_key(*n.cited) for n in notes if n.state == NoteState.SENT), "") if reads_sent else "",
        "may": {"pin": may_pin, "mark_option": may_mark},
        "causes": _causes(state, has_brief=bool(lines), is_printers=passage.stage.kind in PRINTERS_STAGES),
        "errors": _errors(passage) if may_pin else [],
        "brief_lines": lines,
        "urls": {
            "pin": reverse("reviews:pin-note", args=[passage.pk]),
            "mark_option": reverse("reviews:mark-option", args=[passage.pk]),
            # Asked for by the script once the table stands: what changed is computed apart, and never waited for.
            "changes": _changes_url(passage, hand_in, role),
            "under": _under_url(passage, role),
        },
    }


def _changes_url(passage: Passage, hand_in: HandIn | None, role: Role) -> str | None:
    if hand_in is None or not permits.sees(role, "comparisons"):
        return None
    return reverse("reviews:changes", args=[passage.pk]) + f"?hand_in={hand_in.number}"


def _under_url(passage: Passage, role: Role) -> str | None:
    # At the ideas nothing can have been approved before.
    if passage.stage.kind == StageKind.IDEAS or not permits.sees(role, "comparisons"):
        return None
    return reverse("reviews:approved-beneath", args=[passage.pk])


def _of(picture: Picture, hand_in: HandIn) -> Picture:
    picture.hand_in = hand_in
    return picture


def agreement_on(hand_in: HandIn | None, seat: Seat) -> Agreement | None:
    """Find what the second voice said about a hand-in, as far as this seat may know (1 query).

    As in the ledger: until it made an approval complete, who agrees to what is the publisher's own affair.
    """
    if hand_in is None:
        return None
    said = Agreement.objects.select_related("seat__person").filter(hand_in=hand_in)
    if Sight.PUBLISHER not in permits.sights_of(Role(seat.role)):
        passage = hand_in.passage
        is_complete = passage.state == PassageState.APPROVED and passage.hand_in_id == hand_in.pk
        said = said.filter(agrees=True) if is_complete else said.none()
    return said.order_by("-at").first()


def _picture(
    picture: Picture, passage: Passage, seat: Seat, made: DerivedRow | None, text: Sequence[SetBlock]
) -> OnTablePicture:
    frame, placed = frame_of(picture, passage), placed_on(picture, passage)
    factors = picture.facts.get("scale_factors")
    trim = frame.trim_box if frame else Box(0.0, 0.0, 1.0, 1.0)
    return {
        "id": picture.pk,
        "name": _shown_name(picture, Role(seat.role)),
        "position": picture.position,
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "preview_url": reverse("reviews:picture-preview", args=[picture.pk]) if picture.has_preview else None,
        "thumb_url": reverse("reviews:picture-thumb", args=[picture.pk]) if picture.has_preview else None,
        "original_url": _original_url(picture, Role(seat.role)),
        "tiles_url": reverse("reviews:picture-tile", args=[picture.pk, "_"])[:-1] if factors else None,
        "scale_factors": factors or [],
        "plates": _plates(picture),
        "mm_per_px": frame.mm_per_px if frame else None,
        "frame": {
            "trim": [trim.x0, trim.y0, trim.x1, trim.y1] if frame is None or frame.is_laid else None,
            "gutter": frame.gutter_x if frame else None,
            "guides": guides_on(placed),
            "text": text_on(placed, text) if placed and bears_text(placed, passage) else None,
            "turn": turn_of(placed),
        },
        "laid_words": laid_told(picture, passage),
        "state": picture.state,
        "reason": picture_reason(picture),
        "assumed_profile": assumed_words(picture.facts),
        "is_ready": picture.state == PictureState.READY,
        # Where a letter asked for a change to it since, nothing is approved here, whatever was approved before.
        "is_approved": picture.pk == passage.approved_picture_id and passage.state == PassageState.APPROVED,
        "marks": marks_shown(picture, seat),
        "made_from": made,
    }


def _plates(picture: Picture) -> list[OnTablePlate]:
    """Name a read picture's spot plates, each with its sheet."""
    plates = picture.facts.get("plates", ()) if picture.state == PictureState.READY else ()
    return [
        {"url": reverse("reviews:picture-plate", args=[picture.pk, n]), "name": plate_name(plate, n)}
        for n, plate in enumerate(plates, 1)
    ]


def _shown_name(picture: Picture, role: Role) -> str:
    """Name a picture by its file, or by its number for whoever is not told the names of files."""
    if permits.sees(role, "file-names"):
        return picture.file_name
    return _("Option {n}").format(n=picture.position)


def _original_url(picture: Picture, role: Role) -> str | None:
    return reverse("reviews:picture-original", args=[picture.pk]) if permits.sees(role, "originals") else None


def _causes(state: PassageState, *, has_brief: bool, is_printers: bool) -> list[tuple[str, str | Promise]]:
    """Offer the causes that can be true here: no brief was missed by what was approved, or where there was none; only
    what the printer made shows what the printer did wrong."""
    return [
        (cause.value, words)
        for cause, words in CAUSE_WORDS.items()
        if (cause != Cause.BRIEF or (has_brief and state != PassageState.APPROVED))
        and (cause != Cause.PRINTER or is_printers)
    ]


def _errors(passage: Passage) -> list[tuple[str, str | Promise]]:
    """Offer whose error a mark on what the printer made can be; nothing at another stage."""
    is_printers = passage.stage.kind in PRINTERS_STAGES
    return [(error.value, words) for error, words in ERROR_WORDS.items()] if is_printers else []


def is_hidden_from(passage: Passage, seat: Seat) -> bool:
    """Say whether the stage stays in the studio for this seat."""
    return passage.stage.gate == Gate.HIDDEN and seat.role != Role.ILLUSTRATOR
