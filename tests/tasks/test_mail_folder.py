"""Mails that are files: those that have served go, and never the only link to a seat on offer."""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.mail import EmailMultiAlternatives, get_connection
from django.utils import timezone

from reviews.actions.seats import invite, revoke_invitation
from reviews.models import Invitation, Job
from reviews.rules.states import Role
from reviews.tasks import mail_folder
from reviews.tasks.mail_folder import clear_old_mails
from reviews.tasks.night import look_at_the_night
from reviews.tasks.runner import run_job
from tests.cast import gather
from tests.makers import a_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(tmp_path, settings) -> Path:
    settings.EMAIL_FILE_PATH, settings.MAIL_DAYS = str(tmp_path), 90
    settings.EMAIL_BACKEND = "portal.mail_files.EmailBackend"
    return tmp_path


@pytest.fixture
def offered(folder) -> tuple[object, Invitation]:
    """An invitation whose mail was really written to a file."""
    cast = gather(a_book())
    invitation = invite(
        cast.book.pk, email="osric@aldersea.example", name="Osric Penhallow", role=Role.EDITOR, actor=cast.art_director
    )
    for job in Job.objects.filter(kind="invitation"):
        run_job(job.pk)
    return cast, Invitation.objects.get(pk=invitation.pk)


def write(*words: str) -> None:
    connection = get_connection()
    connection.open()
    connection.send_messages(
        [EmailMultiAlternatives("On Tansy", each, to=["osric@aldersea.example"]) for each in words]
    )
    connection.close()


def age(folder: Path, days: float) -> None:
    for path in folder.iterdir():
        moment = (timezone.now() - timedelta(days=days)).timestamp()
        os.utime(path, (moment, moment))


def test_mails_older_than_the_setting_go_and_younger_ones_stay(folder):
    write("One.")
    age(folder, 91)
    # Two connections of one second may be given one name, and then one file.
    [first] = folder.iterdir()
    first.rename(folder / "first.log")
    write("Two.")
    assert clear_old_mails(timezone.now()) == 1
    [left] = folder.iterdir()
    assert "Two." in left.read_text()


def test_nought_keeps_them_for_ever_and_other_files_are_left_alone(folder, settings):
    write("One.")
    (folder / "notes of mine.txt").write_text("mine")
    age(folder, 4000)
    settings.MAIL_DAYS = 0
    assert clear_old_mails(timezone.now()) == 0
    settings.MAIL_DAYS = 90
    assert clear_old_mails(timezone.now()) == 1
    assert [path.name for path in folder.iterdir()] == ["notes of mine.txt"]


def test_the_only_link_to_a_seat_on_offer_stays_until_it_can_open_nothing(folder, offered):
    cast, invitation = offered
    [path] = [path for path in folder.iterdir() if invitation.email in path.read_text()]
    assert invitation.secret not in path.read_text(), "it is broken over two lines, as mails are"
    Invitation.objects.update(expires_at=timezone.now() + timedelta(days=1))
    age(folder, 91)
    clear_old_mails(timezone.now())
    assert path.exists()
    revoke_invitation(invitation.pk, actor=cast.art_director)
    clear_old_mails(timezone.now())
    assert not path.exists()


def test_a_link_that_ran_out_holds_no_mail(folder, offered):
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    age(folder, 91)
    clear_old_mails(timezone.now())
    assert list(folder.iterdir()) == []


def test_several_mails_of_one_file_are_all_looked_into(folder, offered):
    _, invitation = offered
    for path in folder.iterdir():
        path.unlink()
    write("Nothing.", f"Your seat: http://127.0.0.1/invitations/{invitation.secret}/ – ü", "Nothing again.")
    age(folder, 91)
    assert len(list(folder.iterdir())) == 1
    assert clear_old_mails(timezone.now()) == 0


def test_a_clock_that_jumped_removes_nothing(folder, monkeypatch):
    write("One.")
    age(folder, 91)
    monkeypatch.setattr(mail_folder, "clock_holds", lambda now: False)
    assert clear_old_mails(timezone.now()) == 0


def test_the_night_does_it(folder):
    write("One.")
    age(folder, 91)
    now = timezone.now().replace(hour=3)
    assert look_at_the_night(now)
    run_job(Job.objects.get(kind="store-check").pk)
    assert list(folder.iterdir()) == []
