"""Hand-ins: gather pictures in a draft, hand them in once, take back a mistake."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Max, Q, QuerySet

from reviews import jobs, storage
from reviews.actions._deed import Act, ask_about, deed_on
from reviews.actions._drafts import check_room, draft_picture, own_draft, sight_of
from reviews.actions._opening import (
    answer_date,
    date_after_return,
    is_closed,
    move_later,
    next_passage,
    open_next,
    opened,
)
from reviews.actions._originals import hold_original
from reviews.actions.comparisons import ask_for_comparisons, compare_draft
from reviews.actions.derived import MAX_PICTURES, drop_with_picture, sources_of
from reviews.models import HandIn, Passage, Picture, Seat
from reviews.queries.store_turns import store_turn
from reviews.rules import decisions
from reviews.rules.derived import DerivedState
from reviews.rules.file_names import name_told_apart
from reviews.rules.hands import PRINTERS_STAGES, check_hands_in, hands_in
from reviews.rules.payload_shapes import (
    AddPictureData,
    HandedPicture,
    HandInData,
    OrderPicturesData,
    RemovePictureData,
    WithdrawHandInData,
    WordHandInData,
)
from reviews.rules.states import Deed, Gate, HandInState, PassageState, PictureState, Refused, Role, Sight, StageKind

_TOLD_OF_PROOFS = frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION})


def add_picture(passage_id: int, upload: Any, *, sha256: str, place: int | None = None, actor: Seat) -> Picture:
    """Put one uploaded file into the actor's draft for a passage, beginning the draft if need be.

    ``place`` says where it stands among the pictures, counted as their positions are: files that are sent at once
    arrive in any order. Without one it comes last.

    ``upload`` is Django's uploaded file; its bytes are kept under their SHA-256 before the row is
    written, so a row never names bytes that are not there. Whether the draft takes it is asked before that: what is
    refused leaves nothing behind. The file is judged in the background.
    """
    if not upload.size:
        raise Refused("file-empty", name=upload.name)

    def check(act: Act) -> None:
        passage = act.passage(passage_id)
        check_hands_in(Role(act.by.role), StageKind(passage.stage.kind))
        _check_takes(_draft_of(passage, act), upload.size)

    ask_about(Passage, passage_id, Deed.ADD_PICTURE, actor, check)
    with store_turn(upload.size):
        storage.keep_original(upload, sha256)
    with deed_on(Passage, passage_id, Deed.ADD_PICTURE, actor) as act:
        passage = act.passage(passage_id)
        draft = _draft_for(passage, act)
        kept = _check_takes(draft, upload.size)
        with store_turn(upload.size):
            if not hold_original(sha256):
                storage.keep_original(upload, sha256)
        picture = Picture.objects.create(
            hand_in=draft,
            position=place or (kept.aggregate(last=Max("position"))["last"] or 0) + 1,
            file_name=name_told_apart(upload.name[-255:], _names_in(draft)),
            sha256=sha256,
            n_bytes=upload.size,
            state=PictureState.RECEIVED,
        )
        jobs.enqueue(jobs.RENDITIONS, picture.pk)
        act.holds(draft, picture)
        act.record(
            AddPictureData(where=passage.where, file_name=picture.file_name, picture=picture.pk, sha256=sha256),
            passage=passage,
            sight=sight_of(draft),
        )
    return picture


def remove_picture(picture_id: int, *, actor: Seat) -> None:
    """Take a picture out of a draft. The bytes stay; only the draft forgets them."""
    with deed_on(Picture, picture_id, Deed.REMOVE_PICTURE, actor) as act:
        picture = draft_picture(picture_id, act)
        picture.removed_at = act.now
        picture.save(update_fields=["removed_at"])
        drop_with_picture(picture, act)
        passage = act.passage(picture.hand_in.passage_id)
        compare_draft(picture.hand_in, passage)
        payload = RemovePictureData(where=passage.where, file_name=picture.file_name, picture=picture.pk)
        act.holds(*picture.hand_in.pictures.all())
        act.record(payload, passage=passage, sight=sight_of(picture.hand_in))


def order_pictures(hand_in_id: int, order: Sequence[int], *, actor: Seat) -> None:
    """Set the order of a draft's pictures; ``order`` names exactly its pictures."""
    with deed_on(HandIn, hand_in_id, Deed.ORDER_PICTURES, actor) as act:
        draft = own_draft(hand_in_id, act)
        pictures = {picture.pk: picture for picture in draft.pictures.filter(removed_at=None)}
        if sorted(order) != sorted(pictures):
            raise Refused("bad-order")
        for position, pk in enumerate(order, start=1):
            pictures[pk].position = position
        Picture.objects.bulk_update(pictures.values(), ["position"])
        passage = act.passage(draft.passage_id)
        act.holds(*pictures.values())
        act.record(OrderPicturesData(where=passage.where, order=list(order)), passage=passage, sight=sight_of(draft))


def word_hand_in(hand_in_id: int, cover_note: str, *, actor: Seat) -> None:
    """Write the draft's cover note."""
    with deed_on(HandIn, hand_in_id, Deed.WORD_HAND_IN, actor) as act:
        draft = own_draft(hand_in_id, act)
        draft.cover_note = cover_note.strip()
        draft.save(update_fields=["cover_note"])
        passage = act.passage(draft.passage_id)
        act.holds(draft)
        act.record(WordHandInData(where=passage.where), passage=passage, sight=sight_of(draft))


def hand_in(hand_in_id: int, *, cover_note: str | None = None, actor: Seat) -> HandIn:
    """Hand in a draft: number it, close it for ever, and give the passage to the publisher.

    A second call for the same draft is refused with ``already-handed-in`` and changes nothing.
    """
    with deed_on(HandIn, hand_in_id, Deed.HAND_IN, actor) as act:
        draft = own_draft(hand_in_id, act)
        passage = act.passage(draft.passage_id)
        check_hands_in(Role(act.by.role), StageKind(passage.stage.kind))
        following = next_passage(passage)
        pictures = _pictures_of(draft)
        states = [picture.state for picture in pictures]
        outcome = decisions.hand_in(
            passage.as_standing(next_is_closed=is_closed(following)),
            n_ready=states.count(PictureState.READY),
            n_unread=states.count(PictureState.RECEIVED),
            n_refused=states.count(PictureState.REFUSED),
        )
        _number(draft, passage, act, cover_note)
        _give_to_publisher(passage, draft, outcome, act)
        _number_pictures(pictures)
        came = open_next(following, outcome.opens_next, act.now)
        ask_for_comparisons(passage, draft, act)
        act.holds(draft, *draft.pictures.all())
        act.record(
            HandInData(
                where=passage.where,
                hand_in=draft.pk,
                number=draft.given_number,
                cover_note=draft.cover_note,
                pictures=_named_by_hash(pictures),
                to=passage.state,
                answer_due_on=passage.answer_due_on.isoformat() if passage.answer_due_on else None,
                **opened(came),
            ),
            passage=passage,
            # What the publisher does not see at this stage is nobody else's news either.
            sight=Sight.ILLUSTRATOR if passage.stage.gate == Gate.HIDDEN else Sight.ALL,
            # What the printer made is news to those who drew it.
            also_tell=_TOLD_OF_PROOFS if passage.stage.kind in PRINTERS_STAGES else frozenset(),
        )
    return draft


def withdraw_hand_in(hand_in_id: int, because: str, *, actor: Seat) -> None:
    """Take back a mistaken hand-in before anyone answered. It keeps its number and its trace."""
    with deed_on(HandIn, hand_in_id, Deed.WITHDRAW_HAND_IN, actor) as act:
        handed = HandIn.objects.select_related("by").get(pk=hand_in_id)
        passage = act.passage(handed.passage_id)
        check_hands_in(Role(act.by.role), StageKind(passage.stage.kind))
        if handed.state != HandInState.HANDED_IN or handed.number is None:
            raise Refused("already-answered")
        if not because.strip():
            raise Refused("reason-missing")
        outcome = decisions.withdraw_hand_in(passage.as_standing(next_is_closed=False), handed.number)
        moved = move_later(passage, act)
        handed.state = HandInState.WITHDRAWN
        handed.withdrawn_at = act.now
        handed.withdrawn_because = because.strip()[:300]
        handed.save(update_fields=["state", "withdrawn_at", "withdrawn_because"])
        passage.state = outcome.state
        passage.hand_in = passage.hand_ins.filter(state=HandInState.HANDED_IN).order_by("-number").first()
        passage.answer_due_on = None
        passage.held_since = act.now
        was_on, passage.due_on = passage.due_on, date_after_return(passage)
        passage.save(update_fields=["state", "hand_in", "answer_due_on", "held_since", "due_on"])
        payload = WithdrawHandInData(
            where=passage.where, number=handed.number, to=passage.state, reason=handed.withdrawn_because, **moved
        )
        if passage.due_on != was_on:
            payload["due_on"] = passage.due_on.isoformat()
        act.holds(handed)
        act.record(payload, passage=passage)


def _pictures_of(draft: HandIn) -> list[Picture]:
    pictures = list(draft.pictures.filter(removed_at=None))
    if len(pictures) > MAX_PICTURES:  # sheets came back in place of what was made from them
        raise Refused("draft-too-full", n=len(pictures), most=MAX_PICTURES)
    return pictures


def _number_pictures(pictures: Sequence[Picture]) -> None:
    """Number what is handed in without gaps: options are spoken of by their number."""
    for position, picture in enumerate(pictures, start=1):
        picture.position = position
    Picture.objects.bulk_update(pictures, ["position"])


def _named_by_hash(pictures: Sequence[Picture]) -> list[HandedPicture]:
    """Name the pictures by hash for the ledger, and those made from sheets by the hashes of their sheets too."""
    sources = sources_of(pictures)
    named = []
    for picture in pictures:
        one = HandedPicture(picture=picture.pk, sha256=picture.sha256)
        if picture.pk in sources:
            one["made_from"] = sources[picture.pk]
        named.append(one)
    return named


def _number(draft: HandIn, passage: Passage, act: Act, cover_note: str | None) -> None:
    last = passage.hand_ins.aggregate(last=Max("number"))["last"] or 0
    draft.state = HandInState.HANDED_IN
    draft.number = last + 1
    draft.handed_in_at = act.now
    if cover_note is not None:
        draft.cover_note = cover_note.strip()
    draft.save(update_fields=["state", "number", "handed_in_at", "cover_note"])


def _give_to_publisher(passage: Passage, handed: HandIn, outcome: decisions.Outcome, act: Act) -> None:
    passage.state = outcome.state
    passage.hand_in = handed
    passage.held_since = act.now
    answers = outcome.state == PassageState.ANSWERING
    passage.answer_due_on = answer_date(passage, act.now) if answers else None
    passage.save(update_fields=["state", "hand_in", "held_since", "answer_due_on"])


def _draft_of(passage: Passage, act: Act) -> HandIn | None:
    draft = _draft_there(passage)
    if draft is None or not hands_in(Role(draft.by.role), StageKind(passage.stage.kind)):
        return None
    if draft.by_id != act.by.pk:
        raise Refused("not-your-draft")
    return draft


def _draft_for(passage: Passage, act: Act) -> HandIn:
    draft = _draft_of(passage, act)
    if draft is None:
        if (old := _draft_there(passage)) is not None:
            # An illustrator began to hand in a proof when illustrators still did: theirs to keep, in nobody's way.
            old.state = HandInState.LEFT
            old.save(update_fields=["state"])
            act.holds(old)
        return HandIn.objects.create(passage=passage, by=act.by, state=HandInState.DRAFT, started_at=act.now)
    return draft


def _draft_there(passage: Passage) -> HandIn | None:
    return passage.hand_ins.select_related("by").filter(state=HandInState.DRAFT).first()


def _names_in(draft: HandIn) -> set[str]:
    """Give the names of what stands in a draft, and of what was set aside for a picture made from it."""
    is_sheet = Q(sheet_of__derivation__state__in=[DerivedState.ASKED, DerivedState.MADE, DerivedState.KEPT])
    return set(draft.pictures.filter(Q(removed_at=None) | is_sheet).values_list("file_name", flat=True))


def _check_takes(draft: HandIn | None, n_bytes: int) -> QuerySet[Picture]:
    """Refuse what is too much for one draft; gives the pictures that stand in it."""
    if draft is None:
        return Picture.objects.none()
    kept = draft.pictures.filter(removed_at=None)
    if kept.count() >= MAX_PICTURES:
        raise Refused("too-many-pictures")
    check_room(draft, n_bytes)
    return kept
