"""What an answer does to its passage, shared by the letter and by the second voice."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from django.db.models import Count

from reviews.actions._deed import Act
from reviews.actions._opening import is_closed, move_later, next_passage, open_next, opened, redraw_date
from reviews.models import Agreement, HandIn, LetterAnswer, Note, Passage, Picture
from reviews.queries.text_blocks import is_text_changed_under
from reviews.rules import decisions
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.letter_payloads import LetterAnswerData
from reviews.rules.payload_shapes import LateMoves
from reviews.rules.states import Answer, Cause, NoteState, PassageState, Weighing
from reviews.rules.text_blocks import with_text_change


def answer_passage(written: LetterAnswer, act: Act, *, leave: Collection[int] = ()) -> LetterAnswerData:
    """Carry out one answer of a letter that is being sent; returns what the ledger says of it."""
    passage = act.passage(written.passage_id)
    following = next_passage(passage)
    standing = passage.as_standing(next_is_closed=is_closed(following))
    causes = sorted({Cause(cause) for cause in _causes_let_through(passage, leave)})
    given = Answer(written.answer)
    decisions.check_answer(
        standing, given, hand_in=written.hand_in.number, has_picture=written.picture_id is not None, causes=causes
    )
    is_changed = given == Answer.ASK and is_text_changed_under(written)
    counted = with_text_change(causes, is_changed=is_changed)
    outcome = decisions.answer(standing, given, second_voice_agreed=_second_voice_agreed(written.hand_in))
    written.reopened = outcome.reopened
    written.save(update_fields=["reopened"])
    stood_on = passage.due_on
    moved = move_later(passage, act) if outcome.state != PassageState.ANSWERING else LateMoves()
    came = take_outcome(passage, written.picture, outcome, following, act)
    return LetterAnswerData(
        passage=passage.pk,
        where=passage.where,
        hand_in=written.hand_in.given_number,
        answer=given,
        causes=[cause.value for cause in counted],
        errors=_errors_let_through(passage, leave),
        handed_in_by=written.hand_in.by.role,
        stage=passage.stage.kind,
        reopened=outcome.reopened,
        picture=written.picture_id,
        sha256=written.picture.sha256 if written.picture else "",
        waits_for_second=outcome.pending,
        to=passage.state,
        **opened(came),
        due_on=passage.due_on.isoformat(),
        stood_on=stood_on.isoformat(),
        **moved,
    )


def take_outcome(
    passage: Passage,
    picture: Picture | None,
    outcome: decisions.Outcome,
    following: Passage | None,
    act: Act,
    *,
    silent_on: date | None = None,
) -> list[Passage]:
    """Write an outcome into the passage; returns the passages that open because of it."""
    passage.state = outcome.state
    passage.pending = passage.hand_in if outcome.pending else None
    if outcome.state != PassageState.ANSWERING:
        passage.answer_due_on = None
        passage.held_since = act.now
    if outcome.state == PassageState.DRAWING:
        passage.due_on = redraw_date(passage, act.now)
    if outcome.freezes and picture is not None:
        passage.approved_picture = picture
        passage.approved_sha256 = picture.sha256
        passage.approved_at = act.now
    passage.save(
        update_fields=[
            "state",
            "pending",
            "answer_due_on",
            "held_since",
            "due_on",
            "approved_picture",
            "approved_sha256",
            "approved_at",
        ]
    )
    return open_next(following, outcome.opens_next, act.now, silent_on=silent_on)


def _causes_let_through(passage: Passage, leave: Collection[int]) -> list[str]:
    return list(
        Note.objects.filter(passage=passage, state=NoteState.UNSENT, weighing=Weighing.THROUGH)
        .exclude(pk__in=leave)
        .order_by()
        .values_list("cause", flat=True)
        .distinct()
    )


def _errors_let_through(passage: Passage, leave: Collection[int]) -> dict[str, int]:
    """Count the marks on a proof by whose error each is; nothing at another stage (1 query, none there)."""
    if passage.stage.kind not in PRINTERS_STAGES:
        return {}
    notes = Note.objects.filter(passage=passage, state=NoteState.UNSENT, weighing=Weighing.THROUGH)
    told = notes.exclude(pk__in=leave).exclude(error="").order_by().values_list("error").annotate(n=Count("pk"))
    return dict(sorted(told))


def _second_voice_agreed(hand_in: HandIn) -> bool:
    # Of several editors the one who spoke last counts, which is what the letter's page shows.
    last = Agreement.objects.filter(hand_in=hand_in, seat__ended_at=None).order_by("-at", "-pk").first()
    return last is not None and last.agrees
