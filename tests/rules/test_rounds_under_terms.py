from datetime import date
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds import GroupKey, RoundStanding, count_under
from reviews.rules.contract.rounds_implied import Allowance, count_rounds
from reviews.rules.contract.terms import RoundGroup, TermsHistory
from reviews.rules.contract.timeline import tell
from reviews.rules.entries import Entry
from tests.rules.ledgers import CORVIN, Ledger, day, history, ledgers, plain_terms

LATER = date(2027, 1, 1)


def counted(book, terms=None, as_of=LATER, entries=None):
    receipts = Receipts(terms or history())
    story = tell(book.entries if entries is None else entries, book.spreads)
    return count_under(story, receipts, as_of)


def three_asks(passage=101):
    book = Ledger()
    for month in (4, 5, 6):
        book.hand_in(passage, day(f"2026-{month:02}-01"))
        book.letter(day(f"2026-{month:02}-03"), book.ask(passage))
    return book


def test_third_request_is_over_when_two_rounds_are_in_the_fee():
    found = counted(three_asks()).passages[101]
    assert (found.used, found.in_fee, found.included, found.left, found.over) == (3, 2, 2, 0, 1)
    assert found.entries == (3, 5, 7)


def test_a_letter_is_one_round_on_each_passage_it_asks_of_however_many_notes():
    book = Ledger()
    for passage in (101, 201):
        book.hand_in(passage, day("2026-03-05"))
    book.letter(day("2026-03-06"), book.ask(101, "direction", "text", "direction"), book.approve(201))
    found = counted(book)
    assert found.passages[101].used == 1
    assert found.passages[201].used == 0
    assert found.book.used == 1


def test_brief_not_met_uses_no_round_where_the_terms_say_so():
    book = Ledger()
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-06"), book.ask(101, "brief"))
    book.hand_in(101, day("2026-03-09"))
    book.letter(day("2026-03-10"), book.ask(101, "brief", "direction"))
    assert counted(book, history(brief_counts=True)).passages[101].used == 2
    spared = counted(book, history(brief_counts=False)).passages[101]
    assert (spared.used, spared.not_counted) == (1, 1)
    assert spared.entries == (3, 5)


def test_a_letter_of_questions_uses_no_round_under_any_terms():
    book = Ledger()
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-06"), book.ask(101, "question"))
    book.hand_in(101, day("2026-03-09"))
    book.letter(day("2026-03-10"), book.ask(101, "brief", "question"))
    found = counted(book, history(brief_counts=False)).passages[101]
    assert (found.used, found.not_counted, found.left) == (0, 2, 2)
    found = counted(book, history(brief_counts=True)).passages[101]
    assert (found.used, found.not_counted, found.left) == (1, 1, 1)


def test_stages_of_one_group_share_their_rounds_within_a_spread_only():
    shared = history(groups=(RoundGroup("all", ("sketch", "colour"), 2),))
    book = Ledger()
    for passage in (101, 201):
        book.hand_in(passage, day("2026-03-05"))
    book.letter(day("2026-03-06"), book.ask(101), book.ask(201))
    book.hand_in(101, day("2026-03-09"))
    book.letter(day("2026-03-10"), book.approve(101))
    book.hand_in(102, day("2026-03-12"))
    book.letter(day("2026-03-13"), book.ask(102))
    found = counted(book, shared)
    assert found.groups[GroupKey(1, "all")].used == 2
    assert found.passages[102].left == 0
    assert found.groups[GroupKey(2, "all")].left == 1
    assert found.book.included == 4


def test_change_to_what_was_approved_is_outside_the_fee():
    book = Ledger()
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-06"), book.approve(101))
    book.letter(day("2026-03-20"), book.ask(101, "text"))
    found = counted(book).passages[101]
    assert (found.used, found.outside, found.left) == (0, 1, 2)


def test_every_further_change_to_what_was_approved_is_outside_the_fee_too():
    book = Ledger()
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-06"), book.approve(101))
    for text in ("2026-03-20", "2026-04-20", "2026-05-20"):
        book.letter(day(text), book.ask(101, "text"))
        book.hand_in(101, day(f"{text[:-2]}24"))
    found = counted(book).passages[101]
    assert (found.used, found.outside, found.left) == (0, 3, 2)
    # The next stage has its own rounds: it was never approved.
    book.hand_in(102, day("2026-06-01"))
    book.letter(day("2026-06-03"), book.ask(102, "text"))
    assert (counted(book).passages[102].used, counted(book).passages[102].outside) == (1, 0)


def test_a_redo_that_missed_the_brief_is_outside_too_unless_the_terms_count_no_such_letter():
    book = Ledger()
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-06"), book.approve(101))
    book.letter(day("2026-03-20"), book.ask(101, "text"))
    book.hand_in(101, day("2026-03-24"))
    book.letter(day("2026-03-26"), book.ask(101, "brief"))
    assert counted(book, history(brief_counts=True)).passages[101].outside == 2
    spared = counted(book, history(brief_counts=False)).passages[101]
    assert (spared.used, spared.outside, spared.not_counted) == (0, 1, 1)


def test_an_answer_after_silence_has_approved_is_outside_the_fee():
    book = Ledger()
    book.hand_in(101, day("2026-03-05"))
    book.silence(101, day("2026-04-03"), "2026-04-02")
    book.letter(day("2026-04-15"), book.ask(101))
    found = counted(book, history(silence_approves_after=20)).passages[101]
    assert (found.outside, found.used) == (1, 0)


def test_an_answer_that_comes_before_silence_is_said_to_have_approved_is_a_round():
    book = Ledger()
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-04-15"), book.ask(101))
    assert counted(book, history(silence_approves_after=20)).passages[101].used == 1


def test_amended_terms_leave_earlier_letters_as_they_were():
    more = plain_terms(
        version=2,
        from_on=date(2026, 6, 15),
        groups=(RoundGroup("sketch", ("sketch",), 3), RoundGroup("colour", ("colour",), 2)),
    )
    both = TermsHistory((plain_terms(), more))
    book = three_asks()
    found = counted(book, both)
    # The third letter went under the first version and stays beyond the fee; the new round is free to use.
    assert [one.standing for one in found.rounds] == [RoundStanding.IN_FEE, RoundStanding.IN_FEE, RoundStanding.OVER]
    assert [one.version for one in found.rounds] == [1, 1, 1]
    assert (found.passages[101].over, found.passages[101].left) == (1, 1)
    book.hand_in(101, day("2026-07-01"))
    book.letter(day("2026-07-03"), book.ask(101))
    found = counted(book, both)
    assert (found.passages[101].over, found.passages[101].left) == (1, 0)


def test_amendment_that_takes_rounds_away_never_shows_less_than_none_left():
    fewer = plain_terms(version=2, from_on=date(2026, 6, 15), groups=(RoundGroup("sketch", ("sketch",), 0),))
    found = counted(three_asks(), TermsHistory((plain_terms(), fewer))).passages[101]
    assert (found.left, found.in_fee, found.over) == (0, 2, 1)


@given(ledgers(), st.booleans())
@settings(max_examples=60)
def test_agrees_with_the_plain_count_of_one_version(book, brief_counts):
    """`rounds.count_rounds` counts the same letters in another way."""
    terms = history(brief_counts=brief_counts)
    allowances = {
        passage: Allowance(f"{passage // 100}/{k}", (2, 0, 2)[k]) for passage in book.state for k in [passage % 100 - 1]
    }
    plain = count_rounds(book.entries, allowances, brief_counts=brief_counts)
    found = counted(book, terms)
    for passage, count in plain.items():
        mine = found.passages[passage]
        assert (mine.used, mine.outside, mine.left, mine.over) == (count.used, count.outside, count.left, count.over)
        assert mine.entries == count.entries


@given(ledgers(), st.data())
@settings(max_examples=60)
def test_an_unrelated_entry_never_changes_a_count(book, data):
    before = counted(book)
    at = data.draw(st.integers(1, len(book.entries)))
    deed = data.draw(st.sampled_from(["pin-note", "reply", "take-seat", "word-letter", "change-nothing"]))
    role, by = CORVIN
    other = Entry(seq=10_000, at=book.entries[at - 1].at, deed=deed, role=role, by=by, passage=101, data={})
    more = [*book.entries[:at], other, *book.entries[at:]]
    after = counted(book, entries=more)
    assert after.passages == before.passages
    assert after.groups == before.groups


@given(ledgers())
@settings(max_examples=60)
def test_spreads_are_counted_independently_of_each_other(book):
    """Taking every other spread's letters away leaves a spread's rounds as they were."""
    whole = counted(book)
    for spread in book.spreads:
        alone = []
        for entry in book.entries:
            answers = [one for one in entry.data.get("answers", ()) if one["passage"] // 100 == spread]
            if entry.deed == "send-letter":
                if answers:
                    alone.append(Entry(**(vars(entry) | {"data": {**entry.data, "answers": answers}})))
            elif entry.passage is None or entry.passage // 100 == spread:
                alone.append(entry)
        mine = counted(SimpleNamespace(entries=alone, spreads=book.spreads))
        for passage in whole.passages:
            if passage // 100 == spread:
                assert mine.passages[passage] == whole.passages[passage]


@given(ledgers())
@settings(max_examples=60)
def test_sums_are_the_sums_of_their_parts(book):
    found = counted(book)
    for name in ("used", "in_fee", "over", "outside", "not_counted"):
        of_book = getattr(found.book, name)
        assert of_book == sum(getattr(part, name) for part in found.passages.values())
        assert of_book == sum(getattr(part, name) for part in found.groups.values())
        assert of_book == sum(getattr(part, name) for part in found.stages.values())
    assert found.book.entries == tuple(sorted({one.seq for one in found.rounds}))
