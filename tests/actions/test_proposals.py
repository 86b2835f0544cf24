"""Two words make an agreement: dates are proposed by one side and hold once the other accepts."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reviews.actions import hand_ins, letters
from reviews.actions.clock import as_if_at
from reviews.actions.dates import ask_for_date
from reviews.actions.proposals import accept_proposal, decline_proposal, withdraw_proposal
from reviews.actions.seats import let_agent_answer
from reviews.models import LedgerEntry, Notice, Passage, Proposal
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.letters import letter_fingerprint
from reviews.queries.proposals import open_proposals
from reviews.queries.reckoning import reckon_one
from reviews.rules.proposals import ENDED, ProposalState
from reviews.rules.states import Deed, Refused, Role, Side
from tests.actions.at_once import at_once
from tests.cast import gather
from tests.letter_scene import answered, approved, draft_of
from tests.makers import a_book, draft, handed_in

#: Ideas are due on Monday 9 November 2026 in this book; on Thursday 12th they are three working days late.
MONDAY = datetime(2026, 11, 2, 9, tzinfo=UTC)
THURSDAY = datetime(2026, 11, 12, 9, tzinfo=UTC)


@pytest.fixture
def cast():
    with as_if_at(MONDAY):
        return gather(a_book())


def ideas(cast) -> Passage:
    return cast.passage("Pages 4–5", "ideas")


def told(cast) -> str:
    return sentence(LedgerEntry.objects.filter(book=cast.book).latest("seq").as_entry())


def later(cast, actor, days=14, **more) -> Proposal:
    """Propose to move the hand-in of ideas to a later day."""
    passage = ideas(cast)
    to = passage.due_on + timedelta(days)
    made = ask_for_date(passage.pk, to=to, reason="The text came late.", actor=actor, **more)
    assert made is not None
    return made


def refused(deed, *values, **named) -> str:
    with pytest.raises(Refused) as found:
        deed(*values, **named)
    words = sentence_for(found.value)
    assert words.endswith(".") and "{" not in words
    return found.value.code


@pytest.mark.django_db
class TestDates:
    @pytest.fixture(autouse=True)
    def _on_a_thursday(self):
        with as_if_at(THURSDAY):
            yield

    def test_until_the_other_side_agrees_the_old_date_holds(self, cast):
        before = ideas(cast).due_on
        made = later(cast, cast.illustrator)
        assert ideas(cast).due_on == before and made.state == ProposalState.OPEN
        assert "Until the other side agrees, what held before still holds." in told(cast)
        accept_proposal(made.pk, actor=cast.art_director)
        assert ideas(cast).due_on == made.to_on
        assert "Corvin Mallowe agreed to move" in told(cast) and "as Juniper Aldersea proposed" in told(cast)
        assert list(ledger_faults(cast.book)) == []

    def test_lateness_stays_counted_and_the_statement_of_the_same_day_does_not_fall(self, cast):
        late = [line.days.illustrator_late for line in reckon_one(cast.book, THURSDAY).statement.lines]
        assert sum(late) > 0
        accept_proposal(later(cast, cast.illustrator).pk, actor=cast.art_director)
        assert [line.days.illustrator_late for line in reckon_one(cast.book, THURSDAY).statement.lines] == late
        assert "stay counted" in told(cast) or "stays counted" in told(cast)

    def test_the_other_side_may_forgive_what_is_late(self, cast):
        accept_proposal(later(cast, cast.illustrator).pk, forgives=True, actor=cast.art_director)
        line = next(one for one in reckon_one(cast.book, THURSDAY).statement.lines if one.passage == ideas(cast).pk)
        assert line.days.illustrator_late == 0 and line.days.illustrator_forgiven > 0
        assert "forgiven" in told(cast)

    def test_nobody_forgives_their_own_side(self, cast):
        assert refused(later, cast, cast.illustrator, forgives=True) == "forgives-itself"
        made = later(cast, cast.art_director)
        assert refused(accept_proposal, made.pk, forgives=True, actor=cast.illustrator) == "forgives-itself"
        assert ideas(cast).due_on != made.to_on

    def test_a_side_gives_itself_less_time_at_once_and_both_are_told(self, cast):
        sketch = cast.passage("Pages 4–5", "sketch")
        to = sketch.due_on - timedelta(7)
        assert ask_for_date(sketch.pk, to=to, reason="I am early.", actor=cast.illustrator) is None
        sketch.refresh_from_db()
        assert sketch.due_on == to and not Proposal.objects.exists()
        entry = LedgerEntry.objects.latest("seq")
        assert entry.data["proposed"] is None
        people = set(Notice.objects.filter(entry=entry).values_list("person__name", flat=True))
        assert people == {"Corvin Mallowe", "Desmond Rookley"}

    def test_the_other_sides_date_is_pulled_forward_by_no_one_alone(self, cast):
        handed_in(ideas(cast), cast.illustrator)
        answer = ideas(cast).answer_due_on
        sooner = ask_for_date(
            ideas(cast).pk, to=answer - timedelta(1), which="answer", reason="Sooner.", actor=cast.illustrator
        )
        sketch = cast.passage("Pages 4–5", "sketch")
        other = ask_for_date(sketch.pk, to=sketch.due_on - timedelta(7), reason="Sooner.", actor=cast.art_director)
        assert sooner is not None and other is not None
        assert ideas(cast).answer_due_on == answer
        assert cast.passage("Pages 4–5", "sketch").due_on == sketch.due_on

    def test_the_publisher_gives_itself_no_more_time(self, cast):
        handed_in(ideas(cast), cast.illustrator)
        answer = ideas(cast).answer_due_on
        made = ask_for_date(
            ideas(cast).pk, to=answer + timedelta(7), which="answer", reason="The fair.", actor=cast.art_director
        )
        assert made is not None and ideas(cast).answer_due_on == answer
        accept_proposal(made.pk, actor=cast.illustrator)
        assert ideas(cast).answer_due_on == answer + timedelta(7)

    def test_a_date_of_a_closed_stage_is_not_changed_by_a_proposal_older_than_its_opening(self, cast):
        """Asked for as a week more; the stage opened late with a later date, of which it would take days away."""
        sketch = cast.passage("Pages 4–5", "sketch")
        to = sketch.due_on + timedelta(7)
        made = ask_for_date(sketch.pk, to=to, reason="I need a week more.", actor=cast.illustrator)
        with as_if_at(datetime.combine(sketch.due_on, time(9), UTC)):
            approved(cast, ideas(cast), 3)
            opened = cast.passage("Pages 4–5", "sketch").due_on
            assert opened > to
            assert refused(accept_proposal, made.pk, actor=cast.art_director) == "date-stands-elsewhere"
            code = refused(accept_proposal, made.pk, stands_on=opened, actor=cast.art_director)
            assert code == "proposal-overtaken"
        assert cast.passage("Pages 4–5", "sketch").due_on == opened
        assert open_proposals([cast.book.pk]) == []

    def test_answered_with_another_date_and_that_one_accepted(self, cast):
        asked = later(cast, cast.illustrator, days=21)
        another = later(cast, cast.art_director, days=14, seen=asked.number)
        asked.refresh_from_db()
        assert asked.state == ProposalState.ANSWERED and another.answers_id == asked.pk
        assert refused(accept_proposal, asked.pk, actor=cast.art_director) == "proposal-answered"
        accept_proposal(another.pk, actor=cast.illustrator)
        assert ideas(cast).due_on == another.to_on

    def test_nobody_answers_what_they_have_not_read(self, cast):
        later(cast, cast.illustrator)
        assert refused(later, cast, cast.art_director, days=7) == "proposal-fresh"

    def test_a_new_proposal_of_ones_own_stands_in_place_of_the_old(self, cast):
        first = later(cast, cast.illustrator)
        later(cast, cast.illustrator, days=21, seen=first.number)
        first.refresh_from_db()
        assert first.state == ProposalState.REPLACED and "in place of 1" in told(cast)
        assert refused(accept_proposal, first.pk, actor=cast.art_director) == "proposal-replaced"

    def test_declined_leaves_what_stood(self, cast):
        before = ideas(cast).due_on
        made = later(cast, cast.illustrator)
        decline_proposal(made.pk, "The printer waits.", actor=cast.art_director)
        assert ideas(cast).due_on == before and "The printer waits." in told(cast)
        assert refused(accept_proposal, made.pk, actor=cast.art_director) == "proposal-declined"
        assert refused(withdraw_proposal, made.pk, "No.", actor=cast.illustrator) == "proposal-declined"

    def test_nobody_answers_their_own(self, cast):
        made = later(cast, cast.illustrator)
        assert refused(accept_proposal, made.pk, actor=cast.illustrator) == "own-proposal"
        assert refused(decline_proposal, made.pk, "No.", actor=cast.illustrator) == "own-proposal"
        assert refused(withdraw_proposal, made.pk, "No.", actor=cast.art_director) == "others-proposal"

    @pytest.mark.parametrize("role", [Role.EDITOR, Role.PRODUCTION])
    def test_others_of_the_publisher_bind_nobody(self, cast, role):
        made = later(cast, cast.illustrator)
        assert refused(accept_proposal, made.pk, actor=cast.seat(role)) == "not-yours"
        assert refused(later, cast, cast.seat(role)) == "not-yours"

    def test_the_agent_answers_dates_only_where_the_seat_says_so(self, cast):
        made = later(cast, cast.art_director)
        assert refused(accept_proposal, made.pk, actor=cast.agent) == "agent-not-asked"
        assert refused(decline_proposal, made.pk, "No.", actor=cast.agent) == "agent-not-asked"

    def test_the_illustrator_lets_the_agent_answer_dates_and_takes_it_back(self, cast):
        made = later(cast, cast.art_director)
        for other in (cast.agent, cast.art_director):
            assert refused(let_agent_answer, cast.agent.pk, answers_dates=True, actor=other) == "not-yours"
        assert refused(let_agent_answer, cast.editor.pk, answers_dates=True, actor=cast.illustrator) == "agent-only"
        let_agent_answer(cast.agent.pk, answers_dates=True, actor=cast.illustrator)
        assert "let Desmond Rookley, the agent, propose and accept dates and pauses" in told(cast)
        accept_proposal(made.pk, actor=cast.agent)
        assert ideas(cast).due_on == made.to_on
        let_agent_answer(cast.agent.pk, answers_dates=False, actor=cast.illustrator)
        assert refused(later, cast, cast.agent, days=21) == "agent-not-asked"
        assert list(ledger_faults(cast.book)) == []

    def test_the_date_passes_while_it_is_open(self, cast):
        made = later(cast, cast.illustrator)
        with as_if_at(THURSDAY + timedelta(60)):
            assert refused(accept_proposal, made.pk, actor=cast.art_director) == "proposal-past"
            decline_proposal(made.pk, "It has passed.", actor=cast.art_director)

    def test_handed_in_while_it_is_open(self, cast):
        made = later(cast, cast.illustrator)
        handed_in(ideas(cast), cast.illustrator)
        assert refused(accept_proposal, made.pk, actor=cast.art_director) == "proposal-overtaken"

    def test_approved_while_it_is_open(self, cast):
        handed_in(ideas(cast), cast.illustrator)
        to = ideas(cast).answer_due_on + timedelta(7)
        made = ask_for_date(ideas(cast).pk, to=to, which="answer", reason="The fair.", actor=cast.art_director)
        answered(cast, ideas(cast), "approve")
        letters.send_letter(draft_of(cast).pk, looked_at=letter_fingerprint(draft_of(cast)), actor=cast.art_director)
        assert refused(accept_proposal, made.pk, actor=cast.illustrator) == "proposal-overtaken"

    def test_taken_back_the_hand_in_is_due_again_and_so_is_the_word(self, cast):
        made = later(cast, cast.illustrator)
        handed = handed_in(ideas(cast), cast.illustrator)
        hand_ins.withdraw_hand_in(handed.pk, "The wrong file.", actor=cast.illustrator)
        accept_proposal(made.pk, actor=cast.art_director)
        assert ideas(cast).due_on == made.to_on

    def test_what_was_overtaken_makes_room(self, cast):
        first = later(cast, cast.illustrator)
        approved(cast, ideas(cast), 3)
        sketch = cast.passage("Pages 4–5", "sketch")
        to = sketch.due_on + timedelta(7)
        ask_for_date(sketch.pk, to=to, reason="More hares.", actor=cast.illustrator)
        first.refresh_from_db()
        assert first.state == ProposalState.OPEN  # nobody asked about that date again
        assert refused(accept_proposal, first.pk, actor=cast.art_director) == "proposal-overtaken"

    def test_the_date_that_stands_moved_since_the_page_was_opened(self, cast):
        made = later(cast, cast.illustrator)
        seen = made.from_on - timedelta(1)
        assert refused(accept_proposal, made.pk, stands_on=seen, actor=cast.art_director) == "date-stands-elsewhere"

    def test_a_stage_that_only_the_illustrator_sees_is_theirs(self, cast):
        ink = cast.passage("Pages 4–5", "ink")
        to = ink.due_on + timedelta(7)
        assert refused(ask_for_date, ink.pk, to=to, reason="x", actor=cast.art_director) == "not-yours"
        assert ask_for_date(ink.pk, to=to, reason="More time.", actor=cast.illustrator) is None
        assert LedgerEntry.objects.latest("seq").sight == "illustrator"


def test_every_end_of_a_proposal_has_a_sentence():
    assert set(ENDED) == set(ProposalState) - {ProposalState.OPEN}
    for code in ENDED.values():
        assert sentence_for(Refused(code)).endswith(".")


@pytest.mark.django_db(transaction=True)
class TestAtOnce:
    def test_accepting_and_withdrawing_do_not_both_hold(self, cast):
        made = later_from_today(cast)
        outcome = at_once(
            lambda: accept_proposal(made.pk, actor=cast.art_director),
            lambda: withdraw_proposal(made.pk, "A slip.", actor=cast.illustrator),
        )
        assert outcome in (["done", "proposal-withdrawn"], ["done", "proposal-accepted"])
        made.refresh_from_db()
        assert (ideas(cast).due_on == made.to_on) == (made.state == ProposalState.ACCEPTED)
        assert list(ledger_faults(cast.book)) == []

    def test_accepted_and_declined_at_once(self, cast):
        made = later_from_today(cast)
        outcome = at_once(
            lambda: accept_proposal(made.pk, actor=cast.art_director),
            lambda: decline_proposal(made.pk, "No.", actor=cast.art_director),
        )
        assert outcome in (["done", "proposal-declined"], ["done", "proposal-accepted"])

    def test_handed_in_as_the_other_side_accepts(self, cast):
        made = later_from_today(cast)
        prepared = draft(ideas(cast), cast.illustrator, [1])
        outcome = at_once(
            lambda: accept_proposal(made.pk, actor=cast.art_director),
            lambda: hand_ins.hand_in(prepared.pk, actor=cast.illustrator),
        )
        assert outcome in (["done", "done"], ["done", "proposal-overtaken"])
        assert list(ledger_faults(cast.book)) == []


def later_from_today(cast) -> Proposal:
    to = date.fromisoformat("2027-03-01")
    made = ask_for_date(ideas(cast).pk, to=to, reason="The text came late.", actor=cast.illustrator)
    assert made is not None
    return made


def kept_by(cast, side: Side, at) -> list[tuple]:
    """Write down what the count says of one side: its dates, its days, what is late."""
    lines = reckon_one(cast.book, at).statement.lines
    name = side.value
    return [
        (
            line.passage,
            getattr(line.days, name),
            getattr(line.days, f"{name}_late"),
            getattr(line.days, f"{name}_forgiven"),
            line.due.current_on if side == Side.ILLUSTRATOR else line.due.answer_on,
            line.rounds.included,
        )
        for line in lines
    ]


@pytest.mark.django_db
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 10_000))
def test_nobodys_figure_changes_by_the_other_sides_act_alone(seed):
    walked(seed)


@pytest.mark.django_db
def test_the_walks_reach_agreements():
    """The property above is worth something only if its walks agree on dates."""
    assert sum(walked(seed) for seed in range(4)) > 2


def walked(seed: int) -> int:
    """Whatever one side does about dates, the other side's dates and days stay, unless it had proposed just that; say
    how often that was agreed."""
    chance, n_agreed = random.Random(seed), 0
    with as_if_at(MONDAY):
        cast = gather(a_book())
    with as_if_at(THURSDAY):
        handed_in(cast.passage("Cover", "ideas"), cast.illustrator)
    for n in range(30):
        at = THURSDAY + timedelta(hours=6 * n)
        with as_if_at(at):
            actor = chance.choice([cast.illustrator, cast.art_director, cast.agent])
            side = Side.PUBLISHER if actor == cast.art_director else Side.ILLUSTRATOR
            theirs, asked = kept_by(cast, side.other, at), _try_something(cast, chance, actor)
            if asked is not None and asked.side == side.other and asked.state == ProposalState.ACCEPTED:
                n_agreed += 1  # it had proposed this itself, and in these words
                entry = LedgerEntry.objects.filter(book=cast.book, deed=Deed.MOVE_DUE_DATE).latest("seq")
                assert entry.data["proposed"]["by"] == asked.by.person.name
                assert entry.data["to"] == asked.to_on.isoformat()
            else:
                assert kept_by(cast, side.other, at) == theirs, (seed, n)
    assert list(ledger_faults(cast.book)) == []
    return n_agreed


def _try_something(cast, chance, actor) -> Proposal | None:
    passage = cast.passage(chance.choice(["Cover", "Pages 4–5"]), chance.choice(["ideas", "sketch"]))
    on, asked = passage.answer_due_on or passage.due_on, Proposal.objects.filter(book=cast.book).order_by("-pk").first()
    try:
        if asked is None or chance.random() < 0.5:
            ask_for_date(
                passage.pk, to=on + timedelta(chance.randrange(-20, 30)), reason="So.",
                which=chance.choice(["hand-in", "answer"]), forgives=chance.random() < 0.3,
                seen=asked.number if asked else None, actor=actor,
            )  # fmt: skip
            return None
        deed = chance.choice(["accept", "accept", "decline", "withdraw"])
        if deed == "accept":
            return accept_proposal(asked.pk, forgives=chance.random() < 0.3, actor=actor)
        (decline_proposal if deed == "decline" else withdraw_proposal)(asked.pk, "So.", actor=actor)
    except Refused as no:
        assert sentence_for(no).endswith(".")
    return None
