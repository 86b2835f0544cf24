"""Over rounds: the art director is told before a letter could go beyond the fee, the agent with the one that did."""

from datetime import date

import pytest
from django.utils import timezone

from reviews.models import Digest, LedgerEntry, Notice
from reviews.notices.digests import digest_mail
from reviews.notices.wording import mail_for
from reviews.pages.beyond_the_fee import asks_beyond_fee, warned_of_fee
from reviews.rules.states import Deed
from tests.cast import gather
from tests.kept import scene
from tests.letter_scene import a_round
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
@scene
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
    assert asks_beyond_fee(first) == []
    assert asks_beyond_fee(second) == ["Pages 4–5, ideas: an extra round, after those in the fee"]


def test_the_agent_reads_it_in_subject_text_and_html(cast):
    first, second = letters_sent(cast)
    agent = cast.agent.person
    assert "beyond" not in mail_about(first, agent).subject + mail_about(first, agent).text
    told = mail_about(second, agent)
    assert told.subject.endswith("· extra round")
    for words in (told.text, told.html):
        assert "Pages 4–5, ideas: an extra round, after those in the fee" in words
        assert "Check this against the signed contract" in words


def test_nobody_else_gets_that_paragraph(cast):
    second = letters_sent(cast)[1]
    for seat in (cast.illustrator, cast.editor, cast.production):
        assert "after those in the fee" not in mail_about(second, seat.person).text


def test_it_is_one_mail_and_not_two(cast):
    second = letters_sent(cast)[1]
    assert Notice.objects.filter(entry=second, person=cast.agent.person).count() == 1


WARNING = "The one round of changes in the fee is used: asking for changes now is an extra round."


def hand_ins_of(cast) -> list[LedgerEntry]:
    return list(LedgerEntry.objects.filter(book=cast.book, deed=Deed.HAND_IN).order_by("seq"))


def test_the_art_director_is_warned_with_the_hand_in_that_no_round_is_left(cast):
    first, second, *_ = hand_ins_of(cast)
    assert "fee" not in mail_about(first, cast.art_director.person).text
    told = mail_about(second, cast.art_director.person)
    for words in (told.text, told.html):
        assert WARNING in words
        assert "the signed contract decides" in words


def test_the_editor_who_sends_no_letter_is_not_warned(cast):
    assert WARNING not in mail_about(hand_ins_of(cast)[1], cast.editor.person).text


def test_a_stage_that_nobody_answers_warns_of_nothing(cast):
    """No round is in the fee for the line, but no letter can ask there either."""
    line = cast.passage("Pages 8–9", "line")
    line.state = "drawing"
    line.save()
    handed_in(line, cast.illustrator)
    assert warned_of_fee(hand_ins_of(cast)[-1]) == ""
    assert warned_of_fee(letters_sent(cast)[0]) == ""


def in_one_mail(person, entry) -> str:
    digest = Digest.objects.create(person=person, key="day:x", day=date(2026, 11, 4), made_at=timezone.now())
    Notice.objects.filter(entry=entry, person=person).update(digest=digest)
    mail = digest_mail(digest)
    assert mail is not None
    assert "the signed contract decides" in mail.text
    return mail.text


def test_both_read_it_in_the_days_one_mail_too(cast):
    assert WARNING in in_one_mail(cast.art_director.person, hand_ins_of(cast)[1])
    told = in_one_mail(cast.agent.person, letters_sent(cast)[1])
    assert "It asks for extra rounds (Pages 4–5, ideas: an extra round, after those in the fee)." in told
    assert "beyond" not in in_one_mail(cast.illustrator.person, letters_sent(cast)[1])
