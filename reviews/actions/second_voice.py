"""The second voice: the editor agrees to a hand-in, or does not."""

from __future__ import annotations

from collections.abc import Sequence

from reviews.actions._answers import take_outcome
from reviews.actions._deed import Act, deed_on, deeds_on
from reviews.actions._opening import is_closed, move_later, next_passage, opened
from reviews.actions.taken_faults import check_stoppers
from reviews.models import Agreement, Book, HandIn, LetterAnswer, Passage, Picture, Seat
from reviews.rules import decisions
from reviews.rules.letter_payloads import AgreeData, ObjectData
from reviews.rules.payload_shapes import LateMoves
from reviews.rules.states import Answer, Deed, HandInState, Refused, Role, Sight


def agree(hand_in_id: int, *, actor: Seat) -> Passage:
    """Agree to a hand-in; an approval that waited for this takes effect in the same moment."""
    with deed_on(HandIn, hand_in_id, Deed.AGREE, actor) as act:
        return _agree(act, hand_in_id)


def agree_together(book_id: int, hand_ins: Sequence[int], *, actor: Seat) -> list[Passage]:
    """Agree to several hand-ins of a book whose approval waits for nothing else: to all of them or to none."""
    named = list(dict.fromkeys(hand_ins))
    if not named:
        raise Refused("agree-to-nothing")
    with deeds_on(Book, book_id, actor) as acts:
        waiting = Passage.objects.live().filter(book=book_id, pending__in=named)
        # What was answered meanwhile, or lies in another book, waits for no agreement here.
        if set(waiting.values_list("pending", flat=True)) != set(named):
            raise Refused("agree-to-others")
        agreed = []
        for hand_in_id in named:
            with acts.deed(Deed.AGREE) as act:
                agreed.append(_agree(act, hand_in_id))
    return agreed


def _agree(act: Act, hand_in_id: int) -> Passage:
    handed = _handed(hand_in_id)
    passage = act.passage(handed.passage_id)
    following = next_passage(passage)
    standing = passage.as_standing(next_is_closed=is_closed(following))
    outcome = decisions.agree(standing, handed.number or 0)
    if outcome.freezes:  # a stopper may have appeared since the letter was sent
        check_stoppers(passage, Answer.APPROVE)
    said, _ = Agreement.objects.update_or_create(
        hand_in=handed, seat=act.by, defaults={"agrees": True, "words": "", "at": act.now}
    )
    moved = move_later(passage, act) if outcome.freezes else LateMoves()
    picture = _pending_picture(passage) if outcome.freezes else None
    came = take_outcome(passage, picture, outcome, following, act) if picture is not None else []
    data = AgreeData(
        where=passage.where, hand_in=handed.pk, number=handed.number or 0, completes=outcome.freezes,
        to=passage.state, **opened(came),
    )  # fmt: skip
    data |= moved
    if picture is not None:
        data |= {"picture": picture.pk, "sha256": picture.sha256}
    audience = frozenset({Role.ILLUSTRATOR, Role.AGENT}) if outcome.freezes else frozenset()
    # Until it completes an approval, who agrees to what is the publisher's own affair.
    sight = Sight.ALL if outcome.freezes else Sight.PUBLISHER
    act.holds(said)
    act.record(data, passage=passage, sight=sight, also_tell=audience)
    return passage


def object_to(hand_in_id: int, words: str, *, actor: Seat) -> Passage:
    """Say no, with words; an approval that waited falls and the art director answers anew."""
    if not words.strip():
        raise Refused("objection-needs-words")
    with deed_on(HandIn, hand_in_id, Deed.OBJECT, actor) as act:
        handed = _handed(hand_in_id)
        passage = act.passage(handed.passage_id)
        decisions.object_to(passage.as_standing(next_is_closed=False), handed.number or 0)
        said, _ = Agreement.objects.update_or_create(
            hand_in=handed, seat=act.by, defaults={"agrees": False, "words": words.strip(), "at": act.now}
        )
        passage.pending = None
        passage.save(update_fields=["pending"])
        data = ObjectData(
            where=passage.where, hand_in=handed.pk, number=handed.number or 0, words=words.strip(), to=passage.state
        )
        act.holds(said)
        act.record(data, passage=passage, sight=Sight.PUBLISHER)
    return passage


def _handed(hand_in_id: int) -> HandIn:
    handed = HandIn.objects.get(pk=hand_in_id)
    if handed.state != HandInState.HANDED_IN:
        raise Refused("already-answered")
    return handed


def _pending_picture(passage: Passage) -> Picture | None:
    """Find the picture that the waiting approval chose."""
    written = (
        LetterAnswer.objects.select_related("picture")
        .filter(passage=passage, hand_in=passage.pending, letter__sent_at__isnull=False, letter__taken_back_at=None)
        .order_by("-letter__number")
        .first()
    )
    return written.picture if written else None
