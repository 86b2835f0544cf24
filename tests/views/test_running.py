"""Probes, the operator's page, the daily line, the clock, and what is told of work that was given up."""

import json
import logging
from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail as outbox_of
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from reviews import jobs
from reviews.actions import again, letters, seats
from reviews.actions.jobs import claim_job, fail_job, retry_job_later
from reviews.actions.passwords import ask_for_password_link
from reviews.actions.standing import accept_clock, is_clock_sound, seen
from reviews.models import Comparison, Invitation, Job, Letter, Person, PortalFact, StoreCheck
from reviews.models.jobs import MAIL_KINDS, JobState
from reviews.pages.wording.jobs import error_sentence
from reviews.queries import trouble
from reviews.queries.letters import letter_fingerprint
from reviews.queries.running import running_now
from reviews.rules.states import Role
from reviews.tasks import operators
from reviews.tasks.runner import run_job
from tests.cast import gather, sign_in
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db

AWAY = (
    "The store of the pictures does not answer now. It was tried for three days and then given up; nothing is wrong "
    "with what you sent."
)


@pytest.fixture
def cast():
    return gather(a_book())


def client_of(person: Person) -> Client:
    client = Client(raise_request_exception=False)
    sign_in(client, person)
    return client


def give_up(kind: str, subject: int, **found) -> Job:
    job = Job.objects.filter(kind=kind, subject_id=subject, **found).first() or jobs.enqueue(kind, subject)
    fail_job(claim_job(job.pk), "stayed-away", what="store")
    return job


def state_of(job: Job) -> str:
    job.refresh_from_db()
    return job.state


# --- Probes ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("host", ["10.0.0.7:8000", "proofs.example", "whatever"])
def test_probes_are_answered_under_any_name_without_https_or_a_sign_in(client, settings, host):
    settings.SECURE_SSL_REDIRECT = True
    alive = client.get("/health/", headers={"Host": host})
    assert (alive.status_code, alive.json()) == (200, {"alive": True})


def test_readiness_names_what_it_asked_and_nothing_secret(client, monkeypatch):
    from portal import health

    monkeypatch.setattr(health, "_kept", (float("-inf"), {}))
    found = client.get("/ready/", headers={"Host": "10.0.0.7"}).json()
    assert set(found) == {"ready", "database", "tables", "store", "version"}
    monkeypatch.setattr(health, "_kept", (float("-inf"), {}))
    monkeypatch.setattr("reviews.queries.ready.database", lambda: 1 / 0)
    answer = client.get("/ready/")
    assert answer.status_code == 503
    assert answer.json()["database"] == "away"
    monkeypatch.setattr(health, "_kept", (float("-inf"), {}))


# --- The page and the daily line -------------------------------------------------------------------------


def test_only_who_runs_the_portal_sees_how_it_runs(cast):
    person = cast.art_director.person
    assert client_of(person).get(reverse("reviews:running")).status_code == 404
    assert client_of(person).post(reverse("reviews:all-again")).status_code == 404
    assert client_of(person).post(reverse("reviews:clock-is-right")).status_code == 404
    assert Client().get(reverse("reviews:running")).status_code == 302
    person.runs_portal = True
    person.save()
    assert client_of(person).get(reverse("reviews:running")).status_code == 200


def test_the_first_account_runs_the_portal_and_later_ones_do_not():
    first = seats.make_first_account(email="a@a.example", name="A", password="a pail of still water")
    assert first.runs_portal
    assert not seats.make_person(email="b@a.example", name="B", password=None).runs_portal


def test_the_page_shows_what_was_given_up_and_begins_it_again(cast, settings):
    person = cast.art_director.person
    Person.objects.filter(pk=person.pk).update(runs_portal=True)
    person.refresh_from_db()
    seen("worker")
    job = give_up(jobs.LETTER_PAPER, 77)
    client = client_of(person)
    page = client.get(reverse("reviews:running")).content.decode()
    assert "Given up: 1 piece of work" in page and AWAY in page and settings.VERSION in page
    assert cast.book.title not in page
    client.post(reverse("reviews:all-again"))
    assert state_of(job) == JobState.QUEUED


def test_all_is_well_is_said_only_where_it_is(cast):
    Job.objects.all().delete()
    assert not running_now(timezone.now()).is_well, "no worker was ever seen"
    seen("worker")
    assert not running_now(timezone.now()).is_well, "no stored picture was ever looked at"
    looked_at()
    assert running_now(timezone.now()).is_well
    PortalFact.objects.update(at=timezone.now() - timedelta(minutes=6))
    assert running_now(timezone.now()).unseen == ["worker"]
    seen("worker")
    old = jobs.enqueue(jobs.COMPARE, 5)
    Job.objects.filter(pk=old.pk).update(created_at=timezone.now() - timedelta(minutes=16))
    assert running_now(timezone.now()).stuck == [old]


def looked_at(*, days_ago: float = 0, faults: tuple[dict, ...] = (), end_shard: int = 8, n_faults: int = 0) -> None:
    at = timezone.now() - timedelta(days=days_ago)
    StoreCheck.objects.create(
        begun_at=at, finished_at=at, first_shard=0, end_shard=end_shard, faults=list(faults),
        n_faults=n_faults or len(faults),
    )  # fmt: skip


ROTTEN = {"code": "original-wrong", "name": "originals/00/00ab", "pictures": [7], "repaired": False, "shard": 0}


def the_page(cast) -> str:
    person = cast.art_director.person
    Person.objects.filter(pk=person.pk).update(runs_portal=True)
    person.refresh_from_db()
    return client_of(person).get(reverse("reviews:running")).content.decode()


def test_the_page_does_not_vouch_for_pictures_nobody_looked_at(cast):
    Job.objects.all().delete()
    seen("worker")
    page = the_page(cast)
    assert "Not looked at yet" in page and "whether the stored pictures are sound is not known" in page
    assert "Nothing that is looked at here needs you" not in page and "No fault was found" not in page
    looked_at(days_ago=4)
    page = the_page(cast)
    assert "whether the stored pictures are sound is not known" in page
    assert "Nothing that is looked at here needs you" not in page
    # A look that was begun and has not ended tells nothing.
    StoreCheck.objects.create(night=timezone.localdate(), begun_at=timezone.now(), first_shard=0)
    assert not running_now(timezone.now()).is_well


def test_the_page_says_how_far_the_stored_pictures_were_looked_at(cast):
    Job.objects.all().delete()
    seen("worker")
    looked_at()
    page = the_page(cast)
    assert "8 of 256 parts so far. No fault was found in what was looked at." in page
    assert "Nothing that is looked at here needs you" in page
    looked_at(end_shard=256)
    assert "every part since" in the_page(cast)


def test_what_the_nightly_look_found_is_told_on_the_page_and_by_mail(cast):
    Job.objects.all().delete()
    seen("worker")
    looked_at(faults=(ROTTEN,), n_faults=3)
    assert not running_now(timezone.now()).is_well
    page = the_page(cast)
    assert "3 stored files failed the last check" in page and "Nothing that is looked at" not in page
    assert "originals/00/00ab (picture 7): the original is not the file that was handed in" in page
    assert "Bring the file back from a backup" in page and "2 more: manage.py verify_pictures names them." in page
    assert "No fault was found" not in page and cast.book.title not in page
    assert operators.tell_operators(timezone.now().replace(hour=9)) == 1
    run_job(Job.objects.get(kind=jobs.OPERATOR_MAIL).pk)
    assert "3 stored files failed the last check" in outbox_of.outbox[-1].body


def test_one_line_a_day_only_when_something_is_wrong(cast, settings):
    Job.objects.all().delete()
    Person.objects.filter(pk=cast.art_director.person_id).update(runs_portal=True)
    morning = timezone.now().replace(hour=9)
    PortalFact.objects.update_or_create(name="worker", defaults={"at": morning})  # whatever hour the test is run at
    assert operators.tell_operators(morning) == 0
    give_up(jobs.LETTER_PAPER, 77)
    assert operators.tell_operators(morning) == 1
    assert operators.tell_operators(morning) == 0
    run_job(Job.objects.get(kind=jobs.OPERATOR_MAIL).pk)
    [mail] = outbox_of.outbox
    assert mail.to == [cast.art_director.person.email]
    assert "Given up: 1 piece of work" in mail.body
    assert operators.tell_operators(morning + timedelta(days=1)) == 1


# --- The clock -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("jump", [timedelta(days=1), timedelta(hours=1), timedelta(hours=-1)])
def test_silence_waits_where_the_clock_jumped_until_it_is_put_back(jump):
    start = datetime(2026, 11, 2, 9, tzinfo=UTC)

    def look(minutes: float, off: timedelta = timedelta(0), boot: str = "boot-1") -> bool:
        return is_clock_sound(start + timedelta(minutes=minutes) + off, since_start=minutes * 60, start=boot)

    assert look(0) and look(1) and look(100)
    assert not look(101, jump)
    assert not look(5000, jump), "however long it runs on like that"
    assert not look(1, jump, "boot-2"), "starting the machine again makes a wrong clock no better"
    assert look(5001), "put back"
    assert look(5002, timedelta(seconds=40)), "an everyday correction is none"
    assert not look(5003, jump)
    assert accept_clock() == 1
    assert look(5004, jump), "somebody says that it is right"


def test_the_worker_asks_the_clock_before_silence_and_mail(monkeypatch):
    from reviews.tasks import morning

    looked = []
    monkeypatch.setattr(morning, "look_at_the_day", lambda now: looked.append(now) or 0)
    morning.look_around("worker")
    right = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: right + timedelta(days=1))
    morning.look_around("worker")
    assert len(looked) == 1
    assert running_now(timezone.now()).clock_jumps


# --- What was given up is told where people look ---------------------------------------------------------


def test_names_of_kinds_agree():
    assert (trouble.READING, trouble.COMPARING, trouble.PAPER) == (jobs.RENDITIONS, jobs.COMPARE, jobs.LETTER_PAPER)
    assert trouble.PROOFING == jobs.SOFT_PROOF
    assert (trouble.INVITING, trouble.MAILING) == (jobs.INVITATION, jobs.MAIL)
    assert set(MAIL_KINDS) < jobs.KINDS


def test_a_picture_given_up_says_so_and_has_a_button(cast):
    passage = cast.passage("Cover", "ideas")
    picture = draft(passage, cast.illustrator, (1,), ready=False).pictures.get()
    client = client_of(cast.illustrator.person)
    page = reverse("reviews:draft-hand-in", args=[passage.pk])
    state = reverse("reviews:picture-state", args=[picture.pk])
    assert "Try again" not in client.get(page).content.decode()
    job = give_up(jobs.RENDITIONS, picture.pk)
    told = client.get(page).content.decode()
    assert AWAY in told and "Processing" not in told.split("<template")[0]
    assert client.get(state).json()["trouble"] == AWAY
    client.post(reverse("reviews:read-again", args=[picture.pk]))
    assert state_of(job) == JobState.QUEUED
    assert client.get(state).json()["trouble"] == ""
    assert client_of(cast.art_director.person).post(reverse("reviews:read-again", args=[picture.pk])).status_code == 404


def test_a_wait_is_told_and_may_be_cut_short(cast):
    passage = cast.passage("Cover", "ideas")
    picture = draft(passage, cast.illustrator, (1,), ready=False).pictures.get()
    job = Job.objects.get(kind=jobs.RENDITIONS)
    retry_job_later(claim_job(job.pk), "is-away", what="store", seconds=600, is_outage=True)
    assert trouble.troubles(trouble.READING, [picture.pk])[picture.pk].is_given_up is False
    assert again.read_again(picture.pk, actor=cast.illustrator) == 1
    job.refresh_from_db()
    assert job.run_after is None
    assert again.read_again(picture.pk, actor=cast.illustrator) == 0


def test_an_invitation_is_sent_only_once_its_mail_left(cast):
    client = client_of(cast.art_director.person)
    made = seats.invite(cast.book.pk, email="new@a.example", name="New", role=Role.EDITOR, actor=cast.art_director)
    page = reverse("reviews:seats", args=[cast.book.pk])
    job = Job.objects.get(kind=jobs.INVITATION, subject_id=made.pk)
    assert made.sent_at is None
    assert "Its mail has not left yet" in client.get(page).content.decode()
    give_up(jobs.INVITATION, made.pk)
    told = client.get(page).content.decode()
    assert "Its mail has not left." in told and AWAY in told
    client.post(reverse("reviews:invite-again", args=[made.pk]))
    assert run_job(job.pk)
    assert Invitation.objects.get(pk=made.pk).sent_at is not None
    assert "has not left" not in client.get(page).content.decode()


def test_a_forgotten_passwords_mail_that_failed_goes_when_asked_again(cast):
    person = cast.art_director.person
    person.set_password("a pail of still water")
    person.save()
    ask_for_password_link(person.email)
    job = give_up(jobs.PASSWORD_LINK, person.pk)
    ask_for_password_link(person.email)
    assert state_of(job) == JobState.QUEUED and run_job(job.pk)
    assert len(outbox_of.outbox) == 1
    ask_for_password_link(person.email)
    assert Job.objects.filter(kind=jobs.PASSWORD_LINK).count() == 1 and state_of(job) == JobState.DONE


def test_a_letters_paper_given_up_says_so(cast):
    passage = cast.passage("Cover", "ideas")
    handed_in(passage, cast.illustrator, (1,))
    letters.set_answer(passage.pk, answer="approve", actor=cast.art_director)
    begun = Letter.objects.get(book=cast.book, sent_at=None)
    letter = letters.send_letter(begun.pk, looked_at=letter_fingerprint(begun), actor=cast.art_director)
    client = client_of(cast.illustrator.person)
    paper = reverse("reviews:letter-paper", args=[letter.pk])
    assert client.get(paper).status_code == 202
    job = give_up(jobs.LETTER_PAPER, letter.pk)
    answer = client.get(paper)
    assert answer.status_code == 503 and AWAY in answer.content.decode()
    assert AWAY in client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    mail = give_up(jobs.MAIL, trouble.unsent_mails_of(letter)[0])
    page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert page.count("Not everything of this letter has left.") == 2
    client.post(reverse("reviews:paper-again", args=[letter.pk]))
    assert state_of(job) == state_of(mail) == JobState.QUEUED


def test_a_comparison_given_up_says_so(cast):
    passage = cast.passage("Cover", "ideas")
    handed = handed_in(passage, cast.illustrator, (1,))
    row = Comparison.objects.create(
        sha256_a="a" * 64, sha256_b=handed.pictures.get().sha256, width_um=1000, method="changes-4"
    )
    passage.refresh_from_db()
    assert trouble.comparing_trouble(passage) is None
    job = give_up(jobs.COMPARE, row.pk)
    assert error_sentence(trouble.comparing_trouble(passage).error) == AWAY
    assert again.compare_again(passage.pk, actor=cast.editor) == 1
    assert state_of(job) == JobState.QUEUED


# --- Failing pages ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("problem", [OperationalError("gone"), OSError(28, "No space left on device")])
def test_what_is_away_is_told_as_such_with_a_number_and_one_line_in_the_log(cast, monkeypatch, caplog, problem):
    def fail(*_: object) -> None:
        raise problem

    monkeypatch.setattr("reviews.pages.hand_in_draft.draft_page", fail)
    client = client_of(cast.illustrator.person)
    url = reverse("reviews:draft-hand-in", args=[cast.passage("Cover", "ideas").pk])
    page = client.get(url)
    assert page.status_code == 503 and page["Retry-After"]
    assert page["X-Request-ID"] in page.content.decode()
    assert "Nothing is wrong with what you sent" in page.content.decode()
    told = client.get(url, headers={"Accept": "application/json"}).json()
    assert "Nothing is wrong with what you sent" in told["sentence"]


def test_our_own_fault_is_a_500_with_its_number(cast, monkeypatch):
    monkeypatch.setattr("reviews.pages.hand_in_draft.draft_page", lambda *_: 1 / 0)
    page = client_of(cast.illustrator.person).get(
        reverse("reviews:draft-hand-in", args=[cast.passage("Cover", "ideas").pk])
    )
    assert page.status_code == 500
    assert page["X-Request-ID"] in page.content.decode()


def test_the_log_has_one_line_for_an_outage_and_a_traceback_for_a_fault():
    from portal.logs import AsJson, OutagesInOneLine, WithNumber

    def logged(problem: Exception) -> dict:
        record = logging.LogRecord("django.request", logging.ERROR, "x", 1, "Internal Server Error: %s", ("/",), None)
        record.exc_info = (type(problem), problem, None)
        assert OutagesInOneLine().filter(record) and WithNumber().filter(record)
        return json.loads(AsJson().format(record))

    assert "traceback" not in logged(OperationalError("gone\naway")) and "\n" not in logged(OSError("x"))["message"]
    assert "ZeroDivisionError" in logged(ZeroDivisionError("x"))["traceback"]


def test_a_logged_address_holds_no_secret(client, caplog):
    caplog.set_level(logging.INFO, "portal.requests")
    client.get(reverse("reviews:invitation", args=["7-0123456789abcdef"]))
    assert "reviews:invitation secret=…" in caplog.text
    assert "0123456789abcdef" not in caplog.text
