"""F&Gs: a stage of their own after the proof, handed in by production, whose days with the printer are nobody's."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import notes
from reviews.actions.clock import as_if_at
from reviews.actions.layout import change_plan
from reviews.models import HandIn, LedgerEntry, Notice, Passage, Stage, StagePlan
from reviews.pages.before_handing_in import draft_check
from reviews.pages.wording.ledger import sentence
from reviews.queries.held_check import check_held
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.queries.stoppers import held_by_stoppers
from reviews.rules.contract.periods import StageDays, StageSilence
from reviews.rules.contract.plans import READY_PLANS, PlannedStage
from reviews.rules.states import Deed, Gate, PassageState, Role, Side, StageKind
from tests.actions.signed import enter
from tests.actions.test_page_changes import agreed, back, drop
from tests.actions.test_whole_notes import whole
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import answered, approved, draft_of, pinned, sent
from tests.makers import a_book, draft, handed_in
from tests.refusing import refusal

pytestmark = pytest.mark.django_db

KINDS = (StageKind.COLOUR, StageKind.PROOF, StageKind.GATHERED)
PLAN = tuple(PlannedStage(kind=kind, gate=Gate.ANSWERS, hand_in_days=10, answer_days=5, rounds=1) for kind in KINDS)


@pytest.fixture
def cast() -> Cast:
    return gather(a_book(inside=PLAN))


@pytest.fixture
def gathered(cast) -> Passage:
    """A spread whose proof was let go to print, so that its F&Gs are with the printer."""
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    handed_in(cast.passage("Pages 4–5", "proof"), cast.production, [2])
    answered(cast, cast.passage("Pages 4–5", "proof"), "approve")
    sent(cast)
    passage = cast.passage("Pages 4–5", "gathered")
    assert passage.state == PassageState.DRAWING
    return passage


def bound(cast: Cast, passage: Passage, answer: str = "approve") -> LedgerEntry:
    answered(cast, passage, answer)
    sent(cast)
    return LedgerEntry.objects.get(deed=Deed.SEND_LETTER, seq=LedgerEntry.objects.latest("seq").seq)


def test_no_ready_plan_and_no_book_of_before_has_the_stage(cast):
    assert not any(stage.kind == StageKind.GATHERED for plan in READY_PLANS.values() for stage in plan.stages)
    assert not Stage.objects.filter(kind="gathered", plan__covers=True).exists()


def test_the_illustrator_hands_in_no_folded_sheets(cast, gathered, client):
    assert refusal(draft, gathered, cast.illustrator) == "proof-is-productions"
    assert refusal(draft, gathered, cast.editor) == "not-yours"
    assert not HandIn.objects.filter(passage=gathered).exists()
    sign_in(client, cast.illustrator.person)
    assert client.get(reverse("reviews:draft-hand-in", args=[gathered.pk])).status_code == 403
    assert "Hand in pictures" not in client.get(reverse("reviews:passage", args=[gathered.pk])).content.decode()


def test_production_hands_them_in_and_both_sides_are_told(cast, gathered):
    handed_in(gathered, cast.production, [5])
    told = set(Notice.objects.filter(entry=LedgerEntry.objects.latest("seq")).values_list("person__name", flat=True))
    assert {cast.illustrator.person.name, cast.agent.person.name, cast.art_director.person.name} <= told
    assert check_held(cast.book).faults == [] and list(ledger_faults(cast.book)) == []


def test_the_printers_days_are_neither_sides_whatever_the_terms_give(cast, gathered):
    days = (StageDays("colour", 5, 3), StageDays("proof", 5, 3), StageDays("gathered", 1, 3))
    enter(cast, stages=days, groups=())  # one day, as a publisher would write it who wants lateness to be counted
    now = timezone.now()
    with as_if_at(now + timedelta(days=60)):
        handed_in(gathered, cast.production, [5])
    with as_if_at(now + timedelta(days=70)):
        gathered.refresh_from_db()
        pinned(gathered, cast.production, "Pages 4 and 5 are gathered the wrong way round.", cause="printer")
        entry = bound(cast, gathered, "ask")
    assert entry.data["answers"][0]["stage"] == "gathered"
    [line] = [
        line for line in reckon_one(cast.book, now + timedelta(days=160)).statement.lines if line.passage == gathered.pk
    ]
    assert [turn.side for turn in line.turns] == [Side.PUBLISHER] and not line.turns[0].is_open
    assert line.rounds.used == 0, "what goes back to the printer is no round of the illustrator's"
    assert line.days.illustrator == 0 and line.days.illustrator_late == 0


def test_production_answers_the_notes_and_says_whose_error_it_was(cast, gathered, client):
    colour = cast.passage("Pages 6–7", "colour")
    handed_in(colour, cast.illustrator, [6])
    assert refusal(pinned, colour, cast.production, cause="printer") == "printer-at-proof"
    handed_in(gathered, cast.production, [5])
    note = pinned(gathered, cast.production, "The fold creeps by two millimetres.", cause="printer")
    entry = bound(cast, gathered, "ask")
    assert "Pages 4–5, F&Gs – New F&Gs" in sentence(entry.as_entry())
    assert refusal(notes.answer_note, note.pk, response="done", actor=cast.illustrator) == "note-is-productions"
    sign_in(client, cast.illustrator.person)
    page = client.get(reverse("reviews:letter", args=[entry.data["letter"]])).content.decode()
    assert "New F&amp;Gs" in page and "The printer’s error" in page and 'name="response"' not in page
    notes.answer_note(note.pk, response="done", actor=cast.production)


@pytest.mark.parametrize(
    ("answer", "words"), [("approve", "OK to bind"), ("approve_small", "OK to bind after corrections")]
)
def test_the_answers_are_the_trades(cast, gathered, client, answer, words):
    handed_in(gathered, cast.production, [5])
    sign_in(client, cast.art_director.person)
    table = client.get(reverse("reviews:passage", args=[gathered.pk])).content.decode()
    assert all(button in table for button in ("OK to bind", "OK to bind after corrections", "New F&amp;Gs"))
    assert "OK to print" not in table and "By now the run is printed" in table
    assert "rounds used" not in table and "round used" not in table
    answered(cast, gathered, answer)
    draft_page = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    assert "By now the run is printed" in draft_page
    before = client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    assert words in before and "Approved with" not in before, "the letter reads before it goes as it will read"
    letter = sent(cast)
    read = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert words in read and "OK to print" not in read
    assert f"Pages 4–5, F&Gs – {words}" in sentence(LedgerEntry.objects.latest("seq").as_entry())


def test_they_are_not_let_go_to_be_bound_while_their_art_or_proof_is_changed(cast, gathered):
    handed_in(gathered, cast.production, [5])
    colour = cast.passage("Pages 4–5", "colour")
    answered(cast, colour, "ask")
    pinned(colour, cast.art_director, "The scarf is red after all.")
    sent(cast, over=True)
    colour.refresh_from_db()
    assert colour.state == PassageState.DRAWING
    assert refusal(answered, cast, gathered, "approve") == "printed-in-work"
    gathered.refresh_from_db()
    assert held_by_stoppers([gathered]) == {gathered.pk}, "nor does silence let them go"
    answered(cast, gathered, "ask")


def test_the_table_names_no_day_of_silence_for_them_while_their_art_is_changed(cast, gathered, client):
    days = tuple(StageDays(kind, 5, 5) for kind in ("colour", "proof", "gathered"))
    enter(cast, from_on=date(2020, 1, 6), stages=days, groups=(), silences=(StageSilence("gathered", 14),))
    handed_in(gathered, cast.production, [5])
    colour, page = cast.passage("Pages 4–5", "colour"), reverse("reviews:passage", args=[gathered.pk])
    sign_in(client, cast.art_director.person)
    assert client.get(page).context["passage"]["silent_on"] is not None
    answered(cast, colour, "ask")
    pinned(colour, cast.art_director, "The scarf is red after all.")
    sent(cast, over=True)
    assert client.get(page).context["passage"]["silent_on"] is None


def test_before_they_are_handed_in_only_notes_on_what_the_printer_made_are_read_beside_them(cast, gathered):
    colour = cast.passage("Pages 6–7", "colour")
    handed_in(colour, cast.illustrator, [6])
    for passage, seat, words in (
        (colour, cast.editor, "Blue throughout."), (gathered, cast.production, "Creeps throughout.")
    ):  # fmt: skip
        if passage == gathered:
            handed_in(gathered, cast.production, [5])
        whole(passage, seat, words)
        answered(cast, passage, "ask")
    sent(cast)
    told = {}
    for passage, seat in ((colour, cast.illustrator), (gathered, cast.production)):
        draft(passage, seat, [9])
        told[passage.stage.kind] = [note["words"] for note in draft_check(passage, seat)["notes"]]
    assert told == {"colour": ["Blue throughout."], "gathered": ["Creeps throughout."]}


def test_every_desk_says_that_the_printer_has_them(cast, gathered, client):
    for role, words in (
        (Role.ILLUSTRATOR, "With the printer"), (Role.ART_DIRECTOR, "With the printer"),
        (Role.PRODUCTION, "Hand in the printer’s F&amp;Gs"),
    ):  # fmt: skip
        sign_in(client, cast.seat(role).person)
        assert words in client.get(reverse("reviews:desk")).content.decode()
    hand_in_page = client.get(reverse("reviews:draft-hand-in", args=[gathered.pk])).content.decode()
    assert "F&amp;Gs, the printed sheets folded and gathered before they are bound" in hand_in_page


def test_a_spread_that_was_away_comes_back_to_the_printer(cast, gathered):
    agreed(cast, drop(cast, "Pages 4–5"))
    agreed(cast, back(cast, "Pages 4–5", first=4))
    gathered.refresh_from_db()
    assert gathered.state == PassageState.DRAWING
    account = reckon_one(cast.book, timezone.now() + timedelta(days=90)).statement
    [line] = [line for line in account.lines if line.passage == gathered.pk]
    assert line.turns == (), "ninety days with the printer, and none of them the illustrator's"


def test_an_old_book_takes_the_stage_by_its_plan_and_what_was_printed_waits_for_the_printer(cast):
    other = gather(a_book(title="A Book of Before", inside=PLAN[:2]))
    approved(other, other.passage("Pages 4–5", "colour"), 1)
    proof = other.passage("Pages 4–5", "proof")
    handed_in(proof, other.production, [2])
    answered(other, proof, "approve")
    sent(other)
    assert not Passage.objects.filter(book=other.book, stage__kind="gathered").exists()
    plan = StagePlan.objects.get(book=other.book, covers=False)
    assert refusal(change_plan, plan.pk, (PLAN[0], PLAN[2], PLAN[1]), actor=other.art_director) == "stage-order"
    change_plan(plan.pk, PLAN, actor=other.art_director)
    assert other.passage("Pages 4–5", "gathered").state == PassageState.DRAWING
    assert other.passage("Pages 6–7", "gathered").state == PassageState.CLOSED
    entry = LedgerEntry.objects.get(book=other.book, deed=Deed.CHANGE_PLAN)
    assert entry.data["printers"] == [other.passage("Pages 4–5", "gathered").pk]
    assert list(ledger_faults(other.book)) == []
