"""A walk through weeks that is steered into the moments at which two dates are told for one thing.

A steer is a few deeds at chosen hours: `STEERS` names them all, and a new kind of deed needs its own line there. Each
may be refused where it does not fit; `reached` counts those that went through, so that a test can say that they did.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from reviews.actions import hand_ins, letters
from reviews.actions.clock import as_if_at
from reviews.models import HandIn, Letter, Passage
from reviews.queries.letters import letter_fingerprint
from reviews.queries.terms import terms_of
from reviews.rules.contract.days import add_working_days, on_or_after
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.contract.terms import StageDays, Terms, WhenOver
from reviews.rules.states import Gate, HandInState, PassageState, Refused, Side, StageKind
from reviews.tasks.silence import keep_silence
from tests.actions.book_deeds import BOOK_DEEDS
from tests.actions.signed import enter
from tests.actions.test_replay import Walk
from tests.agreed import change_terms, move_due_date, pause_book
from tests.cast import gather
from tests.letter_scene import pinned
from tests.makers import a_book, handed_in

#: Easter, the clocks put forward and holidays of one side alone lie ahead of a start in March 2026.
STARTS = datetime(2026, 3, 23, 9, tzinfo=UTC)

STAGES = (StageDays("ideas", 4, 2), StageDays("sketch", 6, 3), StageDays("line", 3, 0), StageDays("colour", 8, 3))

#: Dates in place of days: a Saturday, a bank holiday, and one that is over before most sketches open.
FIXED = (
    StageDays("ideas", 4, 2, hand_in_on=date(2026, 3, 28)),
    StageDays("sketch", 6, 3, hand_in_on=date(2026, 4, 6), answer_on=date(2026, 4, 15)),
    StageDays("line", 3, 0),
    StageDays("colour", 8, 3, hand_in_on=date(2026, 5, 4)),
)

#: A short book whose proofs come from the printer, who keeps holidays of another place.
PROOF_PLAN = tuple(
    PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=5, answer_days=3, rounds=2)
    for kind in (StageKind.IDEAS, StageKind.PROOF)
)
WITH_PROOF = (*STAGES, StageDays("proof", 5, 3))

#: Everything switched on; the other sets of rules change some of it.
TERMS: dict[str, Any] = {
    "from_on": date(2026, 3, 2),
    "stages": STAGES,
    "zone": "Europe/London",
    "places": ("GB-ENG", "US-NY"),
    "own_places": True,
    "cut_off": time(18),
    "late_receipt": "next-working-day",
    "publisher_late_moves": True,
    "silence_approves_after": 4,
}

RULES: tuple[dict[str, Any], ...] = (
    {},
    {"silence_approves_after": None, "when_over": WhenOver.AGENT_CONSENT},
    {"silence_approves_after": None, "counts_receipt": True},
    {"cut_off": None, "late_receipt": "as-is", "counts_receipt": True},
    {
        "silence_approves_after": None,
        "own_places": False,
        "redo_from_letter": True,
        "when_over": WhenOver.AGENT_CONSENT,
    },
    {"silence_approves_after": None, "publisher_late_moves": False, "zone": "America/New_York"},
    {"stages": FIXED, "fixed_runs_on": False},
    {"silence_approves_after": None, "when_over": WhenOver.AGENT_CONSENT},
    {"silence_approves_after": None, "printer_place": "DE", "stages": WITH_PROOF, "inside": PROOF_PLAN},
)


class Steered(Walk):
    """The same people, with hours or days between what they do, and the portal looking in between."""

    def __init__(self, chance: random.Random, *, starts_in: int = 0, **rules: Any) -> None:
        self.at = STARTS
        self.reached: Counter[str] = Counter()
        plan = {"inside": rules.pop("inside")} if "inside" in rules else {}
        with as_if_at(STARTS):
            cast = gather(a_book(start_on=STARTS.date() + timedelta(starts_in), **plan))
            enter(cast, **(TERMS | rules))
        super().__init__(cast, chance)

    def step(self) -> None:
        if self.chance.random() < 0.3:
            self.steer(self.chance.choice(STEERS))
            return
        self.later(hours=self.chance.choice([1, 5, 9, 24, 72]), minutes=self.chance.randrange(60))
        with self.here():
            if self.chance.random() < 0.2:
                self.about_the_book()
            else:
                super().step()

    def about_the_book(self, deed: Callable[[Steered], None] | None = None) -> None:
        try:
            (deed or self.chance.choice(BOOK_DEEDS))(self)
        except Refused:
            self.refusals += 1

    def try_each_book_deed(self, times: int) -> None:
        """Try each kind so often, a day apart: by chance alone a rare one would not come in a few walks."""
        for deed in times * tuple(dict.fromkeys(BOOK_DEEDS)):
            self.later(hours=20)
            with self.here():
                self.about_the_book(deed)

    def one_of(self, rows: Iterable[Any]) -> Any:
        """Take any of some rows, or give up where there is none."""
        found = list(rows)
        if not found:
            raise Refused("not-now")
        return self.chance.choice(found)

    def steer(self, steer: Callable[[Steered], None]) -> None:
        try:
            steer(self)
            self.reached[steer.__name__] += 1
        except Refused:
            self.refusals += 1

    @contextmanager
    def here(self) -> Iterator[None]:
        """Do deeds at the moment the walk has come to, after the portal has looked."""
        with as_if_at(self.at):
            keep_silence(self.at)
            yield

    def later(self, **length: int) -> None:
        self.at += timedelta(**length)

    def go_to(self, day: date, hour: int, minute: int = 0) -> None:
        """Let time pass until an hour of a day; the clock never goes back."""
        self.at = max(self.at + timedelta(minutes=1), datetime.combine(day, time(hour, minute), UTC))

    def held(self, state: PassageState) -> Passage:
        """Find a passage in a state, or give the steer up."""
        rows = list(Passage.objects.with_places().filter(book=self.cast.book, state=state).order_by("pk"))
        if not rows:
            raise Refused("not-now")
        return self.chance.choice(rows)

    @property
    def terms(self) -> Terms:
        return terms_of(self.cast.book).history.at(self.at)

    def draw_and_hand_in(self, passage: Passage) -> None:
        """Hand in what is there, or a new draft."""
        made = HandIn.objects.filter(passage=passage, state=HandInState.DRAFT).first()
        if made is not None and made.pictures.filter(removed_at=None).exists():
            hand_ins.hand_in(made.pk, actor=self.maker(passage))
        else:
            handed_in(passage, self.maker(passage), [self.chance.randrange(99)])

    def write(self, passage: Passage, answer: str, cause: str = "direction") -> None:
        """Answer one passage by a letter of its own."""
        for draft in Letter.objects.filter(book=self.cast.book, sent_at=None):
            for written in list(draft.answers.all()):
                letters.drop_answer(written.passage_id, actor=self.cast.art_director)
        passage.refresh_from_db()
        if answer == "ask":
            pinned(passage, self.cast.art_director, cause=cause)
        picture = passage.hand_in.pictures.filter(removed_at=None).order_by("position").first()
        letters.set_answer(passage.pk, answer=answer, picture_id=picture.pk, actor=self.cast.art_director)
        draft = Letter.objects.get(book=self.cast.book, sent_at=None)
        letters.send_letter(
            draft.pk,
            looked_at=letter_fingerprint(draft),
            over_is_agreed=True,
            over_brief=True,
            actor=self.cast.art_director,
        )

    def agree_on(self, passage: Passage, which: str, to: date) -> None:
        """Move a date as both sides agree on it; now and then what was late until then is forgiven."""
        actor = self.chance.choice([self.cast.art_director, self.cast.illustrator])
        forgives = self.chance.random() < 0.3
        move_due_date(passage.pk, to=to, reason="The fair.", which=which, forgives=forgives, actor=actor)

    def rest(self, first: date, last: date | None, pause: int | None = None) -> None:
        """Let both sides agree on a pause; now and then what was late until then is forgiven."""
        actor = self.chance.choice([self.cast.art_director, self.cast.illustrator])
        forgives = self.chance.random() < 0.3
        pause_book(self.cast.book.pk, first=first, last=last, pause=pause, forgives=forgives, actor=actor)

    def amend(self, **changes: Any) -> None:
        """Bring an amendment into force."""
        held = terms_of(self.cast.book)
        amended = replace(held.history.versions[-1], **changes)
        change_terms(self.cast.book.pk, amended, n_seen=len(held.rows), actor=self.cast.art_director)

    def weekend(self) -> date:
        """Give the Saturday that comes."""
        return self.at.date() + timedelta((5 - self.at.weekday()) % 7)


def move_within_an_hour_of_a_weekend_letter(walk: Steered) -> None:
    """A letter on Saturday opens the next stage, or an evening one; half an hour later its date is moved."""
    passage = walk.held(PassageState.ANSWERING)
    if walk.chance.random() < 0.5:
        walk.go_to(walk.weekend(), 10)
    else:
        walk.go_to(walk.at.date() + timedelta(1), 18, 30)
    with walk.here():
        walk.write(passage, walk.chance.choice(["approve", "ask"]))
    walk.later(minutes=walk.chance.randrange(1, 60))
    with walk.here():
        drawing = walk.held(PassageState.DRAWING)
        calendar = walk.terms.calendar_of(Side.ILLUSTRATOR)
        walk.agree_on(drawing, "hand-in", add_working_days(walk.at.date(), walk.chance.randrange(1, 30), calendar))


def answer_late_on_a_stage_opened_again(walk: Steered) -> None:
    """What was approved is asked to change, comes again, and waits for days after the answer was due."""
    passage = walk.held(PassageState.APPROVED)
    walk.later(hours=3)
    with walk.here():
        walk.write(passage, "ask", "text")
    walk.later(hours=walk.chance.choice([2, 30]))
    with walk.here():
        walk.draw_and_hand_in(passage)
    passage.refresh_from_db()
    if passage.answer_due_on is None:
        raise Refused("not-now")
    walk.go_to(passage.answer_due_on + timedelta(walk.chance.randrange(6)), walk.chance.choice([10, 19]))
    with walk.here():
        walk.write(passage, walk.chance.choice(["approve", "ask"]))


def amend_between_receipt_and_the_day_it_counts(walk: Steered) -> None:
    """Handed in or answered after the hour; the amendment holds from the day on which that counts as received."""
    walk.go_to(walk.at.date() + timedelta(1), 18, 20)
    side = walk.chance.choice(list(Side))
    with walk.here():
        if side == Side.PUBLISHER:
            walk.draw_and_hand_in(walk.held(PassageState.DRAWING))
        else:
            walk.write(walk.held(PassageState.ANSWERING), walk.chance.choice(["approve", "ask"]))
    calendar = walk.terms.calendar_of(side)
    walk.later(minutes=20)
    with walk.here():
        stages = tuple(
            replace(
                line,
                hand_in_days=walk.chance.randrange(2, 9),
                answer_days=walk.chance.randrange(1, 4) if line.answer_days else 0,
            )
            for line in walk.terms.stages
        )
        # From the day on which it counts as received, or from today: what came before it today was told already.
        to_come = on_or_after(walk.at.date() + timedelta(1), calendar)
        walk.amend(from_on=walk.chance.choice([to_come, walk.at.date()]), stages=stages)


def fix_dates_of_what_is_to_come(walk: Steered) -> None:
    """Both sides agree that a stage's first version, or its answer, has a date: of what runs, and of what is closed."""
    walk.later(hours=walk.chance.choice([1, 9, 30]))
    with walk.here():
        day = walk.at.date() + timedelta(walk.chance.randrange(1, 25))
        which = walk.chance.choice(["hand_in_on", "answer_on"])
        at_stage = walk.chance.choice(["ideas", "sketch", "colour"])
        stages = tuple(
            replace(
                line, **({"hand_in_on": None, "answer_on": None} | ({which: day} if line.stage == at_stage else {}))
            )
            for line in walk.terms.stages
        )
        walk.amend(from_on=walk.at.date(), stages=stages, fixed_runs_on=walk.chance.random() < 0.5)


def hand_in_on_the_due_day(walk: Steered) -> None:
    """On the last day, an hour before the hour; the other side may have a holiday."""
    passage = walk.held(PassageState.DRAWING)
    walk.go_to(passage.due_on, 15)
    with walk.here():
        walk.draw_and_hand_in(passage)


def answer_on_the_due_day(walk: Steered) -> None:
    passage = walk.held(PassageState.ANSWERING)
    walk.go_to(passage.answer_due_on or walk.at.date(), 15)
    with walk.here():
        walk.write(passage, walk.chance.choice(["approve", "ask"]))


def withdraw_on_the_last_day(walk: Steered) -> None:
    """Handed in on the last day and taken back on it, then truly handed in a day or two later."""
    passage = walk.held(PassageState.DRAWING)
    walk.go_to(passage.due_on, 10)
    with walk.here():
        walk.draw_and_hand_in(passage)
    walk.later(hours=walk.chance.choice([1, 3, 9]))
    with walk.here():
        newest = HandIn.objects.filter(passage=passage, state=HandInState.HANDED_IN).order_by("number").last()
        if newest is None:
            raise Refused("not-now")
        hand_ins.withdraw_hand_in(newest.pk, "the wrong file", actor=walk.maker(passage))


def move_an_answer_after_a_late_hand_in(walk: Steered) -> None:
    """Handed in at night; within the hour the day of the answer is moved, earlier or later."""
    passage = walk.held(PassageState.DRAWING)
    walk.go_to(walk.at.date(), 20)
    with walk.here():
        walk.draw_and_hand_in(passage)
    walk.later(minutes=30)
    with walk.here():
        calendar = walk.terms.calendar_of(Side.PUBLISHER)
        walk.agree_on(passage, "answer", add_working_days(walk.at.date(), walk.chance.randrange(1, 12), calendar))


def pause_around_what_is_due(walk: Steered) -> None:
    """Both sides agree on a pause over a date that runs, on one that has begun, or on one that is over."""
    state = walk.chance.choice([PassageState.DRAWING, PassageState.ANSWERING])
    passage = walk.held(state)
    due_on = (passage.answer_due_on if state == PassageState.ANSWERING else passage.due_on) or walk.at.date()
    today = walk.at.date()
    first = walk.chance.choice([due_on - timedelta(2), today, today - timedelta(5), today + timedelta(3)])
    last = first + timedelta(walk.chance.choice([0, 4, 8, 15]))
    with walk.here():
        walk.rest(first, last)


def pause_before_the_answer_of_an_evening_hand_in(walk: Steered) -> None:
    """Handed in after the hour; within it a pause from the next day is agreed, and then the answer comes in it."""
    passage = walk.held(PassageState.DRAWING)
    walk.go_to(walk.at.date(), 19)
    with walk.here():
        walk.draw_and_hand_in(passage)
    walk.later(minutes=20)
    with walk.here():
        walk.rest(walk.at.date() + timedelta(1), walk.at.date() + timedelta(walk.chance.choice([1, 6, 9])))
    walk.later(hours=walk.chance.choice([15, 40, 300]))
    with walk.here():
        walk.write(passage, walk.chance.choice(["approve", "ask"]))


def change_a_pause(walk: Steered) -> None:
    """A pause ends early, lasts longer, or is called off."""
    walk.later(hours=walk.chance.choice([2, 26]))
    walk.cast.book.refresh_from_db()
    if not walk.cast.book.pauses:
        raise Refused("not-now")
    pause = walk.chance.choice(walk.cast.book.pauses)
    first, today = date.fromisoformat(pause["first"]), walk.at.date()
    lasts = [today, today + timedelta(3), date.fromisoformat(pause["last"]) + timedelta(4)]
    last = walk.chance.choice([*lasts, *([None] if first > today else [])])
    with walk.here():
        walk.rest(first, last, pause["pause"])


STEERS: tuple[Callable[[Steered], None], ...] = (
    move_within_an_hour_of_a_weekend_letter,
    answer_late_on_a_stage_opened_again,
    amend_between_receipt_and_the_day_it_counts,
    fix_dates_of_what_is_to_come,
    hand_in_on_the_due_day,
    answer_on_the_due_day,
    withdraw_on_the_last_day,
    move_an_answer_after_a_late_hand_in,
    pause_around_what_is_due,
    pause_before_the_answer_of_an_evening_hand_in,
    change_a_pause,
)
