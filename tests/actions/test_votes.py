"""A vote: opened, given, closed, decided, and everything somebody might try."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from reviews.actions import hand_ins, seats
from reviews.actions.letters import set_answer
from reviews.actions.votes import cast_ballot, close_vote, decide_vote, open_vote
from reviews.models import LedgerEntry, Notice, OptionVote, VoteBallot
from reviews.pages.wording.ledger import sentence
from reviews.queries.held_check import check_held
from reviews.queries.ledger_check import ledger_faults
from tests.cast import gather
from tests.letter_scene import sent
from tests.makers import a_book, handed_in
from tests.refusing import refusal

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def cover(cast):
    return handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [1, 2, 3])


@pytest.fixture
def guest(cast, cover):
    return cast.invite_guest(cover.passage)


@pytest.fixture
def vote(cast, cover, guest):
    return open_vote(
        cover.passage_id, words="For six-year-olds.", decider_id=cast.art_director.pk, actor=cast.art_director
    )


def told() -> str:
    return sentence(LedgerEntry.objects.latest("seq").as_entry())


def test_it_is_opened_given_changed_closed_and_decided_and_the_ledger_tells_each(cast, vote, guest):
    one, two, three = vote.options
    assert told() == "Corvin Mallowe put 3 options of Cover, ideas to a vote; Corvin Mallowe decides."
    cast_ballot(vote.pk, [[two], [one]], actor=guest)
    assert told() == "Wilf Sandor gave a ballot on Cover, ideas."
    cast_ballot(vote.pk, [[three]], actor=guest)
    assert told() == "Wilf Sandor changed their ballot on Cover, ideas."
    cast_ballot(vote.pk, [[three], [one, two]], actor=cast.editor)
    assert VoteBallot.objects.count() == 2
    close_vote(vote.pk, actor=cast.art_director)
    assert told() == (
        "Corvin Mallowe closed the vote on Cover, ideas: 2 ballots. Order: 3, then 1 and 2 level. "
        "Ballots: Petra Innisfold: 3, then 1 and 2 level; Wilf Sandor: 3."
    )
    decide_vote(vote.pk, picture_id=one, reasons="The title needs its sky.", actor=cast.art_director)
    assert told() == (
        "Corvin Mallowe decided on option 1 of Cover, ideas: The title needs its sky. (The vote put first: option 3.)"
    )
    assert {entry.sight for entry in LedgerEntry.objects.filter(deed__endswith="vote")} == {"publisher"}
    assert check_held(cast.book).faults == [] and list(ledger_faults(cast.book)) == []


def test_no_ballot_is_in_the_ledger_before_the_vote_is_closed(cast, vote, guest):
    before = LedgerEntry.objects.latest("seq").seq
    cast_ballot(vote.pk, [[option] for option in reversed(vote.options)], actor=guest)
    ballot = VoteBallot.objects.get()
    (entry,) = LedgerEntry.objects.filter(seq__gt=before)
    assert set(entry.data) == {"where", "vote", "again"}
    written = json.dumps([entry.data, entry.rows])
    assert ballot.seal in written and ballot.salt not in written and "ranks" not in written


def test_a_seal_does_not_show_who_votes_alike(cast, vote, guest):
    ranks = [[option] for option in vote.options]
    assert cast_ballot(vote.pk, ranks, actor=guest).seal != cast_ballot(vote.pk, ranks, actor=cast.editor).seal


def test_who_is_let_in_again_has_voted_all_the_same(cast, cover, vote, guest):
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    seats.end_seat(guest.pk, actor=cast.art_director)
    again = cast.invite_guest(cover.passage)
    assert again.pk != guest.pk
    cast_ballot(vote.pk, [[vote.options[1]]], actor=again)
    assert [ballot.seat for ballot in VoteBallot.objects.all()] == [again], "one ballot, the newer one"


def test_a_seat_that_ended_votes_no_more_and_its_ballot_stands(cast, vote, guest):
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    seats.end_seat(guest.pk, actor=cast.art_director)
    assert refusal(cast_ballot, vote.pk, [[vote.options[1]]], actor=guest) == "seat-missing"
    close_vote(vote.pk, actor=cast.art_director)
    assert "1 ballot." in told()


def test_only_the_art_director_opens_and_closes(cast, cover, vote, guest):
    for seat in (guest, cast.editor, cast.production, cast.illustrator, cast.agent):
        assert refusal(close_vote, vote.pk, actor=seat) == "not-yours"
        assert refusal(open_vote, cover.passage_id, decider_id=seat.pk, actor=seat) == "not-yours"
    for seat in (cast.illustrator, cast.agent):
        assert refusal(cast_ballot, vote.pk, [[vote.options[0]]], actor=seat) == "not-yours"


def test_a_guest_of_another_spread_has_no_vote_here(cast, cover, vote):
    other = cast.passage("Pages 4–5", "ideas")
    handed_in(other, cast.illustrator, [7, 8])
    offered = seats.invite(
        cast.book.pk, email="lisbet@thimblereed.example", name="Lisbet Orme", role="guest", passage_id=other.pk,
        actor=cast.art_director,
    )  # fmt: skip
    stranger = seats.take_seat(offered.secret)
    assert refusal(cast_ballot, vote.pk, [[vote.options[0]]], actor=stranger) == "not-yours"


def test_nothing_is_given_changed_or_closed_again_after_closing(cast, vote, guest):
    close_vote(vote.pk, actor=cast.art_director)
    assert told() == "Corvin Mallowe closed the vote on Cover, ideas: Nobody gave a ballot."
    assert refusal(cast_ballot, vote.pk, [[vote.options[0]]], actor=guest) == "vote-closed"
    assert refusal(close_vote, vote.pk, actor=cast.art_director) == "vote-closed"


def test_a_ballot_for_what_is_not_offered_twice_or_empty_is_refused(cast, cover, vote, guest):
    strange = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [9]).pictures.get()
    assert refusal(cast_ballot, vote.pk, [[strange.pk]], actor=guest) == "ballot-names-unknown"
    first = vote.options[0]
    assert refusal(cast_ballot, vote.pk, [[first], [first]], actor=guest) == "ballot-names-twice"
    assert refusal(cast_ballot, vote.pk, [], actor=guest) == "ballot-empty"
    assert not VoteBallot.objects.exists()


def test_options_that_are_taken_back_end_the_voting_and_are_not_swapped(cast, cover, vote, guest):
    before = list(vote.options)
    hand_ins.withdraw_hand_in(cover.pk, "The wrong files.", actor=cast.illustrator)
    assert refusal(cast_ballot, vote.pk, [[before[0]]], actor=guest) == "not-now"
    handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [4, 5, 6])
    assert refusal(cast_ballot, vote.pk, [[before[0]]], actor=guest) == "vote-options-gone"
    vote.refresh_from_db()
    assert vote.options == before
    close_vote(vote.pk, actor=cast.art_director)


def test_the_letter_ends_the_voting_and_the_vote_is_closed_afterwards(cast, cover, vote, guest):
    set_answer(cover.passage_id, answer="approve", picture_id=vote.options[0], actor=cast.art_director)
    sent(cast)
    assert refusal(cast_ballot, vote.pk, [[vote.options[1]]], actor=guest) == "not-now"
    close_vote(vote.pk, actor=cast.art_director)


def test_after_its_last_day_no_ballot_is_taken(cast, cover, guest):
    today = cast.book.day_rule.local_date(timezone.now())
    yesterday = today - timedelta(days=1)
    opening = {"decider_id": cast.art_director.pk, "actor": cast.art_director}
    assert refusal(open_vote, cover.passage_id, until=yesterday, **opening) == "vote-day-is-past"
    vote = open_vote(cover.passage_id, until=today, **opening)
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    OptionVote.objects.filter(pk=vote.pk).update(until=yesterday)
    assert refusal(cast_ballot, vote.pk, [[vote.options[1]]], actor=guest) == "vote-is-over"


def test_one_vote_at_a_time_among_two_readable_options_at_least(cast, cover, vote):
    opening = {"decider_id": cast.art_director.pk, "actor": cast.art_director}
    assert refusal(open_vote, cover.passage_id, **opening) == "vote-open-already"
    single = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [5])
    assert refusal(open_vote, single.passage_id, **opening) == "vote-needs-two"
    close_vote(vote.pk, actor=cast.art_director)
    assert open_vote(cover.passage_id, **opening).pk != vote.pk
    sketch = cast.passage("Cover", "sketch")
    assert refusal(open_vote, sketch.pk, **opening) == "not-now"


def test_options_still_being_read_are_not_put_to_a_vote(cast):
    passage = cast.passage("Cover", "ideas")
    handed = handed_in(passage, cast.illustrator, [1, 2])
    handed.pictures.filter(position=2).update(state="refused")
    opening = {"decider_id": cast.art_director.pk, "actor": cast.art_director}
    assert refusal(open_vote, passage.pk, **opening) == "vote-options-not-read"


def test_only_the_named_one_decides_and_says_why(cast, cover, guest):
    vote = open_vote(cover.passage_id, decider_id=cast.editor.pk, actor=cast.art_director)
    first = vote.options[0]
    choice = {"picture_id": first, "reasons": "It reads from afar."}
    assert refusal(decide_vote, vote.pk, **choice, actor=cast.editor) == "vote-still-open"
    close_vote(vote.pk, actor=cast.art_director)
    assert refusal(decide_vote, vote.pk, **choice, actor=cast.art_director) == "vote-others-to-decide"
    assert refusal(decide_vote, vote.pk, **choice, actor=guest) == "not-yours"
    assert refusal(decide_vote, vote.pk, picture_id=first, reasons="  ", actor=cast.editor) == "decision-needs-reasons"
    assert refusal(decide_vote, vote.pk, picture_id=0, reasons="So.", actor=cast.editor) == "ballot-names-unknown"
    decide_vote(vote.pk, **choice, actor=cast.editor)
    seats.end_seat(cast.editor.pk, actor=cast.art_director)
    decide_vote(vote.pk, picture_id=vote.options[1], reasons="She has left.", actor=cast.art_director)
    assert OptionVote.objects.get().decided_by == cast.art_director
    assert check_held(cast.book).faults == []


def test_a_seat_that_may_not_decide_is_not_named(cast, cover, guest):
    for seat in (guest, cast.production, cast.illustrator):
        refused = refusal(open_vote, cover.passage_id, decider_id=seat.pk, actor=cast.art_director)
        assert refused == "vote-needs-decider"


def test_a_ballot_changed_behind_the_portals_back_is_not_counted_and_that_is_told(cast, vote, guest):
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    cast_ballot(vote.pk, [[vote.options[1]]], actor=cast.editor)
    VoteBallot.objects.filter(person=guest.person).update(ranks=[[vote.options[1]]])
    close_vote(vote.pk, actor=cast.art_director)
    assert "1 ballot. Order: 2" in told()
    assert told().endswith("Not counted, as changed outside the portal: Wilf Sandor.")


def test_whoever_may_vote_is_written_to_once_and_nobody_of_the_other_side(cast, vote, guest):
    entry = LedgerEntry.objects.get(deed="open-vote")
    told_to = set(Notice.objects.filter(entry=entry).values_list("person__name", flat=True))
    assert told_to == {"Petra Innisfold", "Tamsin Garrick", "Wilf Sandor"}


def test_two_ballots_of_one_person_cannot_be_stored(vote, guest):
    ballot = cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    ballot.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        ballot.save(force_insert=True)


def test_an_answer_in_the_draft_letter_does_not_disturb_a_vote(cast, cover, vote, guest):
    set_answer(cover.passage_id, answer="ask", actor=cast.art_director)
    assert OptionVote.objects.filter(pk=vote.pk, closed_at=None).exists()
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
