"""Never a flood: whoever hears of things at once gets a few mails in an hour, and then one for all the rest."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail as outbox_of
from django.utils import timezone

from reviews import jobs
from reviews.actions.own_account import choose_mail
from reviews.models import Digest, Job, Notice
from reviews.rules.mailing import GATHERED_FOR, MailChoice
from reviews.rules.states import Deed
from reviews.tasks.runner import run_job
from tests.cast import gather
from tests.letter_scene import answered, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

#: Fewer than in life, so that a small book makes a flood.
MANY_AN_HOUR = 5
NOON = datetime(2026, 11, 5, 12, tzinfo=UTC)
PIECES = ("Cover", "Front ends 2–3", "Pages 4–5", "Pages 6–7", "Pages 8–9", "Pages 10–11", "Pages 12–13")


@pytest.fixture
def clock(monkeypatch):
    """A clock that tests turn on; it begins long after everybody took their seats."""

    class Clock:
        now = NOON

        def on(self, **time):
            self.now += timedelta(**time)

    clock = Clock()
    monkeypatch.setattr("reviews.actions._outbox.MANY_AN_HOUR", MANY_AN_HOUR)
    with monkeypatch.context() as before:
        before.setattr(timezone, "now", lambda: NOON - timedelta(days=2))
        clock.cast = gather(a_book())
    monkeypatch.setattr(timezone, "now", lambda: clock.now)
    return clock


def hand_in_all(cast, pieces=PIECES) -> None:
    for piece in pieces:
        handed_in(cast.passage(piece, "ideas"), cast.illustrator)


def told(person) -> tuple[int, int]:
    """Count the hand-ins that come in mails of their own, and those that are gathered."""
    mine = Notice.objects.filter(person=person, entry__deed=Deed.HAND_IN)
    return mine.filter(waits=False).count(), mine.filter(waits=True).count()


def test_after_a_few_mails_the_rest_of_the_hour_comes_in_one(clock):
    hand_in_all(clock.cast)
    director = clock.cast.art_director.person
    assert told(director) == (MANY_AN_HOUR, len(PIECES) - MANY_AN_HOUR)
    [digest] = Digest.objects.filter(person=director)
    job = Job.objects.get(kind=jobs.DIGEST, subject_id=digest.pk)
    assert not run_job(job.pk)  # it waits for more
    clock.on(minutes=16)
    assert run_job(job.pk)
    [mail] = outbox_of.outbox
    assert mail.subject.startswith(f"{len(PIECES) - MANY_AN_HOUR} updates")
    for piece in PIECES[MANY_AN_HOUR:]:
        assert f"handed in number 1 of {piece}, ideas" in mail.body
    assert not Notice.objects.filter(digest=digest, sent_at=None).exists()


def test_nothing_joins_a_mail_that_may_be_on_its_way(clock):
    hand_in_all(clock.cast, PIECES[:-1])
    clock.on(minutes=GATHERED_FOR.total_seconds() / 60)
    hand_in_all(clock.cast, PIECES[-1:])
    first, second = Digest.objects.filter(person=clock.cast.art_director.person).order_by("pk")
    assert (first.notices.count(), second.notices.count()) == (1, 1)


def test_an_hour_later_things_are_told_at_once_again(clock):
    hand_in_all(clock.cast, PIECES[:-1])
    clock.on(minutes=61)
    hand_in_all(clock.cast, PIECES[-1:])
    assert told(clock.cast.art_director.person) == (MANY_AN_HOUR + 1, 1)


def test_a_letter_always_comes_by_itself_and_at_once(clock):
    cast = clock.cast
    for n, piece in enumerate(PIECES):
        hand_in_all(cast, [piece])
        answered(cast, cast.passage(piece, "ideas"), "approve")
        sent(cast)
        assert (
            Notice.objects.filter(entry__deed=Deed.SEND_LETTER, person=cast.illustrator.person, waits=False).count()
            == n + 1
        )


def test_whoever_chose_one_mail_a_day_is_not_gathered_for(clock):
    choose_mail(clock.cast.art_director.person, MailChoice.DAILY)
    hand_in_all(clock.cast)
    assert told(clock.cast.art_director.person) == (0, len(PIECES))
    assert not Digest.objects.filter(person=clock.cast.art_director.person).exists()
