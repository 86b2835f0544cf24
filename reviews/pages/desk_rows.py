"""What the desk reads of passages and notes, whatever their number, and only what its seats ask about."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, Subquery

from reviews.models import (
    Agreement,
    HandIn,
    LetterAnswer,
    Look,
    Note,
    OptionMark,
    OverConsent,
    Passage,
    ReadingAsk,
    Seat,
    Spread,
    Stage,
)
from reviews.queries.book_notes import n_asking
from reviews.queries.text_blocks import is_text_newer
from reviews.queries.votes import has_voted, is_to_be_decided_by, is_undecided, open_to
from reviews.rules.permits import PERMITS
from reviews.rules.states import Cause, Deed, HandInState, NoteState, PassageState, Reach, Role

#: A note of a letter that waits for its answer.
_OPEN = Q(state=NoteState.SENT, responded_at=None) & ~Q(cause=Cause.PRAISE)


def passages_of(seats: Sequence[Seat]) -> list[Passage]:
    """Read every passage of these seats' books, its spread and stage beside it (3 queries)."""
    ids = [seat.book_id for seat in seats]
    # Read apart, a spread and a stage are made once each, and not anew for every passage.
    spreads = {row.pk: row for row in Spread.objects.filter(book__in=ids)}
    stages = {row.pk: row for row in Stage.objects.filter(plan__book__in=ids)}
    rows = Passage.objects.live().filter(book__in=ids).annotate(**_looked_up(seats))
    # Of each of some thousand passages, a date that nothing here asks about is a date to be made all the same.
    rows = rows.defer("planned_on", "opened_at", "approved_at", "approved_sha256")
    passages = list(rows.order_by("book_id", "spread__position", "stage__position"))
    for passage in passages:
        passage.spread, passage.stage = spreads[passage.spread_id], stages[passage.stage_id]
    return passages


def _looked_up(seats: Sequence[Seat]) -> dict[str, Any]:
    """Name what these roles' part of ``rules.waiting`` asks about a passage: to look up the rest would take time."""
    own, roles = [seat.pk for seat in seats], {Role(seat.role) for seat in seats}
    newest = OuterRef("hand_in")
    people = {seat.person_id for seat in seats}
    voted = has_voted(people)
    found: dict[str, Any] = {}
    if roles & {Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.DESIGNER}:
        found["is_text_changed"] = is_text_newer()
    if roles & {Role.ILLUSTRATOR, Role.PRODUCTION}:
        drafts = HandIn.objects.filter(passage=OuterRef("pk"), state=HandInState.DRAFT, by__in=own)
        found["has_draft"] = Exists(drafts)
    if Role.EDITOR in roles:
        voice = Agreement.objects.filter(hand_in=newest, seat__in=own).values("agrees")[:1]
        found["has_voice"] = Exists(voice)
        found["decides_vote"] = is_to_be_decided_by(people)
    if roles & {Role.AUTHOR, Role.READER}:
        asks = ReadingAsk.objects.filter(seat__in=own, spread=OuterRef("spread"), ended_at=None)
        found["is_asked"] = Exists(asks)
    if roles & {Role.EDITOR, Role.PRODUCTION, Role.DESIGNER, Role.AUTHOR, Role.READER}:
        marked = OptionMark.objects.filter(picture__hand_in=newest, seat__in=own)
        found["has_looked"] = Exists(Look.objects.filter(hand_in=newest, seat__in=own)) | Exists(marked) | voted
    if roles & {Role.GUEST, Role.SALES}:
        found["has_marked"] = Exists(OptionMark.objects.filter(picture__hand_in=newest, seat__in=own)) | voted
    if roles & PERMITS[Deed.CAST_BALLOT][0]:
        found.update(open_to(people))
    if Role.ART_DIRECTOR in roles:
        found["vote_waits"] = is_undecided()
        answer = LetterAnswer.objects.filter(passage=OuterRef("pk"), letter__sent_at=None).values("answer")[:1]
        last_voice = Agreement.objects.filter(hand_in=newest, seat__ended_at=None).order_by("-at", "-pk")
        found["last_voice"] = Subquery(last_voice.values("agrees")[:1])
        found["last_words"] = Subquery(last_voice.values("words")[:1])
        found["is_marked"] = Exists(OptionMark.objects.filter(picture__hand_in=newest))
        found["letter_answer"] = Subquery(answer)
        asked = OverConsent.objects.open().filter(passage=OuterRef("pk"), given_at=None)
        found["waits_for_consent"] = Exists(asked)
    return found


def note_counts(seats: Sequence[Seat], passages: Sequence[Passage]) -> dict[int, dict[str, int]]:
    """Count notes per passage under way: waiting for the illustrator, unsent, and one's own (1 query).

    One more where a note on the book waits: it asks on each of its spreads that is being drawn.
    """
    rows = (
        Note.objects.filter(
            passage__book__in=[seat.book_id for seat in seats],
            passage__state__in=[PassageState.DRAWING, PassageState.ANSWERING, PassageState.APPROVED],
        )
        .order_by()
        .values("passage")
        .annotate(
            n_open=Count("pk", filter=_OPEN & ~Q(reach=Reach.BOOK)),
            n_on_book=Count("pk", filter=_OPEN & Q(reach=Reach.BOOK)),
            n_unsent=Count("pk", filter=Q(state=NoteState.UNSENT)),
            n_own=Count("pk", filter=Q(state=NoteState.UNSENT, author__in=[seat.pk for seat in seats])),
        )
    )
    found = {
        row["passage"]: {"n_open": row["n_open"], "n_unsent": row["n_unsent"], "n_own": row["n_own"]} for row in rows
    }
    # Mostly no note on the book waits, and nothing more is asked.
    for passage, n in n_asking(passages).items() if any(row["n_on_book"] for row in rows) else ():
        found.setdefault(passage, dict.fromkeys(("n_open", "n_unsent", "n_own"), 0))["n_open"] += n
    return found
