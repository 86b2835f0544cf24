from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.pages.wording.feed import summary_words
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.timeline import tell
from reviews.rules.due_events import events_of, gone_events
from reviews.rules.states import Side, Sight
from tests.rules.ledgers import CORVIN, PETRA, Ledger, day, history, ledgers

BOTH = (Side.ILLUSTRATOR, Side.PUBLISHER)


def events(book, today, sides=BOTH, reader=Sight.ALL, **terms):
    held = history(**terms)
    story = tell(book.entries, book.spreads, until=held.versions[0].day_rule.end_of(today))
    statement = draw_up(book.entries, held, today, book.spreads)
    return events_of(
        story, statement, sides, book_key="b", person_key="p", title="Tansy", reader=reader,
        url="https://portal.example/{passage}/",
    )  # fmt: skip


def test_each_side_sees_what_it_owes():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    mine = events(book, date(2026, 3, 10), (Side.ILLUSTRATOR,))
    theirs = events(book, date(2026, 3, 10), (Side.PUBLISHER,))
    assert [(event.on, event.is_cancelled) for event in mine] == [(date(2026, 3, 9), True), (date(2026, 3, 20), False)]
    assert [(event.on, event.is_cancelled) for event in theirs] == [(date(2026, 3, 11), False)]
    assert summary_words(theirs[0]) == "Tansy: Opening 1, sketch (answer)"
    assert theirs[0].url == "https://portal.example/101/"


def test_a_date_that_is_met_is_cancelled_for_a_while_then_left_out():
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06"))
    assert [event.is_cancelled for event in events(book, date(2026, 4, 5), (Side.ILLUSTRATOR,))] == [True]
    assert events(book, date(2026, 4, 6), (Side.ILLUSTRATOR,)) == []


def test_a_moved_date_keeps_its_uid_and_counts_up():
    book = Ledger(n_spreads=1)
    before = events(book, date(2026, 3, 4), (Side.ILLUSTRATOR,))[0]
    book.move(101, day("2026-03-04"), "2026-03-12", "A wedding in the family")
    after = events(book, date(2026, 3, 4), (Side.ILLUSTRATOR,))[0]
    assert before.uid == after.uid
    assert before.sequence < after.sequence
    assert after.on == date(2026, 3, 12)


def test_days_the_publisher_is_late_move_the_next_date_and_count_up():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    first, second = (
        next(
            e
            for e in events(book, date(2026, 3, d), (Side.ILLUSTRATOR,), publisher_late_moves=True)
            if not e.is_cancelled
        )
        for d in (12, 13)
    )
    assert first.uid == second.uid
    assert (first.on, second.on) == (date(2026, 3, 23), date(2026, 3, 24))
    assert second.sequence == first.sequence + 1


def test_late_days_that_a_moved_answer_takes_back_do_not_let_the_sequence_fall():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))  # the answer is due on Wednesday 11 March

    def colour(today):
        found = events(book, today, (Side.ILLUSTRATOR,), publisher_late_moves=True)
        return next(event for event in found if not event.is_cancelled)

    before = colour(date(2026, 3, 20))
    book.move_answer(101, day("2026-03-20"), "2026-03-25")
    after = colour(date(2026, 3, 20))
    assert (before.on, after.on) == (date(2026, 3, 31), date(2026, 3, 20))
    assert after.sequence > before.sequence
    assert after.changed_at == day("2026-03-20")


def gone(book, today, **more):
    held = history()
    story = tell(book.entries, book.spreads, until=held.versions[0].day_rule.end_of(today))
    return gone_events(story, today, book_key="b", person_key="p", title="Tansy", n_terms=1, **more)


def test_a_stage_that_was_taken_away_is_cancelled_for_a_while_with_its_last_date():
    book = Ledger(n_spreads=1)
    book.move(102, day("2026-03-03"), "2026-03-27")
    before = next(e for e in events(book, date(2026, 3, 4), (Side.ILLUSTRATOR,)) if e.stage == "colour")
    book.add(day("2026-03-05"), "change-plan", CORVIN, None, plan="Inside", spreads=[], passages=[], closes=[102])
    assert [e.uid for e in events(book, date(2026, 3, 5), (Side.ILLUSTRATOR,))] != [before.uid]
    [after] = gone(book, date(2026, 3, 5))
    assert (after.uid, after.on, summary_words(after)) == (before.uid, before.on, summary_words(before))
    assert after.is_cancelled
    assert after.sequence > before.sequence
    assert after.changed_at == day("2026-03-05")
    assert gone(book, date(2026, 4, 4)) == [after]
    assert gone(book, date(2026, 4, 5)) == []


def test_a_hidden_stage_that_went_is_told_to_the_illustrator_alone():
    book = Ledger(n_spreads=1, gate="hidden")
    book.add(day("2026-03-05"), "change-plan", CORVIN, None, plan="Inside", spreads=[], passages=[], closes=[102])
    assert gone(book, date(2026, 3, 6)) == []
    assert len(gone(book, date(2026, 3, 6), reader=Sight.ILLUSTRATOR)) == 1


def test_terms_that_are_entered_lift_every_sequence():
    book = Ledger(n_spreads=2)
    story = tell(book.entries, book.spreads)
    statement = draw_up(book.entries, history(), date(2026, 3, 4), book.spreads)
    names = {"book_key": "b", "person_key": "p", "title": "Tansy"}
    implied, entered = (events_of(story, statement, BOTH, n_terms=n, **names) for n in (0, 1))
    assert [event.uid for event in implied] == [event.uid for event in entered]
    assert all(now.sequence > before.sequence for before, now in zip(implied, entered, strict=True))


def with_what_the_editor_said(book):
    """Copy a ledger, and after each hand-in let the editor agree beforehand, object, and agree again."""
    told = Ledger(n_spreads=len(book.spreads), stages=("sketch", "ink", "colour"))
    told.entries = []
    for entry in book.entries:
        told.add(entry.at, entry.deed, (entry.role, entry.by), entry.passage, **entry.data)
        if entry.deed == "hand-in":
            for minute, deed in enumerate(("agree-approval", "object", "agree-approval"), start=1):
                said = {"completes": False} if deed == "agree-approval" else {"words": "No."}
                told.add(entry.at + timedelta(minutes=minute), deed, PETRA, entry.passage, to="answering", **said)
    return told


@given(ledgers(), st.integers(0, 120))
@settings(max_examples=40)
def test_nothing_the_editor_says_before_an_approval_moves_a_number_or_a_moment_of_the_other_side(book, n_days):
    today = book.entries[0].at.date() + timedelta(n_days)
    told = with_what_the_editor_said(book)
    for sides, reader in ((BOTH, Sight.ALL), ((Side.ILLUSTRATOR,), Sight.ILLUSTRATOR)):
        assert events(told, today, sides, reader) == events(book, today, sides, reader)


def test_a_hidden_stage_counts_for_the_illustrator_alone():
    book = Ledger(n_spreads=1, gate="hidden")
    before = {reader: events(book, date(2026, 3, 6), BOTH, reader) for reader in Sight}
    book.hand_in(101, day("2026-03-05"))
    after = {reader: events(book, date(2026, 3, 6), BOTH, reader) for reader in Sight}
    colour = {reader: [next(e for e in found[reader] if e.stage == "colour") for found in (before, after)]
              for reader in Sight}  # fmt: skip
    assert colour[Sight.ILLUSTRATOR][0].sequence < colour[Sight.ILLUSTRATOR][1].sequence
    for reader in (Sight.ALL, Sight.PUBLISHER):
        assert colour[reader][0] == colour[reader][1]


def test_a_stage_that_is_hidden_from_now_on_lets_no_sequence_fall():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-05"))
    before = events(book, date(2026, 3, 6), BOTH, Sight.PUBLISHER)
    book.add(
        day("2026-03-06"), "change-plan", CORVIN, None, plan="Inside", spreads=[], passages=[], gates={"101": "hidden"}
    )
    after = {event.uid: event for event in events(book, date(2026, 3, 6), BOTH, Sight.PUBLISHER)}
    assert all(after[event.uid].sequence >= event.sequence for event in before if event.uid in after)


@given(ledgers(), st.booleans(), st.lists(st.integers(0, 120), min_size=2, max_size=6).map(sorted))
@settings(max_examples=60)
def test_a_change_always_has_a_higher_sequence_and_one_uid_is_one_event(book, moves, days):
    seen = {}
    for n_days in days:
        today = book.entries[0].at.date() + timedelta(n_days)
        found = events(book, today, publisher_late_moves=moves)
        assert len({event.uid for event in found}) == len(found)
        for event in found:
            now = (event.on, event.is_cancelled)
            if event.uid in seen:
                sequence, before = seen[event.uid]
                assert event.sequence >= sequence
                if before != now:
                    assert event.sequence > sequence
            seen[event.uid] = (event.sequence, now)


def test_a_proof_is_in_no_calendar_of_the_illustrators_as_theirs_to_hand_in():
    book = Ledger(n_spreads=1, stages=("colour", "proof"))
    assert [event.stage for event in events(book, date(2026, 3, 4), (Side.ILLUSTRATOR,))] == ["colour"]
    book.hand_in(101, day("2026-03-06"))
    letter = book.letter(day("2026-03-10"), book.approve(101))
    letter.data["answers"][0]["printers"] = [102]
    assert [event.stage for event in events(book, date(2026, 3, 11), (Side.ILLUSTRATOR,))] == ["colour"]


def test_no_sequence_falls_where_dropped_spreads_share_a_position():
    """A dropped spread keeps its position, and the next one has the same from then on."""
    book = Ledger(n_spreads=2)
    book.move(101, day("2026-03-04"), "2026-03-12", "A wedding in the family")
    book.drop(1, day("2026-03-05"))
    before = {event.uid: event.sequence for event in events(book, date(2026, 3, 5), (Side.ILLUSTRATOR,))}
    book.spreads[2] = replace(book.spreads[2], position=book.spreads[1].position)
    book.drop(2, day("2026-03-06"))
    after = {event.uid: event.sequence for event in events(book, date(2026, 3, 6), (Side.ILLUSTRATOR,))}
    assert before.keys() == after.keys() and len(before) == 4
    assert all(after[uid] >= before[uid] for uid in before)


def test_spreads_that_share_a_position_are_told_one_after_the_other():
    book = Ledger(n_spreads=2)
    book.drop(1, day("2026-03-05"))
    book.drop(2, day("2026-03-06"))
    book.spreads[2] = replace(book.spreads[2], position=book.spreads[1].position)
    told = [story.spread.spread for story in tell(book.entries, book.spreads).dropped()]
    assert told == sorted(told) and len(set(told)) == 2
