"""What falls due is told three working days ahead, on the day and when late: once for each cause, in one mail."""

from datetime import UTC, date, datetime
from email import message_from_bytes, policy

import pytest
from django.core import mail as outbox_of
from django.utils import timezone

from reviews import jobs
from reviews.actions import reminders, seats
from reviews.actions.clock import as_if_at
from reviews.actions.jobs import claim_job
from reviews.actions.own_account import choose_mail
from reviews.models import Digest, Job, Notice, Person
from reviews.queries.reckoning import reckon_one
from reviews.rules.mailing import MailChoice, NoticeKind
from reviews.tasks.reminders import remind, say_what_cannot_be_met, send_digest
from tests.cast import gather
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


def at(day: str, hour: int = 7) -> datetime:
    return datetime.fromisoformat(day).replace(hour=hour, tzinfo=UTC)


@pytest.fixture
def cast():
    """Ideas for the inside are due on Monday 9 November, for the cover on the 16th."""
    with as_if_at(at("2026-11-02", 9)):
        return gather(a_book())


def digests() -> dict[str, list[Digest]]:
    found: dict[str, list[Digest]] = {}
    for digest in Digest.objects.select_related("person").order_by("pk"):
        found.setdefault(digest.person.name.split()[0], []).append(digest)
    return found


def mailed(digest: Digest):
    before = len(outbox_of.outbox)
    claim = claim_job(Job.objects.get(kind=jobs.DIGEST, subject_id=digest.pk).pk)
    assert claim is not None
    send_digest(claim)
    new = outbox_of.outbox[before:]
    return message_from_bytes(new[0].message().as_bytes(), policy=policy.default) if new else None


def words_of(message) -> tuple[str, str]:
    return message.get_body(("plain",)).get_content(), message.get_body(("html",)).get_content()


def test_nothing_is_sent_before_the_morning_or_before_its_day(cast):
    assert remind(at("2026-11-04", 6)) == 0
    assert remind(at("2026-11-03")) == 0
    assert not Digest.objects.exists()


def test_three_working_days_ahead_the_illustrator_gets_one_mail_for_all_spreads(cast):
    assert remind(at("2026-11-04")) == 1
    [digest] = digests()["Juniper"]
    message = mailed(digest)
    text, html = words_of(message)
    assert text.count("is due on Monday 9 November, in 3 working days") == 7
    assert html.count("is due on Monday 9 November, in 3 working days") == 7
    assert message["Subject"] == f"7 due dates · {cast.book.title}"
    assert message["To"] == cast.illustrator.person.email


def test_the_same_cause_is_told_once_however_often_the_sweep_comes(cast):
    remind(at("2026-11-04"))
    assert remind(at("2026-11-04", 8)) == 0
    assert remind(at("2026-11-05")) == 0  # still ahead: told already
    assert remind(at("2026-11-09")) == 1  # today: another cause
    assert remind(at("2026-11-10")) == 3  # late: also the art director and the agent
    assert remind(at("2026-11-11")) == 1  # the cover's ideas come near; the late ones were told
    assert digests()["Juniper"][-1].notices.count() == 1
    assert {name: len(theirs) for name, theirs in digests().items()} == {"Juniper": 4, "Corvin": 1, "Desmond": 1}


def test_a_sweep_that_missed_days_tells_what_is_true_now(cast):
    remind(at("2026-11-12"))
    text, _ = words_of(mailed(digests()["Juniper"][0]))
    assert "was due on Monday 9 November and is 3 working days late" in text
    assert "in 3 working days" not in text or "Cover" in text


def test_a_run_that_died_leaves_nothing_half_done(cast, monkeypatch):
    def die(*args, **kwargs):
        raise ConnectionError("the database went away")

    with monkeypatch.context() as broken:
        broken.setattr(reminders, "gather_waiting", die)
        with pytest.raises(ConnectionError):
            remind(at("2026-11-04"))
    assert not Notice.objects.filter(kind=NoticeKind.DUE).exists()
    assert remind(at("2026-11-04")) == 1


def test_two_sweeps_at_once_make_one_mail(cast):
    person, day = cast.illustrator.person, date(2026, 11, 4)
    assert not reminders.begin_morning(person.pk, day, [])
    Person.objects.filter(pk=person.pk).update(reminded_on=None)
    assert remind(at("2026-11-04")) == 1
    # The second one read the list before the first one claimed the day.
    assert not reminders.begin_morning(person.pk, day, [])


def test_a_digest_is_sent_once_even_if_its_job_comes_twice(cast):
    remind(at("2026-11-04"))
    [digest] = digests()["Juniper"]
    assert mailed(digest) is not None
    Job.objects.filter(kind=jobs.DIGEST).update(state="queued", finished_at=None, attempts=0)
    assert mailed(digest) is None
    digest.refresh_from_db()
    assert digest.sent_at is not None
    assert not digest.notices.filter(sent_at=None).exists()


def test_whoever_chose_one_mail_a_day_gets_what_happened_with_it(cast):
    choose_mail(cast.art_director.person, MailChoice.DAILY)
    with as_if_at(at("2026-11-04", 12)):
        for label in ("Pages 4–5", "Pages 6–7", "Pages 8–9"):
            handed_in(cast.passage(label, "ideas"), cast.illustrator)
    waiting = Notice.objects.filter(person=cast.art_director.person, waits=True)
    assert waiting.count() == 3
    assert not Job.objects.filter(kind=jobs.MAIL, subject_id__in=waiting.values("pk")).exists()
    remind(at("2026-11-05"))
    [digest] = digests()["Corvin"]
    message = mailed(digest)
    text, _ = words_of(message)
    assert text.count("Juniper Aldersea handed in number 1 of") == 3
    assert "3 updates" in message["Subject"]
    assert not Notice.objects.filter(person=cast.art_director.person, waits=True, sent_at=None).exists()
    # The editor, who did not choose so, is told of each at once.
    assert Notice.objects.filter(person=cast.editor.person, waits=False).count() == 3


def test_whoever_stopped_mail_is_owed_none_and_what_waited_is_let_go(cast):
    choose_mail(cast.art_director.person, MailChoice.DAILY)
    with as_if_at(at("2026-11-04", 12)):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        choose_mail(cast.art_director.person, MailChoice.NONE)
        handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator)
    assert not Notice.objects.filter(person=cast.art_director.person, waits=True).exists()
    remind(at("2026-11-20"))
    assert "Corvin" not in digests()


def test_mail_stopped_between_making_and_sending_is_not_sent(cast):
    remind(at("2026-11-04"))
    choose_mail(cast.illustrator.person, MailChoice.NONE)
    assert mailed(digests()["Juniper"][0]) is None


def test_a_seat_that_ended_hears_of_nothing(cast):
    remind(at("2026-11-10"))
    seats.end_seat(cast.agent.pk, actor=cast.illustrator)
    assert mailed(digests()["Desmond"][0]) is None


def test_a_stage_the_publisher_does_not_see_is_not_in_their_mail(cast):
    passage = cast.passage("Pages 4–5", "ink")
    seat = cast.art_director
    notice = Notice.objects.create(
        person=seat.person, kind=NoticeKind.DUE, cause="due:x", book=cast.book, passage=passage,
        told={"code": "as-written", "words": "secret inks"},
        waits=True,
    )  # fmt: skip
    digest = Digest.objects.create(person=seat.person, key="x", day=date(2026, 11, 4), made_at=timezone.now())
    Notice.objects.filter(pk=notice.pk).update(digest=digest)
    jobs.enqueue(jobs.DIGEST, digest.pk)
    assert mailed(digest) is None


def test_every_mail_ends_with_a_link_that_stops_it(cast):
    remind(at("2026-11-04"))
    claim = claim_job(Job.objects.get(kind=jobs.DIGEST).pk)
    send_digest(claim)
    wire = outbox_of.outbox[-1].message().as_bytes()
    secret = cast.illustrator.person.stop_secret
    header = next(line for line in wire.split(b"\r\n") if line.startswith(b"List-Unsubscribe:"))
    # Whole, on one line, neither folded nor encoded, or no mail program could open it.
    assert header.endswith(f"/mail/{secret}/>".encode())
    for words in words_of(message_from_bytes(wire, policy=policy.default)):
        assert f"/mail/{secret}/" in words


@pytest.fixture
def bound():
    """A book that has to be done by 16 April 2027; its cover takes 105 working days."""
    with as_if_at(at("2026-11-02", 9)):
        return gather(a_book(final_on=date(2027, 4, 16)))


def told_out_of_reach() -> set[str]:
    rows = Notice.objects.filter(kind=NoticeKind.CANNOT_MEET).select_related("person")
    return {notice.person.name.split()[0] for notice in rows}


def test_a_date_that_cannot_be_met_is_told_to_both_sides_on_the_day(bound):
    late = reckon_one(bound.book, at("2027-01-20"))
    [cover] = [told for told in late.statement.cannot_meet if told.label == "Cover"]
    # Ten working days to draw and ninety-five for the rest, nothing handed in: the last chance passed on 4 December.
    assert cover.since_on == date(2026, 12, 7)
    remind(at("2026-12-04"))
    assert told_out_of_reach() == set()
    remind(at("2026-12-07"))
    assert told_out_of_reach() == {"Juniper", "Desmond", "Corvin", "Petra", "Tamsin"}
    text, _ = words_of(mailed(digests()["Desmond"][-1]))
    assert "Cover cannot be done by 16 April 2027 any more" in text
    remind(at("2026-12-08"))
    assert Notice.objects.filter(kind=NoticeKind.CANNOT_MEET, told__label="Cover").count() == 5


def test_what_got_out_of_reach_by_a_deed_is_said_at_once_in_one_mail_each(bound):
    late = reckon_one(bound.book, at("2027-03-20", 15))
    n_spreads = len(late.statement.cannot_meet)
    assert n_spreads > 1
    assert say_what_cannot_be_met(late) == 5
    assert say_what_cannot_be_met(late) == 0
    [digest] = digests()["Juniper"]
    assert digest.notices.count() == n_spreads


def test_a_date_that_got_out_of_reach_again_is_told_again(bound):
    late = reckon_one(bound.book, at("2027-03-20", 15))
    say_what_cannot_be_met(late)
    assert say_what_cannot_be_met(reckon_one(bound.book, at("2026-11-10"))) == 0
    assert say_what_cannot_be_met(late) == 5


def test_the_usual_sweep_is_one_query(cast, django_assert_num_queries):
    remind(at("2026-11-04"))
    with django_assert_num_queries(1):
        remind(at("2026-11-04", 9))
