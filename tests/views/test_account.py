"""The account: every figure as the ledger has it."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.actions.page_changes import ask_for_pages
from reviews.actions.proposals import accept_proposal
from reviews.pages.account import account_of
from reviews.pages.wording.ledger import sentence
from reviews.queries.line_names import names_of
from reviews.rules.contract.days import on_or_after
from reviews.rules.contract.plans import READY_PLANS
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.states import Role, Side
from tests.actions.test_terms import enter
from tests.agreed import move_due_date
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, answered, approved, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def page_of(client, cast, role):
    sign_in(client, cast.seat(role).person)
    return client.get(reverse("reviews:account", args=[cast.book.pk]))


def line_of(account, passage):
    return next(line for line in account.lines if line.passage.pk == passage.pk)


def test_the_agent_reads_the_rounds_and_what_went_beyond_the_fee(client, cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    a_round(cast, ideas, 1)
    a_round(cast, ideas, 2, over=True)
    page = page_of(client, cast, Role.AGENT)
    text = page.content.decode()
    assert "1 round over the 1 in the fee" in text
    assert "Pages 4–5, ideas</a>, 1 over" in text
    assert "signed contract" in text
    line = line_of(page.context["account"], ideas)
    names = names_of(cast.book.pk, Role.AGENT)
    lines = ",".join(names[seq] for seq in line.rounds.entries)
    assert len(line.rounds.entries) == 2
    assert f"?passage={ideas.pk}&amp;show={lines}" in text


def test_the_figures_lead_to_lines_that_say_the_same(client, cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    letter = a_round(cast, ideas, 1)
    line = line_of(page_of(client, cast, Role.AGENT).context["account"], ideas)
    [seq] = line.rounds.entries
    name = names_of(cast.book.pk, Role.AGENT)[seq]
    ledger = client.get(reverse("reviews:ledger", args=[cast.book.pk]), {"passage": ideas.pk, "show": name})
    [shown] = [row for row in ledger.context["lines"] if row.name in ledger.context["shown"]]
    assert sentence(shown.entry) == f"Corvin Mallowe sent letter {letter.number}: Pages 4–5, ideas – changes asked for."
    assert "pointed-at" in ledger.content.decode()


def test_a_change_to_something_approved_stands_apart(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    approved(cast, ideas, 1)
    pinned(ideas, cast.editor, "The door is blue now.", cause="text")
    answered(cast, ideas, "ask")
    sent(cast, over=True)
    account = account_of(cast.book, cast.agent)
    line = line_of(account, ideas)
    assert (line.rounds.used, line.rounds.outside, account.n_outside) == (0, 1, 1)
    assert account.over == []


def test_who_holds_what_since_when_and_who_is_late_now():
    """Thirty days ago work began and one spread was handed in; nothing has happened since."""
    with as_if_at(timezone.now() - timedelta(days=30)):
        cast = gather(a_book(start_on=timezone.localdate() - timedelta(days=30)))
        ideas, other = (cast.passage(f"Pages {pages}", "ideas") for pages in ("4–5", "6–7"))
        handed_in(ideas, cast.illustrator)
    ideas.refresh_from_db()
    account = account_of(cast.book, cast.agent)
    mine, theirs = line_of(account, ideas), line_of(account, other)
    assert (mine.holder, theirs.holder) == ("Publisher", "Illustrator")
    assert mine.since == ideas.held_since
    assert [line.passage.pk for line in account.late_with_publisher] == [ideas.pk]
    assert other.pk in [line.passage.pk for line in account.late_with_illustrator]
    assert mine.late_words == f"answer {mine.late_now} working days late"
    # What is stored with the passage and what the statement works out are the same date.
    assert (mine.due_now, theirs.due_now) == (ideas.answer_due_on, other.due_on)


def test_an_answer_after_the_hour_stands_under_its_own_day_and_says_how_it_counts(client):
    """The letter of a Wednesday evening counts from Thursday: both days are told, once."""
    with as_if_at(datetime(2026, 11, 18, 9, tzinfo=UTC)):
        cast = gather(a_book(start_on=date(2026, 11, 2)))
        enter(cast, cut_off=time(18), late_receipt="next-working-day")
        ideas = cast.passage("Pages 4–5", "ideas")
        handed_in(ideas, cast.illustrator, [1])
    with as_if_at(datetime(2026, 11, 18, 18, 20, tzinfo=UTC)):
        answered(cast, ideas, "approve")
        sent(cast)
    line = line_of(account_of(cast.book, cast.agent), ideas)
    assert (line.handed_in.done_on, line.handed_in.counts_words) == (date(2026, 11, 18), "")
    assert (line.answered.done_on, line.answered.counts_words) == (
        date(2026, 11, 18), "after 18:00, counts as 19 Nov 2026",
    )  # fmt: skip
    assert line.line.turns[-1].until_on == date(2026, 11, 19)
    text = page_of(client, cast, Role.AGENT).content.decode()
    assert text.count("after 18:00, counts as 19 Nov 2026") == 1


def test_a_hand_in_before_work_starts_is_not_said_to_have_come_on_a_closed_day():
    with as_if_at(datetime(2026, 11, 17, 9, tzinfo=UTC)):
        cast = gather(a_book(start_on=date(2026, 12, 1)))
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [1])
    line = line_of(account_of(cast.book, cast.agent), cast.passage("Pages 4–5", "ideas"))
    assert line.handed_in.done_on == date(2026, 11, 17)
    assert line.handed_in.counts_words == "before its days began to run, counts as 1 Dec 2026"


def folded_in(text: str, label: str) -> tuple[str, str]:
    """Split what the account says of one spread into what stands open and what is folded away."""
    part = text.split(f'aria-label="{label}"')[1].split("</section>")[0]
    before, _, after = part.partition('<div class="folds">')
    return before, after


def test_what_is_done_and_to_come_is_folded_and_what_stands_out_is_not(client, cast):
    ideas, other = (cast.passage(f"Pages {pages}", "ideas") for pages in ("4–5", "6–7"))
    approved(cast, ideas, 1)
    a_round(cast, other, 2)
    a_round(cast, other, 3, over=True)
    approved(cast, other, 4)
    text = page_of(client, cast, Role.AGENT).content.decode()
    standing, folded = folded_in(text, "Pages 4–5")
    assert f'id="line-{ideas.pk}"' in folded and "<summary>Done: ideas</summary>" in folded
    assert f'id="line-{cast.passage("Pages 4–5", "sketch").pk}"' in standing
    assert f'id="line-{cast.passage("Pages 4–5", "colour").pk}"' in folded and "<summary>To come: " in folded
    # A stage that went beyond the fee stays in sight although it is approved: the sums above lead to it.
    standing, folded = folded_in(text, "Pages 6–7")
    assert f'id="line-{other.pk}"' in standing and "Done: " not in folded
    assert '<details class="more" open>' not in text
    unfolded = client.get(reverse("reviews:account", args=[cast.book.pk]), {"all": 1}).content.decode()
    assert unfolded.count('<details class="more" open>') == text.count('<details class="more">') > 0


def test_a_finished_spread_is_its_name_and_a_fold():
    cast = gather(a_book(cover=READY_PLANS["cover"].stages[:1]))
    approved(cast, cast.passage("Cover", "ideas"), 1)
    [spread] = [one for one in account_of(cast.book, cast.agent).spreads if one.label == "Cover"]
    assert spread.is_finished and not spread.standing and not spread.to_come and spread.done


def test_an_approval_that_waits_is_held_by_the_publisher_and_says_why(cast):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    sketch = cast.passage("Pages 4–5", "sketch")
    handed_in(sketch, cast.illustrator, [2])
    answered(cast, sketch, "approve")
    sent(cast)
    assert line_of(account_of(cast.book, cast.agent), sketch).holder == "Publisher: the editor’s agreement is due"


def test_stages_the_publisher_does_not_see_are_the_illustrators_own(cast):
    def kinds(seat):
        return {line.passage.stage.kind for line in account_of(cast.book, seat).lines}

    assert "ink" in kinds(cast.illustrator)
    for seat in (cast.agent, cast.art_director, cast.editor, cast.production):
        assert "ink" not in kinds(seat)


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION])
def test_every_member_reads_the_account(client, cast, role):
    assert page_of(client, cast, role).status_code == 200


def test_a_guest_and_a_stranger_do_not(client, cast):
    guest = cast.invite_guest(cast.passage("Cover", "ideas"))
    sign_in(client, guest.person)
    assert client.get(reverse("reviews:account", args=[cast.book.pk])).status_code == 403
    assert client.get(reverse("reviews:ledger", args=[cast.book.pk])).status_code == 403
    sign_in(client, cast.stranger)
    assert client.get(reverse("reviews:account", args=[cast.book.pk])).status_code == 404


def test_the_account_costs_as_many_queries_for_much_as_for_little(client, cast, django_assert_max_num_queries):
    for seed, pages in enumerate(("4–5", "6–7", "8–9")):
        a_round(cast, cast.passage(f"Pages {pages}", "ideas"), seed)
    sign_in(client, cast.agent.person)
    with django_assert_max_num_queries(8):  # two of them are the session and the seat
        client.get(reverse("reviews:account", args=[cast.book.pk]))


def test_a_hand_in_date_that_moved_is_not_told_of_the_answer(client, cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    to = on_or_after(ideas.due_on + timedelta(days=10), cast.book.calendar_of(Side.ILLUSTRATOR, timezone.localdate()))
    move_due_date(ideas.pk, to=to, reason="Brought forward by agreement.", actor=cast.art_director)
    text = page_of(client, cast, Role.AGENT).content.decode()
    assert "moved 1 time, last: Brought forward by agreement." in text
    assert "the hand-in:" not in text
    handed_in(ideas, cast.illustrator, [1])
    text = page_of(client, cast, Role.AGENT).content.decode()
    assert f"the hand-in: {to:%-d %b %Y}, moved 1 time, last: Brought forward by agreement." in text


@pytest.mark.parametrize("is_handed_in", [False, True])
def test_dropping_a_spread_is_told_as_no_hand_in_and_no_answer(client, cast, is_handed_in):
    """What was dropped and brought back was neither handed in nor answered by that."""
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    ideas = cast.passage("Pages 6–7", "ideas")
    if is_handed_in:
        handed_in(ideas, cast.illustrator, [1])
    drop = WantedPages(what=PageDeed.DROP, spread=ideas.spread_id)
    back = WantedPages(what=PageDeed.BACK, spread=ideas.spread_id, first_page=6, last_page=7)
    for wanted in (drop, back):
        made = ask_for_pages(cast.book.pk, wanted, "We try without.", actor=cast.art_director)
        accept_proposal(made.pk, actor=cast.illustrator)
    line = line_of(page_of(client, cast, Role.AGENT).context["account"], ideas)
    assert line.answered is None
    assert (line.handed_in.number if line.handed_in else None) == (1 if is_handed_in else None)
