"""Proposed dates as both sides see them: table, desk, mail, statement."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.actions.dates import ask_for_date
from reviews.actions.proposals import accept_proposal
from reviews.models import Notice, Passage, Proposal
from reviews.notices.wording import mail_for
from reviews.rules.proposals import ProposalState
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.kept import scene
from tests.makers import a_book

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 12, 9, tzinfo=UTC)


@scene
def three_days_late():
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        return gather(a_book())


@pytest.fixture
def cast(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return three_days_late()


def ideas(cast) -> Passage:
    return cast.passage("Pages 4–5", "ideas")


def proposed(cast, actor=None, days=14) -> Proposal:
    to = ideas(cast).due_on + timedelta(days)
    with as_if_at(NOW):
        return ask_for_date(ideas(cast).pk, to=to, reason="The text came late.", actor=actor or cast.illustrator)


def page(client, seat, name, *args) -> str:
    sign_in(client, seat.person)
    answer = client.get(reverse(f"reviews:{name}", args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def posted(client, seat, name, pk, **form) -> str:
    sign_in(client, seat.person)
    answer = client.post(reverse(f"reviews:{name}", args=[pk]), form, follow=True)
    return answer.content.decode()


def test_the_table_says_what_a_date_of_ones_own_costs_and_one_of_the_others(client, cast):
    own = page(client, cast.illustrator, "passage", ideas(cast).pk)
    assert "A later date holds once the other side agrees" in own and "forgiven too" not in own
    theirs = page(client, cast.art_director, "passage", ideas(cast).pk)
    assert "The other side keeps this date" in theirs and "forgiven too" in theirs
    for role in (Role.EDITOR, Role.PRODUCTION, Role.AGENT):
        assert "Propose another date" not in page(client, cast.seat(role), "passage", ideas(cast).pk), role


def test_a_later_date_typed_at_the_table_is_only_proposed(client, cast):
    before = ideas(cast).due_on
    to = (before + timedelta(14)).isoformat()
    text = posted(
        client, cast.illustrator, "move-due-date", ideas(cast).pk, which="hand-in", to=to, reason="Needs longer."
    )
    assert "is proposed. Until the other side agrees, the date before holds." in text
    assert "It waits for the publisher’s word." in text
    assert ideas(cast).due_on == before


def test_the_other_sides_desk_and_mail_ask(client, cast):
    made = proposed(cast)
    desk = page(client, cast.art_director, "desk")
    assert "The other side proposes" in desk and f"#proposal-{made.number}" in desk
    assert "The other side waits for your word on 1 proposal." in desk
    for seat in (cast.illustrator, cast.agent, cast.editor):
        assert "The other side proposes" not in page(client, seat, "desk"), seat
    mails = {
        notice.person.name: mail_for(notice, lambda letter: b"")
        for notice in Notice.objects.filter(kind="happened", entry__deed="propose")
    }
    assert set(mails) == {"Corvin Mallowe", "Desmond Rookley"}
    assert "Read and answer it" in mails["Corvin Mallowe"].html
    assert "Read and answer it" not in mails["Desmond Rookley"].html
    assert mails["Corvin Mallowe"].subject.startswith("Proposed: Pages 4–5, ideas")


def test_accepted_on_the_page_with_the_lateness_forgiven(client, cast):
    made = proposed(cast)
    text = page(client, cast.art_director, "proposals", cast.book.pk)
    assert "Your word is asked for" in text and "late until today are forgiven too" in text
    assert "Your word is asked for" not in page(client, cast.illustrator, "proposals", cast.book.pk)
    form = {"stands_on": made.from_on.isoformat(), "forgives": "on"}
    with as_if_at(NOW):
        text = posted(client, cast.art_director, "accept-proposal", made.pk, **form)
    assert "You agreed to proposal 1." in text and "Accepted by Corvin Mallowe" in text
    statement = page(client, cast.agent, "statement", cast.book.pk)
    assert "Juniper Aldersea proposed it, Corvin Mallowe agreed and forgave the days late until then" in statement
    assert "3 late, forgiven" in statement


def test_declined_and_withdrawn_ask_for_a_line(client, cast):
    made = proposed(cast)
    assert "Write one line that says why." in posted(client, cast.art_director, "decline-proposal", made.pk, words=" ")
    with as_if_at(NOW):
        assert "You declined proposal 1." in posted(
            client, cast.art_director, "decline-proposal", made.pk, words="The printer waits."
        )
        second = proposed(cast)
        assert "You withdrew proposal 2." in posted(
            client, cast.illustrator, "withdraw-proposal", second.pk, words="A slip."
        )


def test_answered_twice_the_second_gets_a_sentence(client, cast):
    made = proposed(cast)
    with as_if_at(NOW):
        accept_proposal(made.pk, actor=cast.art_director)
    sign_in(client, cast.art_director.person)
    answer = client.post(reverse("reviews:accept-proposal", args=[made.pk]), HTTP_REFERER="/", follow=True)
    assert "This proposal was accepted meanwhile." in answer.content.decode()


def test_answered_with_another_date_from_the_page(client, cast):
    made = proposed(cast)
    to = (ideas(cast).due_on + timedelta(7)).isoformat()
    with as_if_at(NOW):
        posted(
            client, cast.art_director, "move-due-date", ideas(cast).pk, which="hand-in", to=to, reason="A week.",
            seen=str(made.number),
        )  # fmt: skip
    made.refresh_from_db()
    assert made.state == ProposalState.ANSWERED
    assert "Your word is asked for" in page(client, cast.illustrator, "proposals", cast.book.pk)


def test_the_seats_page_lets_the_illustrator_alone_say_who_answers(client, cast):
    label = "Let them answer dates and pauses for you"
    assert label in page(client, cast.illustrator, "seats", cast.book.pk)
    assert label not in page(client, cast.agent, "seats", cast.book.pk)
    text = posted(client, cast.illustrator, "let-agent-answer", cast.agent.pk, answers_dates="on")
    assert "proposes and accepts dates for the illustrator" in text
    proposed(cast, cast.art_director)
    assert "The other side proposes" in page(client, cast.agent, "desk")


def test_production_sees_the_last_day_alone(client, cast):
    text = page(client, cast.production, "change-book", cast.book.pk)
    assert "Everything approved by" in text and 'name="title"' not in text
    form = {"final_on": "2027-08-02", "initial-final_on": "", "reason": "The printer’s slot."}
    with as_if_at(NOW):
        posted(client, cast.production, "change-book", cast.book.pk, **form)
    cast.book.refresh_from_db()
    assert cast.book.final_on is not None and cast.book.final_on.isoformat() == "2027-08-02"


def test_a_stranger_finds_no_proposal(client, cast):
    made = proposed(cast)
    sign_in(client, cast.stranger)
    for name, pk in (("proposals", cast.book.pk), ("accept-proposal", made.pk), ("withdraw-proposal", made.pk)):
        address = reverse(f"reviews:{name}", args=[pk])
        assert (client.get if name == "proposals" else client.post)(address).status_code == 404


def test_the_page_asks_few_questions(client, cast, django_assert_max_num_queries):
    proposed(cast)
    for seat in (cast.art_director, cast.illustrator):
        sign_in(client, seat.person)
        with django_assert_max_num_queries(12):
            client.get(reverse("reviews:proposals", args=[cast.book.pk]))
        with django_assert_max_num_queries(12):
            client.get(reverse("reviews:desk"))
