"""Folding the ledger gives the stored state, whatever people do in whatever order."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reviews.actions import hand_ins, letters, notes, second_voice
from reviews.actions.dates import ask_for_date
from reviews.actions.proposals import accept_proposal, decline_proposal, withdraw_proposal
from reviews.actions.taking_back import take_back_letter
from reviews.models import HandIn, LedgerEntry, Letter, Note, Passage, Proposal, Seat
from reviews.queries.ledger import chain_breaks, stored_state
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.letters import letter_fingerprint
from reviews.rules.contract.days import add_working_days
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.payloads import misfits
from reviews.rules.proposals import WhichDate
from reviews.rules.replay import folded
from reviews.rules.states import Deed, HandInState, PassageState, Refused, Role
from tests.briefs import written
from tests.cast import Cast, gather
from tests.makers import a_book, draft

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

BOX = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}
CAUSES = ["brief", "direction", "text", "question"]


class Walk:
    """Do something at random, as any of the five people; refusals are part of life."""

    def __init__(self, cast: Cast, chance: random.Random) -> None:
        self.cast, self.chance, self.refusals, self.done = cast, chance, 0, 0
        self.brief = written(cast)
        self.passages = list(Passage.objects.filter(book=cast.book, spread__label__in=["Pages 4–5", "Cover"]))

    def anyone(self):
        return self.cast.seat(self.chance.choice(list(Role)[:5]))

    def step(self) -> None:
        often = [self.hand_in, self.pin, self.letter, self.agree]
        deed = self.chance.choice([*often, *often, self.withdraw, self.object, self.talk])
        try:
            deed(self.somewhere())
            self.done += 1
            if self.done % 20 == 0:
                written(self.cast, self.passages[0], art=f"Wish {self.done}.")
        except Refused:
            self.refusals += 1

    def somewhere(self) -> Passage:
        """Mostly where work is going on, or was: a walk that knocks on closed doors gets nowhere."""
        rows = list(Passage.objects.with_places().filter(pk__in=[p.pk for p in self.passages]).order_by("pk"))
        going_on = [p for p in rows if p.state in (PassageState.DRAWING, PassageState.ANSWERING)]
        begun = [p for p in rows if p.state != PassageState.CLOSED]
        return self.chance.choice(self.chance.choices([going_on or rows, begun, rows], [0.75, 0.17, 0.08])[0])

    def hand_in(self, passage):
        actor = self.maker(passage)
        made = draft(passage, actor, [self.chance.randrange(99)])
        hand_ins.hand_in(made.pk, actor=actor)

    def maker(self, passage: Passage) -> Seat:
        """Name who hands in at a stage: production what comes from the printer."""
        return self.cast.production if passage.stage.kind in PRINTERS_STAGES else self.cast.illustrator

    def withdraw(self, passage):
        newest = HandIn.objects.filter(passage=passage, state=HandInState.HANDED_IN).last()
        if newest:
            hand_ins.withdraw_hand_in(newest.pk, "the wrong file", actor=self.anyone())

    def pin(self, passage):
        passage.refresh_from_db()
        if passage.hand_in:
            picture = passage.hand_in.pictures.first()
            notes.pin_note(
                passage.pk, picture.pk, region=BOX, words="Turn her head.",
                cause=self.chance.choice(CAUSES), brief_line=(self.brief.pk, 1), actor=self.anyone(),
            )  # fmt: skip

    def letter(self, passage):
        actor = self.cast.art_director
        for _ in range(3):
            try:
                letters.set_answer(self.somewhere().pk, answer=self.chance.choice(["approve", "ask"]), actor=actor)
            except Refused:
                self.refusals += 1
        draft_letter = Letter.objects.filter(book=self.cast.book, sent_at=None).first()
        if draft_letter:
            try:
                letters.send_letter(
                    draft_letter.pk,
                    looked_at=letter_fingerprint(draft_letter),
                    over_is_agreed=True,
                    over_brief=True,
                    actor=actor,
                )
            except Refused:
                for answer in list(draft_letter.answers.all()):
                    letters.drop_answer(answer.passage_id, actor=actor)
                raise
            if self.chance.random() < 0.15:
                self.take_back(passage)

    def take_back(self, passage):
        newest = Letter.objects.filter(book=self.cast.book, sent_at__isnull=False).order_by("-number").first()
        if newest:
            take_back_letter(newest.pk, "Sent too early.", actor=self.cast.art_director)

    def agree(self, passage):
        passage.refresh_from_db()
        if passage.hand_in:
            second_voice.agree(passage.hand_in_id, actor=self.cast.editor)

    def object(self, passage):
        passage.refresh_from_db()
        if passage.hand_in:
            second_voice.object_to(passage.hand_in_id, "Not yet.", actor=self.anyone())

    def talk(self, passage):
        """Propose a date, or answer what is proposed."""
        is_open = Proposal.objects.open().filter(book=self.cast.book).exists()
        (self.word if is_open and self.chance.random() < 0.8 else self.move)(passage)

    def move(self, passage):
        day = add_working_days(passage.due_on, self.chance.randrange(1, 60), self.cast.book.calendar)
        day = self.chance.choice([day, add_working_days(passage.due_on, -1, self.cast.book.calendar)])
        seen = Proposal.objects.open().filter(passage=passage).values_list("number", flat=True).first()
        which = WhichDate.ANSWER if passage.state == PassageState.ANSWERING else WhichDate.HAND_IN
        ask_for_date(passage.pk, to=day, reason="The text came late.", which=which, seen=seen, actor=self.speaker())

    def speaker(self):
        """Mostly somebody who binds a side; else whoever comes by."""
        return self.chance.choice([self.cast.illustrator, self.cast.art_director, self.anyone()])

    def word(self, passage):
        """Answer whatever is proposed, as anyone: accept, decline, or take it back."""
        asked = Proposal.objects.filter(book=self.cast.book).order_by("-pk").first()
        if asked is None:
            return
        actor, chance = self.speaker(), self.chance.random()
        if chance < 0.6:
            accept_proposal(asked.pk, forgives=self.chance.random() < 0.5, actor=actor)
        elif chance < 0.8:
            decline_proposal(asked.pk, "Too late.", actor=actor)
        else:
            withdraw_proposal(asked.pk, "A slip.", actor=actor)


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 10_000))
def test_folding_the_ledger_gives_the_stored_state(seed):
    walk = Walk(gather(a_book()), random.Random(seed))
    for _ in range(40):
        walk.step()
    book = walk.cast.book
    entries = [entry.as_entry() for entry in LedgerEntry.objects.filter(book=book).order_by("seq")]
    assert folded(entries) == stored_state(book)
    assert list(chain_breaks(book)) == []
    # Every row that the walk wrote is held by the entry of the deed that wrote it.
    assert list(ledger_faults(book)) == []
    assert [wrong for entry in entries for wrong in misfits(Deed(entry.deed), entry.data)] == []
    assert walk.done > 0


def test_the_walk_reaches_approvals_rounds_and_reopenings():
    """The property above is worth something only if its walks get far."""
    seen, wanted = set(), {*PassageState, "reopened", "pending", "note", "accepted", "declined", "withdrawn"}
    for seed in range(80):
        if seen >= wanted:
            break
        walk = Walk(gather(a_book()), random.Random(seed))
        for _ in range(60):
            walk.step()
        seen |= set(Passage.objects.filter(book=walk.cast.book).values_list("state", flat=True))
        letters_sent = LedgerEntry.objects.filter(book=walk.cast.book, deed="send-letter")
        sent = [answer for entry in letters_sent for answer in entry.data["answers"]]
        seen |= {"reopened" for answer in sent if answer["reopened"]}
        seen |= {"pending" for answer in sent if answer["waits_for_second"]}
        seen |= set(Proposal.objects.filter(book=walk.cast.book).values_list("state", flat=True)) - {"open"}
        seen |= {"taken back" for _ in Letter.objects.filter(book=walk.cast.book, taken_back_at__isnull=False)[:1]}
        seen |= {"note" for _ in Note.objects.filter(passage__book=walk.cast.book, state="sent")[:1]}
    assert seen >= wanted | {"taken back"}
