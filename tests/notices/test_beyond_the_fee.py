"""The agent is told, with the letter itself, when it went beyond the rounds in the fee."""

import pytest

from reviews.models import LedgerEntry, Notice
from reviews.notices.telling import mail_for
from reviews.queries.beyond_the_fee import beyond_the_fee
from reviews.rules.states import Deed
from tests.cast import gather
from tests.letter_scene import a_round
from tests.makers import a_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")  # one round is in the fee
    a_round(cast, ideas, 1)
    a_round(cast, ideas, 2, over=True)
    return cast


def letters_sent(cast) -> list[LedgerEntry]:
    return list(LedgerEntry.objects.filter(book=cast.book, deed=Deed.SEND_LETTER).order_by("seq"))


def mail_about(entry, person):
    notice = Notice.objects.select_related("entry__book", "entry__passage", "person").get(entry=entry, person=person)
    return mail_for(notice, lambda letter: b"%PDF")


def test_each_letter_is_judged_by_itself(cast):
    first, second = letters_sent(cast)
    assert beyond_the_fee(first) == []
    assert beyond_the_fee(second) == ["Pages 4–5, ideas: a round beyond those in the fee"]


def test_the_agent_reads_it_in_subject_text_and_html(cast):
    first, second = letters_sent(cast)
    agent = cast.agent.person
    assert "beyond" not in mail_about(first, agent).subject + mail_about(first, agent).text
    told = mail_about(second, agent)
    assert told.subject.endswith("· beyond the fee")
    for words in (told.text, told.html):
        assert "Pages 4–5, ideas: a round beyond those in the fee" in words
        assert "Check this against the signed contract" in words


def test_nobody_else_gets_that_paragraph(cast):
    second = letters_sent(cast)[1]
    for seat in (cast.illustrator, cast.editor, cast.production):
        assert "beyond those in the fee" not in mail_about(second, seat.person).text


def test_it_is_one_mail_and_not_two(cast):
    second = letters_sent(cast)[1]
    assert Notice.objects.filter(entry=second, person=cast.agent.person).count() == 1
