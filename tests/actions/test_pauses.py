"""A pause by two words: proposed by one side, accepted by the other; and what nobody can do with one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from reviews.actions.clock import as_if_at
from reviews.actions.pauses import propose_pause
from reviews.actions.proposals import accept_proposal, decline_proposal, withdraw_proposal
from reviews.actions.seats import let_agent_answer
from reviews.actions.taking_back import take_back_letter
from reviews.models import Book, LedgerEntry, Notice, Passage, Proposal
from reviews.pages.desk import desk_of
from reviews.pages.proposals import proposals_waiting_on
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.queries.statement import export_of
from reviews.rules.contract.recount import count_again, figures
from reviews.rules.proposals import ProposalState
from reviews.rules.states import Deed, Refused, Side
from tests.agreed import pause_book
from tests.cast import gather
from tests.letter_scene import answered, sent
from tests.makers import a_book, handed_in
from tests.one_date import dates_told, disagreements

pytestmark = pytest.mark.django_db

#: Ideas are due on Monday 9 November 2026 in this book; on Thursday 12th they are three working days late.
MONDAY = datetime(2026, 11, 2, 9, tzinfo=UTC)
TUESDAY = datetime(2026, 11, 3, 9, tzinfo=UTC)
THURSDAY = datetime(2026, 11, 12, 9, tzinfo=UTC)
WEEK = {"first": date(2026, 11, 5), "last": date(2026, 11, 11)}


@pytest.fixture
def cast():
    with as_if_at(MONDAY):
        return gather(a_book())


def ideas(cast) -> Passage:
    return cast.passage("Pages 4–5", "ideas")


def told(cast) -> str:
    return sentence(LedgerEntry.objects.filter(book=cast.book).latest("seq").as_entry())


def asked(cast, actor, **more) -> Proposal:
    return propose_pause(cast.book.pk, reason="A broken wrist.", actor=actor, **(WEEK | more))


def refused(deed, *values, **named) -> str:
    with pytest.raises(Refused) as found:
        deed(*values, **named)
    words = sentence_for(found.value)
    assert words.endswith(".") and "{" not in words
    return found.value.code


def late(cast, at) -> int:
    return reckon_one(cast.book, at).statement.days.illustrator_late


class TestTwoWords:
    @pytest.fixture(autouse=True)
    def _on_a_tuesday(self):
        with as_if_at(TUESDAY):
            yield

    def test_until_the_other_side_agrees_nothing_moves(self, cast):
        before = ideas(cast).due_on
        made = asked(cast, cast.illustrator)
        cast.book.refresh_from_db()
        assert (ideas(cast).due_on, cast.book.pauses) == (before, [])
        assert "to pause the book" in told(cast) and "Until the other side agrees" in told(cast)
        accept_proposal(made.pk, actor=cast.art_director)
        cast.book.refresh_from_db()
        assert ideas(cast).due_on == date(2026, 11, 16)
        assert cast.book.pauses[0]["first"] == "2026-11-05"
        said = told(cast)
        assert "Corvin Mallowe agreed to pause the book" in said and "as Juniper Aldersea proposed" in said
        assert "A broken wrist." in said and "nobody’s" in said and "move" in said
        assert list(ledger_faults(cast.book)) == []

    def test_every_place_tells_the_same_date_and_the_export_counts_it(self, cast):
        handed_in(ideas(cast), cast.illustrator)
        pause_book(cast.book.pk, **WEEK, actor=cast.art_director)
        assert disagreements(dates_told(cast, TUESDAY)) == []
        file = export_of(cast.book, None, at=TUESDAY)
        assert figures(count_again(file)) == file["figures"] and file["figures"]["pauses"]

    def test_desk_and_mail_of_the_other_side_ask(self, cast):
        made = asked(cast, cast.illustrator)
        entry = LedgerEntry.objects.get(deed=Deed.PROPOSE)
        people = set(Notice.objects.filter(entry=entry).values_list("person__name", flat=True))
        assert "Corvin Mallowe" in people and "Juniper Aldersea" not in people
        with as_if_at(TUESDAY):
            desk = desk_of(cast.art_director.person)
            [card] = proposals_waiting_on(desk.every_seat, at=TUESDAY)
        assert card.proposal.pk == made.pk and card.title == "A pause of the book"
        assert ("Why", "A broken wrist.") in card.facts
        assert "5 November 2026 to 11 November 2026" in dict(card.facts)["Paused"]

    def test_declined_or_withdrawn_nothing_rests(self, cast):
        decline_proposal(asked(cast, cast.illustrator).pk, "The fair is near.", actor=cast.art_director)
        assert "declined proposal 1, to pause the book" in told(cast)
        withdraw_proposal(asked(cast, cast.illustrator).pk, "I am well.", actor=cast.illustrator)
        cast.book.refresh_from_db()
        assert cast.book.pauses == [] and ideas(cast).due_on == date(2026, 11, 9)

    def test_answered_with_other_days(self, cast):
        first = asked(cast, cast.illustrator)
        other = asked(cast, cast.art_director, last=date(2026, 11, 9), seen=first.number)
        first.refresh_from_db()
        assert first.state == ProposalState.ANSWERED
        accept_proposal(other.pk, actor=cast.illustrator)
        assert ideas(cast).due_on == date(2026, 11, 12)

    def test_ended_early_and_lengthened_by_two_words_again(self, cast):
        pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
        with as_if_at(datetime(2026, 11, 6, 9, tzinfo=UTC)):
            made = asked(cast, cast.art_director, last=date(2026, 11, 9), pause=1)
            assert ideas(cast).due_on == date(2026, 11, 16)
            accept_proposal(made.pk, actor=cast.illustrator)
            assert ideas(cast).due_on == date(2026, 11, 12)
            assert "Before, it was 5 November 2026 to 11 November 2026." in told(cast)
            pause_book(cast.book.pk, first=WEEK["first"], last=date(2026, 11, 13), pause=1, actor=cast.illustrator)
            assert ideas(cast).due_on == date(2026, 11, 18)
        assert list(ledger_faults(cast.book)) == []

    def test_called_off_before_it_begins(self, cast):
        pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
        pause_book(cast.book.pk, first=WEEK["first"], last=None, pause=1, actor=cast.illustrator)
        cast.book.refresh_from_db()
        assert (ideas(cast).due_on, cast.book.pauses) == (date(2026, 11, 9), [])
        assert "call off the pause" in told(cast)

    @pytest.mark.parametrize(
        ("changes", "code"),
        [
            ({"last": date(2026, 11, 4)}, "pause-backwards"),
            ({"last": date(2027, 11, 6)}, "pause-too-long"),
            ({"first": date(2026, 10, 1)}, "pause-before-work"),
            ({"first": date(2026, 11, 7), "last": date(2026, 11, 8)}, "pause-without-days"),
            ({"last": None}, "pause-without-end"),
            ({"pause": 4}, "pause-gone"),
        ],
    )
    def test_what_nobody_can_mean_is_refused_in_a_sentence(self, cast, changes, code):
        assert refused(asked, cast, cast.illustrator, **changes) == code

    def test_two_pauses_do_not_overlap_even_where_the_first_was_accepted_meanwhile(self, cast):
        pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
        code = refused(asked, cast, cast.illustrator, first=date(2026, 11, 11), last=date(2026, 11, 20))
        assert code == "pause-overlaps"


class TestWhoeverWouldCheat:
    def test_no_side_pauses_alone(self, cast):
        with as_if_at(TUESDAY):
            made = asked(cast, cast.illustrator)
            assert refused(accept_proposal, made.pk, actor=cast.illustrator) == "own-proposal"
            cast.book.refresh_from_db()
            assert cast.book.pauses == []

    def test_nor_by_its_own_agent_even_where_the_agent_speaks_on_dates(self, cast):
        with as_if_at(TUESDAY):
            made = asked(cast, cast.illustrator)
            assert refused(accept_proposal, made.pk, actor=cast.agent) == "own-proposal"

    def test_the_agent_answers_only_where_the_illustrator_said_so(self, cast):
        with as_if_at(TUESDAY):
            made = asked(cast, cast.art_director)
            assert refused(accept_proposal, made.pk, actor=cast.agent) == "agent-not-asked"
            assert refused(asked, cast, cast.agent) == "agent-not-asked"
            let_agent_answer(cast.agent.pk, answers_dates=True, actor=cast.illustrator)
            cast.agent.refresh_from_db()
            accept_proposal(made.pk, actor=cast.agent)
            assert ideas(cast).due_on == date(2026, 11, 16)

    @pytest.mark.parametrize("role", ["editor", "production"])
    def test_whoever_does_not_speak_for_a_side_neither_proposes_nor_accepts(self, cast, role):
        with as_if_at(TUESDAY):
            made = asked(cast, cast.illustrator)
            assert refused(accept_proposal, made.pk, actor=getattr(cast, role)) == "not-yours"
            assert refused(asked, cast, getattr(cast, role)) == "not-yours"

    def test_a_stranger_of_another_book_accepts_nothing(self, cast):
        with as_if_at(TUESDAY):
            made = asked(cast, cast.illustrator)
            other = gather(a_book(title="The Moth at Noon"))
            assert refused(accept_proposal, made.pk, actor=other.art_director) == "seat-missing"

    def test_a_pause_after_the_fact_wipes_no_lateness(self, cast):
        with as_if_at(THURSDAY):
            before = late(cast, THURSDAY)
            assert before > 0
            pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
            assert late(cast, THURSDAY) == before
            assert "stay counted" in told(cast)
        assert list(ledger_faults(cast.book)) == []

    def test_unless_the_other_side_says_so_as_it_accepts(self, cast):
        with as_if_at(THURSDAY):
            pause_book(cast.book.pk, **WEEK, forgives=True, actor=cast.illustrator)
            assert late(cast, THURSDAY) == 0
            assert "is forgiven" in told(cast)

    def test_who_proposes_forgives_the_other_side_and_never_its_own(self, cast):
        with as_if_at(THURSDAY):
            before = late(cast, THURSDAY)
            made = asked(cast, cast.illustrator, forgives=True)
            accept_proposal(made.pk, actor=cast.art_director)
            assert late(cast, THURSDAY) == before
            assert LedgerEntry.objects.get(deed=Deed.AGREE_PAUSE).data["forgives"] == ["publisher"]

    def test_a_day_that_was_nobodys_is_made_nobodys_own_again_by_no_one(self, cast):
        with as_if_at(TUESDAY):
            pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
        with as_if_at(datetime(2026, 11, 10, 9, tzinfo=UTC)):
            code = refused(asked, cast, cast.art_director, last=date(2026, 11, 6), pause=1)
            assert code == "pause-ends-past"
            assert refused(asked, cast, cast.art_director, last=None, pause=1) == "pause-begun"

    def test_a_proposal_kept_open_until_its_end_is_over_changes_nothing(self, cast):
        with as_if_at(TUESDAY):
            pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
        with as_if_at(datetime(2026, 11, 6, 9, tzinfo=UTC)):
            made = asked(cast, cast.art_director, last=date(2026, 11, 6), pause=1)
        with as_if_at(datetime(2026, 11, 10, 9, tzinfo=UTC)):
            assert refused(accept_proposal, made.pk, actor=cast.illustrator) == "pause-ends-past"


def test_pauses_changed_behind_the_ledgers_back_are_found(cast):
    with as_if_at(TUESDAY):
        pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
    Book.objects.filter(pk=cast.book.pk).update(pauses=[])
    [fault] = ledger_faults(cast.book)
    assert fault.code == "pauses-differ"


def test_a_letter_whose_dates_it_moved_is_taken_back_no_more(cast):
    with as_if_at(TUESDAY):
        passage = ideas(cast)
        handed_in(passage, cast.illustrator)
        answered(cast, passage, "approve")
        letter = sent(cast)
        pause_book(cast.book.pk, **WEEK, actor=cast.art_director)
        assert refused(take_back_letter, letter.pk, "Too early.", actor=cast.art_director) == "letter-paused"


def test_what_is_asked_in_it_is_due_after_it(cast):
    with as_if_at(TUESDAY):
        pause_book(cast.book.pk, **WEEK, actor=cast.illustrator)
    with as_if_at(datetime(2026, 11, 9, 9, tzinfo=UTC)):
        handed_in(ideas(cast), cast.illustrator)
        passage = ideas(cast)
        calendar = passage.book.calendar_of(Side.PUBLISHER)
        assert passage.answer_due_on > WEEK["last"] and calendar.is_working(passage.answer_due_on)
        assert disagreements(dates_told(cast, datetime(2026, 11, 9, 10, tzinfo=UTC))) == []
    assert timedelta(0) < passage.answer_due_on - WEEK["last"]
