"""Spreads dropped, added and brought back: what both sides agree on, what is kept, and what is counted afterwards."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone

from reviews.actions import hand_ins, letters, notes, pictures, repagination
from reviews.actions.clock import as_if_at
from reviews.actions.dates import ask_for_date
from reviews.actions.page_changes import accept_pages, ask_for_pages, change_pages, propose_pages
from reviews.actions.proposals import accept_proposal, decline_proposal
from reviews.actions.taking_back import take_back_letter
from reviews.models import HandIn, LedgerEntry, LetterAnswer, Note, Notice, Passage, Proposal, Spread
from reviews.queries.ledger_check import check_ledger
from reviews.queries.reckoning import reckon_one
from reviews.queries.statement import export_of
from reviews.rules.contract import recount
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.proposals import ProposalState
from reviews.rules.repagination import Moving
from reviews.rules.states import Deed, Refused
from tests.actions.signed import enter
from tests.agreed import across_from
from tests.cast import Cast, gather
from tests.letter_scene import a_round, answered, approved, pinned, sent
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db
WHY = "The middle is too long."


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


def spread_of(cast, label="Pages 6–7") -> Spread:
    return Spread.objects.get(book=cast.book, label=label)


def drop(cast, label="Pages 6–7") -> WantedPages:
    return WantedPages(what=PageDeed.DROP, spread=spread_of(cast, label).pk)


def back(cast, label="Pages 6–7", first=6) -> WantedPages:
    gone = Spread.objects.filter(book=cast.book, label=label).order_by("dropped_at").last()
    return WantedPages(what=PageDeed.BACK, spread=gone.pk, first_page=first, last_page=first + 1)


def add(first: int) -> WantedPages:
    return WantedPages(what=PageDeed.ADD, first_page=first, last_page=first + 1)


def agreed(cast, wanted, *, by=None) -> Proposal:
    """Let one side propose it and the other agree."""
    by = by or cast.art_director
    made = ask_for_pages(cast.book.pk, wanted, WHY, actor=by)
    assert made is not None
    return accept_proposal(made.pk, actor=across_from(by))


def labels(cast) -> list[str]:
    rows = Spread.objects.filter(book=cast.book, removed_at=None).order_by("position")
    assert [row.position for row in rows] == list(range(1, len(rows) + 1))
    return [row.label for row in rows]


def holds_together(cast) -> None:
    """Hold the ledger against the rows, and the exported book against a recount of it."""
    assert not check_ledger(cast.book, hashes=True).faults
    told = export_of(cast.book, None, at=timezone.now())
    assert recount.differences(told["figures"], recount.figures(recount.count_again(told))) == []


def test_before_anything_is_handed_in_the_publisher_does_it_and_the_other_side_is_told(cast):
    assert ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director) is None
    assert "Pages 6–7" not in labels(cast)
    entry = LedgerEntry.objects.get(deed=Deed.REPAGE)
    assert entry.data["dropped"][0]["label"] == "Pages 6–7" and "proposed" not in entry.data
    told = {notice.person for notice in Notice.objects.filter(entry=entry)}
    assert told == {seat.person for seat in (cast.illustrator, cast.agent, cast.editor, cast.production)}
    holds_together(cast)
    assert ask_for_pages(cast.book.pk, add(6), WHY, actor=cast.art_director) is None
    assert labels(cast).count("Pages 6–7") == 1
    assert Passage.objects.live().filter(spread__label="Pages 6–7", state="drawing").count() == 1
    holds_together(cast)


@pytest.mark.parametrize("who", ["illustrator", "agent", "editor", "production"])
def test_nobody_else_changes_the_pages_alone(cast, who):
    with pytest.raises(Refused):
        change_pages(cast.book.pk, drop(cast), WHY, actor=getattr(cast, who))
    assert "Pages 6–7" in labels(cast)


def test_once_something_is_handed_in_neither_side_does_it_alone(cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    with pytest.raises(Refused, match="pages-begun"):
        change_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director)
    made = ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director)
    assert "Pages 6–7" in labels(cast), "nothing changes until the other side agrees"
    with pytest.raises(Refused, match="own-proposal"):
        accept_proposal(made.pk, actor=cast.art_director)
    for seat in (cast.editor, cast.production):
        with pytest.raises(Refused):
            accept_pages(made.pk, actor=seat)
    with pytest.raises(Refused, match="agent-not-asked"):
        accept_pages(made.pk, actor=cast.agent)
    accept_proposal(made.pk, actor=cast.illustrator)
    assert "Pages 6–7" not in labels(cast)
    entry = LedgerEntry.objects.get(deed=Deed.REPAGE)
    assert entry.data["proposed"]["by"] == cast.art_director.person.name and entry.by == cast.illustrator.person.name
    holds_together(cast)


def test_once_terms_are_agreed_the_publisher_alone_binds_nobody_to_more_pages(cast):
    enter(cast)
    count = WantedPages(what=PageDeed.COUNT, n_pages=20)
    for wanted in (count, drop(cast)):
        with pytest.raises(Refused, match="pages-begun"):
            change_pages(cast.book.pk, wanted, WHY, actor=cast.art_director)
    made = ask_for_pages(cast.book.pk, count, WHY, actor=cast.art_director)
    assert made is not None and made.state == ProposalState.OPEN
    cast.book.refresh_from_db()
    assert cast.book.n_pages == 16
    accept_proposal(made.pk, actor=cast.illustrator)
    cast.book.refresh_from_db()
    assert cast.book.n_pages == 20
    holds_together(cast)


def test_once_a_picture_is_in_a_draft_the_publisher_does_nothing_alone(cast):
    draft(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    with pytest.raises(Refused, match="pages-begun"):
        change_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director)
    assert ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director) is not None
    assert "Pages 6–7" in labels(cast)


def test_declined_nothing_changes(cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    made = ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.illustrator)
    decline_proposal(made.pk, "It stays.", actor=cast.art_director)
    assert "Pages 6–7" in labels(cast) and not LedgerEntry.objects.filter(deed=Deed.REPAGE).exists()
    with pytest.raises(Refused, match="proposal-declined"):
        accept_pages(made.pk, actor=cast.art_director)
    holds_together(cast)


def test_a_dropped_spread_keeps_its_art_notes_and_history_and_comes_back_with_them(cast):
    passage = cast.passage("Pages 6–7", "ideas")
    a_round(cast, passage, 1)
    handed_in(passage, cast.illustrator, [2])
    kept = pinned(passage, cast.editor, "Still too many birds.")
    answered(cast, passage, "ask")
    before = (HandIn.objects.count(), Note.objects.count())
    agreed(cast, drop(cast))
    assert (HandIn.objects.count(), Note.objects.count()) == before
    kept.refresh_from_db()
    assert kept.state == "unsent" and not LetterAnswer.objects.filter(letter__sent_at=None).exists()
    with pytest.raises(Refused, match="spread-dropped"):
        pinned(passage, cast.editor)
    with pytest.raises(Refused, match="spread-dropped"):
        letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    holds_together(cast)
    agreed(cast, back(cast))
    passage.refresh_from_db()
    assert passage.state == "answering" and passage.hand_in.number == 2 and labels(cast).count("Pages 6–7") == 1
    answered(cast, passage, "ask")
    letter = sent(cast, over=True)
    kept.refresh_from_db()
    assert kept.state == "sent" and kept.letter == letter
    holds_together(cast)


def test_back_on_other_free_pages_it_has_their_number(cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    agreed(cast, drop(cast))
    agreed(cast, drop(cast, "Pages 10–11"))
    moved = spread_of(cast).pk
    agreed(cast, back(cast, first=10))
    assert labels(cast)[2:] == ["Pages 4–5", "Pages 8–9", "Pages 10–11", "Pages 12–13", "Back ends 14–15"]
    assert Spread.objects.get(pk=moved).label == "Pages 10–11"
    gone = Spread.objects.get(book=cast.book, dropped_at__isnull=False)
    wanted = WantedPages(what=PageDeed.BACK, spread=gone.pk, first_page=4, last_page=5)
    with pytest.raises(Refused, match="page-taken"):
        propose_pages(cast.book.pk, wanted, WHY, actor=cast.art_director)
    holds_together(cast)


def test_the_days_and_rounds_used_stay_and_nothing_more_is_due(cast):
    passage = cast.passage("Pages 6–7", "ideas")
    a_round(cast, passage, 1)
    now = timezone.now()
    before = reckon_one(cast.book, now).statement
    agreed(cast, drop(cast))
    after = reckon_one(cast.book, timezone.now()).statement
    assert after.rounds.book.used == before.rounds.book.used == 1
    assert passage.pk not in {line.passage for line in after.lines}
    (line,) = [line for line in after.dropped if line.passage == passage.pk]
    assert line.rounds.used == 1 and not any(turn.is_open for turn in line.turns)
    assert after.days.illustrator == before.days.illustrator


def test_dropping_a_late_spread_loses_no_day_of_lateness_and_stops_the_count():
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book())
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    with as_if_at(datetime(2026, 11, 18, 9, tzinfo=UTC)):
        made = ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.illustrator)
        at = datetime(2026, 11, 18, 12, tzinfo=UTC)
        late = {line.passage: line.days for line in reckon_one(cast.book, at).statement.lines}
        accept_proposal(made.pk, actor=cast.art_director)
    passage = cast.passage("Pages 6–7", "ideas")

    def late_on(day: int) -> int:
        at = datetime(2026, 11, day, 12, tzinfo=UTC)
        (line,) = [one for one in reckon_one(cast.book, at).statement.dropped if one.passage == passage.pk]
        return line.days.illustrator_late

    assert late[passage.pk].illustrator_late == late_on(18) == late_on(27) > 0
    with as_if_at(datetime(2026, 11, 25, 9, tzinfo=UTC)):
        agreed(cast, back(cast))
        passage.refresh_from_db()
        assert passage.due_on == date(2026, 12, 2), "the days of the stage, from the day it is back"
        statement = reckon_one(cast.book, datetime(2026, 11, 25, 12, tzinfo=UTC)).statement
        (line,) = [one for one in statement.lines if one.passage == passage.pk]
        assert line.days.illustrator_late == late[passage.pk].illustrator_late
        assert line.due.current_on == passage.due_on and line.due.moves[-1].why == "brought-back"
        holds_together(cast)


def test_earlier_statements_do_not_change():
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book())
        a_round(cast, cast.passage("Pages 6–7", "ideas"), 1)
    with as_if_at(datetime(2026, 11, 10, 9, tzinfo=UTC)):
        before = export_of(cast.book, date(2026, 11, 9), at=timezone.now())["figures"]
        agreed(cast, drop(cast))
        agreed(cast, add(6))
        after = export_of(cast.book, date(2026, 11, 9), at=timezone.now())["figures"]
    assert recount.differences(before, after) == []


def test_a_letter_about_a_spread_dropped_since_cannot_be_taken_back(cast):
    letter = a_round(cast, cast.passage("Pages 6–7", "ideas"), 1)
    agreed(cast, drop(cast))
    with pytest.raises(Refused, match="letter-answered"):
        take_back_letter(letter.pk, "A slip.", actor=cast.art_director)
    agreed(cast, back(cast))
    with pytest.raises(Refused, match="letter-answered"):
        take_back_letter(letter.pk, "A slip.", actor=cast.art_director)


def test_what_came_between_proposing_and_agreeing_is_not_agreed_to_unseen(cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    made = ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director)
    other = spread_of(cast, "Pages 10–11")
    repagination.move_spread(spread_of(cast).pk, other.pk, Moving.SWAP, "It runs better.", actor=cast.production)
    with pytest.raises(Refused, match="pages-changed-since"):
        accept_pages(made.pk, actor=cast.illustrator)
    made.refresh_from_db()
    assert made.state == ProposalState.OPEN


def test_a_newer_proposal_stands_for_the_one_that_was_read(cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    first = ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director)
    with pytest.raises(Refused, match="proposal-fresh"):
        ask_for_pages(cast.book.pk, drop(cast, "Pages 10–11"), WHY, actor=cast.illustrator)
    ask_for_pages(cast.book.pk, drop(cast, "Pages 10–11"), WHY, seen=first.number, actor=cast.illustrator)
    with pytest.raises(Refused, match="proposal-answered"):
        accept_pages(first.pk, actor=cast.illustrator)


def test_what_the_publisher_changes_alone_ends_the_open_proposal_of_pages(cast):
    made = propose_pages(cast.book.pk, drop(cast), WHY, actor=cast.illustrator)
    assert ask_for_pages(cast.book.pk, drop(cast, "Pages 10–11"), WHY, actor=cast.art_director) is None
    made.refresh_from_db()
    assert made.state == ProposalState.OVERTAKEN and made.ended_by == cast.art_director
    with pytest.raises(Refused, match="proposal-overtaken"):
        accept_pages(made.pk, actor=cast.art_director)
    holds_together(cast)


def test_a_date_proposed_for_a_dropped_spread_has_lost_its_object(cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    made = ask_for_date(passage.pk, to=passage.due_on + timedelta(7), reason="A cold.", actor=cast.illustrator)
    agreed(cast, drop(cast))
    with pytest.raises(Refused, match="proposal-overtaken"):
        accept_proposal(made.pk, actor=cast.art_director)


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        (lambda cast: drop(cast, "Cover"), "drop-fixed"),
        (lambda cast: WantedPages(what=PageDeed.DROP, spread=0), "pages-elsewhere"),
        (lambda cast: add(6), "page-taken"),
        (lambda cast: add(2), "page-taken"),
        (lambda cast: add(40), "page-taken"),
        (lambda cast: back(cast), "pages-elsewhere"),
        (lambda cast: WantedPages(what=PageDeed.COUNT, n_pages=16), "pages-same"),
        (lambda cast: WantedPages(what=PageDeed.COUNT, n_pages=22), "cannot-be-folded"),
        (lambda cast: WantedPages(what=PageDeed.COUNT, n_pages=12), "too-few-for-self-ends"),
    ],
)
def test_what_cannot_be_is_refused_with_its_reason(cast, wanted, code):
    with pytest.raises(Refused, match=code):
        ask_for_pages(cast.book.pk, wanted(cast), WHY, actor=cast.art_director)
    assert not LedgerEntry.objects.filter(deed=Deed.REPAGE).exists()


def test_without_a_reason_nothing_changes(cast):
    with pytest.raises(Refused, match="pages-need-reason"):
        ask_for_pages(cast.book.pk, drop(cast), "  ", actor=cast.art_director)


def test_a_spread_of_another_book_cannot_be_dropped(cast):
    other = gather(a_book(title="The Heron’s Hat"))
    wanted = replace(drop(cast), spread=Spread.objects.get(book=other.book, label="Pages 6–7").pk)
    with pytest.raises(Refused, match="pages-elsewhere"):
        ask_for_pages(cast.book.pk, wanted, WHY, actor=cast.art_director)


def test_more_pages_bring_spreads_and_move_the_ends_and_fewer_drop_what_does_not_fit(cast):
    count = WantedPages(what=PageDeed.COUNT, n_pages=20)
    ends = spread_of(cast, "Back ends 14–15").pk
    ask_for_pages(cast.book.pk, count, WHY, actor=cast.art_director)
    cast.book.refresh_from_db()
    assert cast.book.n_pages == 20 and Spread.objects.get(pk=ends).label == "Back ends 18–19"
    assert labels(cast)[-3:] == ["Pages 14–15", "Pages 16–17", "Back ends 18–19"]
    handed_in(cast.passage("Pages 16–17", "ideas"), cast.illustrator)
    holds_together(cast)
    agreed(cast, replace(count, n_pages=16))
    assert labels(cast)[-2:] == ["Pages 12–13", "Back ends 14–15"]
    assert {row.label for row in Spread.objects.filter(dropped_at__isnull=False)} == {"Pages 14–15", "Pages 16–17"}
    assert LedgerEntry.objects.filter(deed=Deed.REPAGE).last().data["n_pages"] == [20, 16]
    holds_together(cast)


def test_after_a_sketch_is_approved_the_number_of_pages_stands_and_spreads_can_still_go(cast):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    sketch = cast.passage("Pages 4–5", "sketch")
    Passage.objects.filter(pk=sketch.pk).update(
        state="approved", approved_picture=HandIn.objects.get().pictures.get(), approved_sha256="0" * 64
    )
    with pytest.raises(Refused, match="pages-sketch-approved"):
        propose_pages(cast.book.pk, WantedPages(what=PageDeed.COUNT, n_pages=20), WHY, actor=cast.art_director)
    assert propose_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director).number == 1


def test_nobody_works_on_a_dropped_spread_and_what_was_uploaded_before_is_read_on(cast):
    passage = cast.passage("Pages 6–7", "ideas")
    letter = a_round(cast, passage, 1)
    begun = draft(passage, cast.illustrator, [2], ready=False)
    agreed(cast, drop(cast))
    note = Note.objects.get(letter=letter)
    for deed in (
        lambda: notes.answer_note(note.pk, response="done", actor=cast.illustrator),
        lambda: notes.reply(note.pk, "Which bird?", actor=cast.illustrator),
        lambda: hand_ins.hand_in(begun.pk, actor=cast.illustrator),
    ):
        with pytest.raises(Refused, match="spread-dropped"):
            deed()
    picture = begun.pictures.get()
    pictures.picture_ready(picture.pk, width_px=506, height_px=256, facts={"kind": "jpeg"})
    picture.refresh_from_db()
    assert picture.state == "ready"
    holds_together(cast)


def test_two_who_agree_at_once_change_the_pages_once(cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    made = ask_for_pages(cast.book.pk, drop(cast), WHY, actor=cast.art_director)
    accept_pages(made.pk, actor=cast.illustrator)
    with pytest.raises(Refused, match="proposal-accepted"):
        accept_pages(made.pk, actor=cast.illustrator)
    assert LedgerEntry.objects.filter(deed=Deed.REPAGE).count() == 1
