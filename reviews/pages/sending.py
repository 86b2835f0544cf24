"""What sending the letter will do, worked out before it is sent: rounds, fee, dates, who is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise

from reviews.models import Book, Letter, LetterAnswer, Note, Passage, Seat
from reviews.pages.wording.due_dates import moved_by_lateness_words
from reviews.pages.wording.names import answer_words
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.due_under_terms import opening_due
from reviews.queries.letter_cost import PlannedLetter, planned_letter
from reviews.queries.letters import letter_fingerprint, placed_notes, unsent_notes
from reviews.queries.statement import facts_in
from reviews.rules import decisions
from reviews.rules.audiences import AUDIENCES
from reviews.rules.contract.days import add_working_days
from reviews.rules.letters import Effect, clusters
from reviews.rules.states import APPROVALS, Answer, Cause, Deed, PassageState, Refused, Role, Side, Weighing


@dataclass(frozen=True, kw_only=True)
class Consequence:
    """What sending does to one passage, in sentences; ``stop`` says why it cannot be sent as it stands."""

    effect: Effect
    written: LetterAnswer
    n_notes: int
    following: Passage | None
    following_due_on: date | None
    moves: tuple[str, ...]
    stop: str

    @property
    def answer_words(self) -> str:
        return answer_words(self.written.answer)

    @property
    def mark(self) -> str:
        """Name the drawn mark of where the passage will stand."""
        if self.effect.answer == Answer.ASK:
            return PassageState.DRAWING
        return "waiting_second" if self.effect.waits_for_second else PassageState.APPROVED

    @property
    def freezes(self) -> bool:
        return self.takes_effect and self.written.picture is not None

    @property
    def opens(self) -> Passage | None:
        """Name the stage that opens, if the approval takes effect and it has yet to open."""
        is_closed = self.following is not None and self.following.state == PassageState.CLOSED
        return self.following if self.takes_effect and is_closed else None

    @property
    def has_next(self) -> bool:
        return self.following is not None

    @property
    def takes_effect(self) -> bool:
        return self.effect.answer in APPROVALS and not self.effect.waits_for_second

    @property
    def costs(self) -> bool:
        return self.effect.is_over or self.effect.outside_fee


@dataclass(frozen=True, kw_only=True)
class Sending:
    """The page before the letter goes.

    ``n_staying`` notes wait for a later letter, their spreads having no answer; where one of them stands before a
    note that goes, the letter ``renumbers``: its own notes count from 1 without a gap.
    """

    letter: Letter
    planned: PlannedLetter
    consequences: list[Consequence]
    audience: list[Seat]
    n_going: int
    n_held: int
    n_staying: int
    renumbers: bool
    n_clashes: int
    looked_at: str

    @property
    def stops(self) -> list[Consequence]:
        return [one for one in self.consequences if one.stop]

    @property
    def costly(self) -> list[Consequence]:
        return [one for one in self.consequences if one.costs]

    @property
    def may_go(self) -> bool:
        return bool(self.consequences) and not self.stops and not self.planned.stop


def sending_page(letter: Letter, seat: Seat, *, at: datetime) -> Sending:
    """Work out what sending the draft will do, before it is done (7 queries, 8 where terms are implied)."""
    answers = _full_answers(letter)
    passages = _passages(letter.book)
    every = unsent_notes([passage.pk for passage in passages])
    answered = {answer.passage_id for answer in answers}
    notes = [note for note in every if note.passage_id in answered]
    through = [note for note in notes if note.weighing == Weighing.THROUGH]
    # Where the hand-in was taken back, nothing is answered for now, and the draft leaves its notes unnumbered too.
    later = {passage.pk for passage in passages if passage.hand_in_id} - answered
    staying = [note for note in every if note.passage_id in later and note.weighing == Weighing.THROUGH]
    facts = facts_in(passage.spread for passage in passages)
    planned = planned_letter(letter.book, answers, notes, at=at, facts=facts)
    consequences = _consequences(answers, planned, passages, through, at)
    audience = _audience(letter.book, seat, opens_any=any(one.opens for one in consequences))
    return Sending(
        letter=letter,
        planned=planned,
        consequences=consequences,
        audience=audience,
        n_going=len(through),
        n_held=len(notes) - len(through),
        n_staying=len(staying),
        renumbers=_renumbers(passages, through, staying),
        n_clashes=sum(len(group) > 1 for group in clusters(placed_notes(through))),
        looked_at=letter_fingerprint(letter, answers, notes),
    )


def _consequences(
    answers: Sequence[LetterAnswer],
    planned: PlannedLetter,
    passages: Sequence[Passage],
    through: Sequence[Note],
    at: datetime,
) -> list[Consequence]:
    held, following = None if planned.is_implied else planned.terms, _following(passages)
    consequences = []
    for written, effect in zip(answers, planned.effects, strict=True):
        own = [note for note in through if note.passage_id == written.passage_id]
        nxt = following.get(written.passage_id)
        consequences.append(
            Consequence(
                effect=effect,
                written=written,
                n_notes=len(own),
                following=nxt,
                following_due_on=opening_due(nxt, held, at, moved=planned.moved.get(nxt.pk)) if nxt else None,
                moves=_moves(written, passages, planned, is_pending=effect.waits_for_second),
                stop=_stop(written, [Cause(note.cause) for note in own]),
            )
        )
    return consequences


def _moves(
    written: LetterAnswer, passages: Sequence[Passage], planned: PlannedLetter, *, is_pending: bool
) -> tuple[str, ...]:
    """Say which later stages that are drawn already are due later, because this answer is late."""
    late = 0 if is_pending else planned.late.get(written.passage_id, 0)
    own = written.passage
    calendar = planned.terms.calendar_of(Side.ILLUSTRATOR)
    return tuple(
        moved_by_lateness_words(passage.where, passage.due_on, add_working_days(passage.due_on, late, calendar), late)
        for passage in passages
        if late
        and passage.spread_id == own.spread_id
        and passage.stage.position > own.stage.position
        and passage.state == PassageState.DRAWING
    )


def _renumbers(passages: Sequence[Passage], through: Sequence[Note], staying: Sequence[Note]) -> bool:
    """Say whether a note that stays stands before one that goes, as the book reads."""
    place = {passage.pk: (passage.spread.position, passage.stage.position) for passage in passages}
    if not through or not staying:
        return False
    return min(place[note.passage_id] for note in staying) < max(place[note.passage_id] for note in through)


def _full_answers(letter: Letter) -> list[LetterAnswer]:
    return list(
        letter.answers.select_related(
            "passage__book", "passage__spread", "passage__stage", "passage__hand_in", "passage__pending",
            "hand_in", "picture",
        ).order_by("passage__spread__position", "passage__stage__position")
    )  # fmt: skip


def _passages(book: Book) -> list[Passage]:
    """Read a book's passages, spread by spread in the order of their stages (1 query)."""
    rows = Passage.objects.live().select_related("stage", "spread").filter(book=book)
    passages = list(rows.order_by("spread", "stage__position"))
    for passage in passages:
        passage.book = book
    return passages


def _following(passages: Sequence[Passage]) -> dict[int, Passage]:
    """Find for each passage the stage after it (no query)."""
    following = {}
    for earlier, later in pairwise(passages):
        if earlier.spread_id == later.spread_id:
            following[earlier.pk] = later
    return following


def _stop(written: LetterAnswer, causes: Sequence[Cause]) -> str:
    """Say why this answer could not be sent; the rule that will judge it is asked, not repeated."""
    standing = written.passage.as_standing(next_is_closed=False)
    try:
        decisions.check_answer(
            standing,
            Answer(written.answer),
            hand_in=written.hand_in.number,
            has_picture=written.picture_id is not None,
            causes=causes,
        )
    except Refused as refused:
        return sentence_for(refused)
    return ""


def _audience(book: Book, seat: Seat, *, opens_any: bool) -> list[Seat]:
    roles = AUDIENCES[Deed.SEND_LETTER] | ({Role.PRODUCTION} if opens_any else frozenset())
    rows = Seat.objects.select_related("person").filter(book=book, ended_at=None, role__in=roles)
    return list(rows.exclude(person_id=seat.person_id).order_by("role", "pk"))
