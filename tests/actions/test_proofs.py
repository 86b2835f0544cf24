"""Proofs: production hands in what the printer made, nobody of the two spends the printer's days, and notes go back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import hand_ins, notes
from reviews.actions.clock import as_if_at
from reviews.actions.dates import ask_for_date
from reviews.models import HandIn, LedgerEntry, Notice, Passage
from reviews.queries.held_check import check_held
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.contract.terms import StageDays
from reviews.rules.states import Deed, Gate, PassageState, Role, Side, StageKind
from tests.actions.signed import enter
from tests.agreed import move_due_date
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import ELSEWHERE, answered, approved, pinned, sent
from tests.makers import a_book, draft, handed_in
from tests.one_date import dates_told, disagreements
from tests.refusing import refusal

pytestmark = pytest.mark.django_db

MARCH = datetime(2026, 3, 2, 9, tzinfo=UTC)  # a Monday
PLAN = (
    PlannedStage(kind=StageKind.COLOUR, gate=Gate.ANSWERS, hand_in_days=10, answer_days=5, rounds=1),
    PlannedStage(kind=StageKind.PROOF, gate=Gate.ANSWERS, hand_in_days=10, answer_days=5, rounds=1),
)


@pytest.fixture
def cast() -> Cast:
    return gather(a_book(inside=PLAN))


@pytest.fixture
def proof(cast) -> Passage:
    """A spread whose colour was approved, so that its proof is with the printer."""
    approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    passage = cast.passage("Pages 4–5", "proof")
    assert passage.state == PassageState.DRAWING
    return passage


def test_the_illustrator_hands_in_no_proof_and_production_no_art(cast, proof):
    assert refusal(draft, proof, cast.illustrator) == "proof-is-productions"
    colour = cast.passage("Pages 6–7", "colour")
    for seat in (cast.production, cast.art_director):
        assert refusal(draft, colour, seat) == "art-is-the-illustrators"
    assert not HandIn.objects.filter(state="draft").exists()


def test_production_hands_it_in_and_both_sides_are_told(cast, proof):
    n_before = LedgerEntry.objects.count()
    made = draft(proof, cast.production, [5])
    gathered = LedgerEntry.objects.filter(seq__gt=0).order_by("-pk")[: LedgerEntry.objects.count() - n_before]
    assert {entry.sight for entry in gathered} == {"publisher"}, "the draft is the publisher's own affair"
    hand_ins.hand_in(made.pk, actor=cast.production)
    entry = LedgerEntry.objects.latest("seq")
    told = set(Notice.objects.filter(entry=entry).values_list("person__name", flat=True))
    assert {cast.illustrator.person.name, cast.agent.person.name, cast.art_director.person.name} <= told
    assert check_held(cast.book).faults == []
    assert list(ledger_faults(cast.book)) == []


def test_a_proof_that_an_illustrator_once_began_to_hand_in_does_not_stand_in_productions_way(cast, proof):
    old = draft(cast.passage("Pages 4–5", "proof"), cast.production, [5])
    HandIn.objects.filter(pk=old.pk).update(by=cast.illustrator)  # as it was when illustrators handed in proofs
    made = draft(proof, cast.production, [6])
    hand_ins.hand_in(made.pk, actor=cast.production)
    old.refresh_from_db()
    assert (old.state, old.pictures.count()) == ("left", 1), "what they put in is kept for them"
    assert HandIn.objects.get(passage=proof, number=1).by == cast.production


def test_a_draft_of_the_proof_is_nobody_elses(cast, proof, client):
    made = draft(proof, cast.production, [5])
    sign_in(client, cast.illustrator.person)
    assert client.get(reverse("reviews:draft-hand-in", args=[proof.pk])).status_code == 403
    assert client.get(reverse("reviews:picture-state", args=[made.pictures.get().pk])).status_code == 404
    assert refusal(hand_ins.hand_in, made.pk, actor=cast.art_director) == "not-your-draft"


def test_a_proof_taken_back_stays_with_the_side_that_put_it_in(cast, proof, client):
    made = draft(proof, cast.production, [5])
    hand_ins.hand_in(made.pk, actor=cast.production)
    hand_ins.withdraw_hand_in(made.pk, "the wrong sheet", actor=cast.production)
    address = reverse("reviews:picture-original", args=[made.pictures.get().pk])
    for seat, status in ((cast.production, 200), (cast.art_director, 200), (cast.illustrator, 404), (cast.agent, 404)):
        sign_in(client, seat.person)
        answer = client.get(address)
        assert answer.status_code == status, seat
        if status == 200:
            assert b"".join(answer.streaming_content)


def test_the_printers_days_are_neither_sides(cast, proof):
    now = timezone.now()
    with as_if_at(now + timedelta(days=60)):
        handed_in(proof, cast.production, [5])
    later = now + timedelta(days=70)
    account = reckon_one(cast.book, later).statement
    lines = [line for line in account.lines if line.passage == proof.pk]
    assert {turn.side for line in lines for turn in line.turns} == {Side.PUBLISHER}
    with as_if_at(later):
        proof.refresh_from_db()
        pinned(proof, cast.production, "The moon is greyer than on the print.", cause="printer")
        answered(cast, proof, "ask")
        sent(cast)
    proof.refresh_from_db()
    assert proof.state == PassageState.DRAWING
    account = reckon_one(cast.book, later + timedelta(days=90)).statement
    (line,) = (line for line in account.lines if line.passage == proof.pk)
    assert [turn.side for turn in line.turns] == [Side.PUBLISHER], "sixty days with the printer are in no turn"
    assert not any(turn.is_open for turn in line.turns)


def test_a_late_answer_on_art_opened_again_moves_its_proof_by_the_printers_days():
    """Due by Monday 16 March, answered the day after: a day past Thursday 30 April, and 1 May is closed in Germany."""
    with as_if_at(MARCH):
        cast = gather(a_book(inside=PLAN, start_on=MARCH.date()))
        stages = (StageDays("colour", 5, 3), StageDays("proof", 5, 3))
        own = {"places": ("GB-ENG",), "printer_place": "DE", "publisher_late_moves": True}
        enter(cast, from_on=MARCH.date(), stages=stages, groups=(), **own)
        colour, proof = (cast.passage("Pages 4–5", stage) for stage in ("colour", "proof"))
        approved(cast, colour, 1)
        move_due_date(proof.pk, to=date(2026, 4, 30), reason="The press.", actor=cast.art_director)
    with as_if_at(MARCH + timedelta(8)):
        pinned(colour, cast.art_director, cause="text")
        answered(cast, colour, "ask")
        sent(cast, over=True)
    with as_if_at(MARCH + timedelta(9)):
        handed_in(colour, cast.illustrator, [2])
    with as_if_at(MARCH + timedelta(15)):
        answered(cast, colour, "approve")
        sent(cast)
    proof.refresh_from_db()
    assert proof.due_on == date(2026, 5, 4)
    assert disagreements(dates_told(cast, MARCH + timedelta(15, hours=1))) == []


def test_what_goes_back_to_the_printer_is_no_round_of_the_illustrators(cast, proof):
    handed_in(proof, cast.production, [5])
    pinned(proof, cast.production, "The moon is greyer.", cause="printer")
    pinned(proof, cast.art_director, "A new moon, please.", cause="direction", region=ELSEWHERE)
    answered(cast, proof, "ask")
    sent(cast)
    counts = rounds_in([cast.book.pk], allowances_for([cast.passage("Pages 4–5", "proof")]))
    assert counts[proof.pk].used == 0
    statement = reckon_one(cast.book, timezone.now()).statement
    (line,) = (line for line in statement.lines if line.passage == proof.pk)
    assert line.rounds.used == 0


def test_production_answers_notes_on_a_proof_and_the_illustrator_those_on_art(cast, proof, client):
    handed_in(proof, cast.production, [5])
    note = pinned(proof, cast.art_director, "The moon is greyer.", cause="printer")
    answered(cast, proof, "ask")
    letter = sent(cast)
    assert refusal(notes.answer_note, note.pk, response="done", actor=cast.illustrator) == "note-is-productions"
    for seat, n_forms in ((cast.illustrator, 0), (cast.production, 3)):
        sign_in(client, seat.person)
        page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
        assert page.count('name="response"') == n_forms
        assert ("Hand in the next version" in page) == bool(n_forms)
    notes.answer_note(note.pk, response="done", actor=cast.production)
    colour = cast.passage("Pages 6–7", "colour")
    handed_in(colour, cast.illustrator, [6])
    other = pinned(colour, cast.art_director)
    answered(cast, colour, "ask")
    sent(cast)
    assert refusal(notes.answer_note, other.pk, response="done", actor=cast.production) == "note-is-the-illustrators"


def test_every_desk_says_that_the_printer_has_it(cast, proof, client):
    for role, words in (
        (Role.ILLUSTRATOR, "With the printer"), (Role.ART_DIRECTOR, "With the printer"),
        (Role.PRODUCTION, "Hand in the printer’s proof"),
    ):  # fmt: skip
        sign_in(client, cast.seat(role).person)
        assert words in client.get(reverse("reviews:desk")).content.decode()
        page = client.get(reverse("reviews:passage", args=[proof.pk])).content.decode()
        assert "With the printer" in page
        assert ("Hand in pictures" in page) == (role != Role.ILLUSTRATOR)
        assert "late" not in page.split("With the printer")[1][:400]


def test_the_page_on_which_a_proof_is_handed_in_names_sheets_folded_and_gathered(cast, proof, client):
    sign_in(client, cast.production.person)
    page = client.get(reverse("reviews:draft-hand-in", args=[proof.pk])).content.decode()
    assert "a proof, or F&amp;Gs (folded and gathered sheets)" in page
    colour = cast.passage("Pages 6–7", "colour")
    sign_in(client, cast.illustrator.person)
    assert "F&amp;Gs" not in client.get(reverse("reviews:draft-hand-in", args=[colour.pk])).content.decode()


def test_the_entry_that_opens_a_proof_says_that_the_printer_makes_it(cast, proof):
    (opening,) = (
        answer
        for entry in LedgerEntry.objects.filter(book=cast.book, deed=Deed.SEND_LETTER)
        for answer in entry.data["answers"]
        if proof.pk in answer["opens"]
    )
    assert opening["printers"] == [proof.pk]
    assert LedgerEntry.objects.get(book=cast.book, deed=Deed.MAKE_BOOK).data["printers"] == []


def test_first_terms_hold_while_a_proof_is_with_the_printer_and_leave_its_date(cast, proof):
    stood_on = proof.due_on
    first = enter(cast)
    proof.refresh_from_db()
    assert (first.number, proof.due_on) == (1, stood_on)


def test_first_terms_leave_the_date_of_a_proof_that_went_back(cast, proof):
    handed_in(proof, cast.production, [5])
    pinned(proof, cast.art_director, "The moon is greyer.", cause="printer")
    answered(cast, proof, "ask")
    sent(cast)
    proof.refresh_from_db()
    stood = proof.due_on, proof.answer_due_on
    enter(cast, stages=(StageDays("colour", 3, 1), StageDays("proof", 2, 1)), groups=())
    proof.refresh_from_db()
    assert (proof.due_on, proof.answer_due_on) == stood
    told = LedgerEntry.objects.get(book=cast.book, deed=Deed.CHANGE_TERMS).data.get("restated", [])
    assert proof.pk not in {one["passage"] for one in told}


def test_the_printers_date_is_the_publishers_to_keep(cast, proof):
    """The illustrator may propose another, and brings it forward alone no more than any other date of the publisher."""
    calendar = cast.book.calendar_of(Side.PUBLISHER, timezone.localdate())
    earlier = add_working_days(proof.due_on, -2, calendar)
    made = ask_for_date(proof.pk, to=earlier, reason="The fair.", actor=cast.illustrator)
    proof.refresh_from_db()
    assert made is not None
    assert proof.due_on > earlier
    assert ask_for_date(proof.pk, to=earlier, reason="The printer is early.", actor=cast.art_director) is None
    proof.refresh_from_db()
    assert proof.due_on == earlier
