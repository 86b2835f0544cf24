"""What sending the letter will do, worked out before it is sent: rounds, fee, dates, who is told."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import pairwise
from typing import Any

from django.db.models import Count

from reviews.models import Agreement, Book, Letter, LetterAnswer, Note, Passage, Picture, Seat
from reviews.pages.letter_pages import LetterNote, LetterPage, Section, option_of
from reviews.pages.note_crops import crop_of
from reviews.pages.since_looked import SinceLooked, changed_since
from reviews.pages.wording.dates import near_day
from reviews.pages.wording.due_dates import moved_by_lateness_words
from reviews.pages.wording.letter_answers import answer_words, printers_stage
from reviews.pages.wording.letter_effects import Onward, effect_lines
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.due_under_terms import opening_due
from reviews.queries.letter_cost import PlannedLetter, planned_letter
from reviews.queries.letters import (
    letter_fingerprint,
    letter_marks,
    next_number,
    placed_notes,
    seats_of,
    second_words,
    unsent_notes,
)
from reviews.queries.statement import facts_in
from reviews.rules import decisions
from reviews.rules.audiences import AUDIENCES
from reviews.rules.contract.days import add_working_days
from reviews.rules.letters import Effect, clusters, number_notes
from reviews.rules.states import (
    APPROVALS,
    Answer,
    Cause,
    Deed,
    PassageState,
    Refused,
    Role,
    Side,
    Weighing,
    in_a_sentence,
)


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
    objection: Agreement | None = None
    n_brief: int = 0
    #: The text was changed under what is asked to be changed, so the ask counts as a change of text.
    is_text_changed: bool = False

    @property
    def passes_over_brief(self) -> bool:
        """Say whether something is approved while notes that go with it say that the brief was not met."""
        return self.effect.answer in APPROVALS and self.n_brief > 0

    @property
    def answer_words(self) -> str:
        return answer_words(self.written.answer, self.written.passage.stage.kind)

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
    def onward(self) -> Onward:
        """Say what comes after the answer."""
        opens = self.opens
        return Onward(
            moves=self.moves,
            opens=in_a_sentence(opens.stage.name) if opens else "",
            opens_on=self.following_due_on,
            is_last=self.freezes and self.following is None,
        )

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
    marks: str
    since: SinceLooked | None
    page: LetterPage

    @property
    def stops(self) -> list[Consequence]:
        return [one for one in self.consequences if one.stop]

    @property
    def costly(self) -> list[Consequence]:
        return [one for one in self.consequences if one.costs]

    @property
    def over_brief(self) -> list[Consequence]:
        return [one for one in self.consequences if one.passes_over_brief]

    @property
    def objected(self) -> list[Consequence]:
        return [one for one in self.consequences if one.objection is not None]

    @property
    def may_go(self) -> bool:
        return bool(self.consequences) and not self.stops and not self.planned.stop


def sending_page(letter: Letter, seat: Seat, *, at: datetime, looked: Mapping[str, Any] | None = None) -> Sending:
    """Write the letter as it would go, and what sending it will do (10 queries, 11 where terms are implied).

    ``looked`` are the marks of the letter as it was read when somebody else changed it: what changed is told, and the
    notes that came since are left for a later letter.
    """
    answers = _full_answers(letter)
    passages = _passages(letter.book)
    every = unsent_notes([passage.pk for passage in passages])
    answered = {answer.passage_id for answer in answers}
    whole = [note for note in every if note.passage_id in answered]
    marks = letter_marks(letter, answers, whole)
    since = changed_since(looked, marks, answers, whole) if looked is not None else None
    late = {note.pk for note in since.late} if since else set()
    notes = [note for note in whole if note.pk not in late]
    through = [note for note in notes if note.weighing == Weighing.THROUGH]
    # Where the hand-in was taken back, nothing is answered for now, and the draft leaves its notes unnumbered too.
    later = {passage.pk for passage in passages if passage.hand_in_id} - answered
    staying = [note for note in every if note.passage_id in later and note.weighing == Weighing.THROUGH]
    facts = facts_in(passage.spread for passage in passages)
    said = second_words([answer.hand_in_id for answer in answers])
    planned = planned_letter(letter.book, answers, notes, at=at, facts=facts, said=said)
    consequences = [
        _with_words(one, said, through, planned) for one in _consequences(answers, planned, passages, through, at)
    ]
    seats = _told(letter.book, opens_any=any(one.opens for one in consequences))
    return Sending(
        letter=letter,
        planned=planned,
        consequences=consequences,
        audience=[one for one in seats if one.person_id != seat.person_id],
        n_going=len(through),
        n_held=len(notes) - len(through),
        n_staying=len(staying),
        renumbers=_renumbers(passages, through, staying),
        n_clashes=sum(len(group) > 1 for group in clusters(placed_notes(through))),
        looked_at=letter_fingerprint(letter, answers, whole),
        marks=json.dumps(marks),
        since=since,
        page=_page(letter, seat, consequences, through, seats, at),
    )


def _with_words(
    one: Consequence, said: Mapping[int, Agreement], through: Sequence[Note], planned: PlannedLetter
) -> Consequence:
    """Add what its sender is told of an answer beside its costs."""
    return replace(
        one,
        objection=_objection(said, one.written.hand_in_id),
        n_brief=_n_brief(one, through),
        is_text_changed=one.written.passage_id in planned.text_changed,
    )


def _objection(said: Mapping[int, Agreement], hand_in: int | None) -> Agreement | None:
    word = said.get(hand_in) if hand_in is not None else None
    return word if word is not None and not word.agrees else None


def _page(
    letter: Letter,
    seat: Seat,
    consequences: Sequence[Consequence],
    through: Sequence[Note],
    seats: Sequence[Seat],
    at: datetime,
) -> LetterPage:
    """Write the letter as it will stand once sent: the same page, before it has a line in the ledger (2 queries)."""
    numbers = number_notes(placed_notes(through), [one.written.passage_id for one in consequences])
    notes: dict[int, list[LetterNote]] = {}
    for note in sorted(through, key=lambda row: numbers[row.pk]):
        read = LetterNote(row=note, crop=crop_of(note, str(numbers[note.pk])), number=numbers[note.pk])
        notes.setdefault(note.passage_id, []).append(read)
    on = letter.book.day_rule.local_date(at)
    handed = [one.written.hand_in_id for one in consequences]
    rows = Picture.objects.filter(hand_in__in=handed, removed_at=None).order_by().values_list("hand_in")
    n_options = dict(rows.annotate(n=Count("pk")))
    return LetterPage(
        letter=letter,
        number=next_number(letter.book),
        by=seat,
        on=on,
        to_names=" and ".join(one.person.name for one in seats if one.role == Role.ILLUSTRATOR),
        sections=[_section(one, notes, n_options, on) for one in consequences],
        held=[],
        stand=None,
    )


def _section(
    one: Consequence, notes: Mapping[int, list[LetterNote]], n_options: Mapping[int, int], on: date
) -> Section:
    written, effect = one.written, one.effect
    waits, due_on = effect.waits_for_second, effect.due_on
    return Section(
        passage=written.passage_id,
        where=effect.where,
        answer=effect.answer,
        reopened=effect.answer == Answer.ASK and written.passage.state == PassageState.APPROVED,
        waits_for_second=waits,
        due_on=due_on,
        picture=written.picture,
        option=option_of(written.picture, n_options.get(written.hand_in_id, 1)),
        approved_on=None if waits else on,
        notes=notes.get(written.passage_id, []),
        printers_stage=printers_stage({"handed_in_by": written.hand_in.by.role, "stage": written.passage.stage.kind}),
        effects=tuple(effect_lines(effect, one.onward, near_day)),
        consequence=one,
    )


def _n_brief(one: Consequence, through: Sequence[Note]) -> int:
    return sum(note.cause == Cause.BRIEF for note in through if note.passage_id == one.written.passage_id)


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
            "hand_in__by", "picture",
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


def _told(book: Book, *, opens_any: bool) -> list[Seat]:
    """List the seats that hear of the letter, the illustrators whose name it bears among them."""
    roles = AUDIENCES[Deed.SEND_LETTER] | ({Role.PRODUCTION} if opens_any else frozenset())
    told = [seat for seat in seats_of(book) if seat.ended_at is None and seat.role in roles]
    return sorted(told, key=lambda seat: (seat.role, seat.pk))
