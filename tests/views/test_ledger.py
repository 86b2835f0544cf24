"""The ledger on the screen: plain sentences, each reader their own."""

import pytest
from django.urls import reverse

from reviews.models import LedgerEntry
from reviews.pages.wording.ledger import sentence
from reviews.rules import permits
from reviews.rules.codes import code_of
from reviews.rules.states import Role
from reviews.views import account
from tests.cast import gather, sign_in
from tests.kept import scene
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
@scene
def cast():
    """A letter was sent, a note is unsent, a draft hand-in lies in the studio."""
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")
    a_round(cast, ideas, 1)
    handed_in(ideas, cast.illustrator, [2])
    pinned(ideas, cast.editor)
    draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [3])
    return cast


def ledger(client, cast, role, **query):
    sign_in(client, cast.seat(role).person)
    return client.get(reverse("reviews:ledger", args=[cast.book.pk]), query)


@pytest.mark.parametrize("role", list(Role)[:5])
def test_each_reads_exactly_the_lines_their_seat_may_read(client, cast, role):
    shown = {line.seq for line in ledger(client, cast, role).context["lines"]}
    entries = LedgerEntry.objects.filter(book=cast.book)
    assert shown == {entry.seq for entry in entries if entry.sight in permits.sights_of(role)}


def test_unsent_notes_and_drafts_are_not_told_to_the_other_side(client, cast):
    for role in (Role.ILLUSTRATOR, Role.AGENT):
        assert "pinned a note" not in ledger(client, cast, role).content.decode()
    for role in (Role.ART_DIRECTOR, Role.AGENT):
        assert "into the draft" not in ledger(client, cast, role).content.decode()


def test_lines_carry_the_code_of_their_fingerprint(client, cast):
    page = ledger(client, cast, Role.AGENT)
    for line in page.context["lines"]:
        assert f">{code_of(line.sha256)}<" in page.content.decode()


def test_a_passage_is_followed_with_the_letters_that_answered_it(client, cast):
    ideas, other = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 6–7", "ideas")
    words = [sentence(line.entry) for line in ledger(client, cast, Role.AGENT, passage=ideas.pk).context["lines"]]
    assert any("sent letter 1" in sentence for sentence in words)
    assert all("Pages 4–5, ideas" in sentence for sentence in words)
    assert ledger(client, cast, Role.AGENT, passage=other.pk).context["lines"] == []


@pytest.mark.parametrize("asked", ["x", "-1", "99999999999", "١"])
def test_a_number_that_is_none_is_as_if_it_were_not_there(client, cast, asked):
    assert ledger(client, cast, Role.AGENT, passage=asked, before=asked, show=asked).status_code == 200


def test_another_books_passage_is_not_there(client, cast):
    other = gather(a_book(title="The Heron Who Would Not Wade"))
    foreign = other.passage("Cover", "ideas")
    assert ledger(client, cast, Role.AGENT, passage=foreign.pk).status_code == 404


def test_older_lines_are_one_page_on_and_none_is_skipped(client, cast, monkeypatch):
    everything = [line.seq for line in ledger(client, cast, Role.AGENT).context["lines"]]
    monkeypatch.setattr(account, "LINES_A_PAGE", 5)
    seen, before = [], None
    while True:
        page = ledger(client, cast, Role.AGENT, **({"before": before} if before else {}))
        seen += [line.seq for line in page.context["lines"]]
        before = page.context["older"]
        if not before:
            break
    assert seen == everything
