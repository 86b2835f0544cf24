"""Stored pictures against their rows: what is wrong is named, renditions are made again, originals never touched."""

from __future__ import annotations

import hashlib
import io
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from botocore.exceptions import EndpointConnectionError
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.utils import timezone
from PIL import Image

from reviews import storage, uploads
from reviews.actions import hand_ins
from reviews.actions.store_checks import clear_nobodys
from reviews.imaging.results import RENDITION_NAMES
from reviews.models import Attempt, Job, Letter, LiveSession, Picture, StoreCheck
from reviews.models.jobs import JobState
from reviews.queries.store_checks import latest_store_check
from reviews.rules.attempts import Trying
from reviews.tasks import store_check
from reviews.tasks.night import look_at_the_night
from reviews.tasks.runner import run_job
from tests.cast import gather
from tests.makers import a_book, a_jpeg

pytestmark = pytest.mark.django_db
NIGHT = datetime(2026, 11, 28, 3, 0, tzinfo=UTC)


@pytest.fixture
def kept(tmp_path: Path, settings) -> Path:
    """A store of its own, in which these tests may break things."""
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": tmp_path}},
    }
    return tmp_path


@pytest.fixture
def picture(kept: Path) -> Picture:
    """One picture that was really read."""
    cast = gather(a_book())
    data = a_jpeg(7, (1300, 700))
    picture = hand_ins.add_picture(
        cast.passage("Pages 4–5", "ideas").pk, SimpleUploadedFile("owl.jpg", data),
        sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator,
    )  # fmt: skip
    run_job(Job.objects.get(kind="renditions").pk)
    picture.refresh_from_db()
    assert picture.state == "ready"
    return picture


def verify(capsys, *arguments: str) -> tuple[int, str]:
    """Run the command as a shell does: its exit code and what it printed."""
    try:
        call_command("verify_pictures", *arguments)
    except CommandError as problem:
        return problem.returncode, capsys.readouterr().out + str(problem)
    return 0, capsys.readouterr().out


def path_of(picture: Picture, rendition: str = "") -> Path:
    name = storage.rendition_name(picture.sha256, rendition) if rendition else storage.original_name(picture.sha256)
    return Path(default_storage.path(name))


def grow_old(path: Path, days: float) -> None:
    moment = (timezone.now() - timedelta(days=days)).timestamp()
    os.utime(path, (moment, moment))


def test_a_sound_store_is_said_to_be_sound_with_what_was_looked_at(picture, capsys):
    code, said = verify(capsys)
    assert code == 0
    assert "1 original (0.0 MB sound) and 0 letters’ PDFs held against their SHA-256" in said
    assert "renditions of 1 picture opened and measured, not compared by eye" in said
    check = StoreCheck.objects.get()
    assert (check.first_shard, check.end_shard, check.n_originals, check.n_faults) == (0, 256, 1, 0)


@pytest.mark.parametrize(
    ("bytes_there", "words"),
    [(None, "the original is missing"), (b"FORGED", "not the file that was handed in"), (b"", "not the file")],
)
def test_an_original_that_is_gone_or_other_is_named_and_never_deleted(picture, capsys, bytes_there, words):
    path = path_of(picture)
    path.unlink() if bytes_there is None else path.write_bytes(bytes_there)
    if bytes_there is not None:
        grow_old(path, 400)
    code, said = verify(capsys, "--repair")
    assert code == 1
    assert f"(picture {picture.pk}): {words}" in said.replace("the original is not the file", "not the file")
    assert "put the same file in again" in said
    assert path.exists() == (bytes_there is not None)
    assert StoreCheck.objects.get().faults[0]["pictures"] == [picture.pk]


def damaged(data: bytes, name: str) -> bytes:
    """Break one byte where it matters: in the middle of the pixels, or in a number of the index."""
    if name == "pyramid.json":
        return data.replace(b'"width":1300', b'"width":1301')
    middle = len(data) // 2
    return data[:middle] + bytes([data[middle] ^ 0xFF]) + data[middle + 1 :]


@pytest.mark.parametrize("name", RENDITION_NAMES)
@pytest.mark.parametrize("harm", ["gone", "empty", "cut short", "damaged"])
def test_a_rendition_that_is_gone_or_damaged_is_named_and_made_again(picture, capsys, name, harm):
    path = path_of(picture, name)
    whole = path.read_bytes()
    if harm == "damaged" and name.endswith(".jpg"):
        # A JPEG has no checksum: a byte in its pixels may decode, so its size is what differs.
        small = io.BytesIO()
        Image.new("RGB", (64, 64)).save(small, "JPEG")
        path.write_bytes(small.getvalue())
    elif harm == "gone":
        path.unlink()
    else:
        path.write_bytes({"empty": b"", "cut short": whole[: len(whole) // 2], "damaged": damaged(whole, name)}[harm])
    code, said = verify(capsys)
    assert code == 1 and name in said and "verify_pictures --repair makes it again" in said
    code, said = verify(capsys, "--repair")
    assert code == 0 and "It was made again." in said
    assert path.read_bytes() == whole
    assert verify(capsys)[0] == 0


def test_renditions_of_a_rotten_original_are_not_made_from_it(picture, capsys):
    path_of(picture).write_bytes(a_jpeg(8, (1300, 700)))
    path_of(picture, "thumb.jpg").unlink()
    code, said = verify(capsys, "--repair")
    assert code == 1 and "2 faults left" in said
    assert not path_of(picture, "thumb.jpg").exists()


def nobodys(kept: Path, days: float) -> list[Path]:
    """Files that no row names: an original, a rendition, and a copy that never arrived."""
    sha256 = hashlib.sha256(b"nobody").hexdigest()
    paths = [
        kept / storage.original_name(sha256), kept / storage.rendition_name(sha256, "thumb.jpg"),
        kept / "originals" / sha256[:2] / ".arriving-x1y2",
    ]  # fmt: skip
    for path in paths:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"nobody")
        grow_old(path, days)
    return paths


def test_old_files_that_no_row_names_are_named_and_removed_only_when_asked(picture, kept, capsys):
    paths = nobodys(kept, 15)
    code, said = verify(capsys)
    assert code == 1 and said.count("no row names this file") == 2 and said.count("a copy that was never finished") == 1
    assert all(path.exists() for path in paths)
    code, said = verify(capsys, "--repair")
    assert code == 0 and "3 files removed" in said
    assert not any(path.exists() for path in paths) and path_of(picture).exists()


def test_young_files_that_no_row_names_yet_are_left_in_peace(picture, kept, capsys):
    paths = nobodys(kept, 0.5)
    assert verify(capsys, "--repair")[0] == 0
    assert all(path.exists() for path in paths)


def test_an_original_that_a_row_names_is_not_cleared_however_old(picture):
    grow_old(path_of(picture), 900)
    name = storage.original_name(picture.sha256)
    assert not clear_nobodys(name, older_than=timezone.now())
    assert path_of(picture).exists()


def test_an_upload_finds_its_original_even_if_it_was_cleared_away_meanwhile(kept, monkeypatch):
    """An old left-over of the same content stands when the upload comes, and goes before its row is written."""
    cast, data = gather(a_book()), a_jpeg(9)
    sha256 = hashlib.sha256(data).hexdigest()
    storage.keep_original(SimpleUploadedFile("left.jpg", data), sha256)
    real = storage.keep_original

    def cleared_right_after(file, sha256):
        monkeypatch.setattr(storage, "keep_original", real)
        name = real(file, sha256)
        storage.remove(name)
        return name

    monkeypatch.setattr(storage, "keep_original", cleared_right_after)
    passage = cast.passage("Pages 4–5", "ideas")
    hand_ins.add_picture(passage.pk, SimpleUploadedFile("a.jpg", data), sha256=sha256, actor=cast.illustrator)
    assert storage.stands(storage.original_name(sha256), sha256)


def test_a_letters_paper_is_held_against_its_hash_and_one_of_nobody_is_not_removed(picture, kept, capsys):
    book = picture.hand_in.passage.book
    paper = storage.keep_paper(b"%PDF-1.4 the letter")
    other = kept / storage.keep_paper(b"%PDF-1.4 of no letter")
    grow_old(other, 90)
    Letter.objects.create(book=book, begun_at=timezone.now(), paper=paper)
    code, said = verify(capsys, "--repair")
    assert code == 1 and "1 fault left" in said and other.exists()
    other.unlink()
    assert verify(capsys)[0] == 0
    (kept / paper).write_bytes(b"%PDF-1.4 another letter")
    code, said = verify(capsys)
    assert code == 1 and "PDF is not the one that was made" in said


def test_a_store_that_does_not_answer_is_no_verdict(picture, capsys, monkeypatch):
    def away(*_: object) -> None:
        raise EndpointConnectionError(endpoint_url="http://store.example")

    monkeypatch.setattr(storage, "exists", away)
    code, said = verify(capsys)
    assert code == 2 and "could not go on" in said and "Nothing is known of what was not looked at" in said
    assert latest_store_check().last is None


# --- Each night ------------------------------------------------------------------------------------------


def do_the_nights_work() -> None:
    run_job(Job.objects.filter(kind="store-check", state=JobState.QUEUED).get().pk)


def test_each_night_looks_at_the_next_share_and_all_of_them_in_time(picture):
    seen = set()
    for n in range(32):
        assert look_at_the_night(NIGHT + timedelta(days=n))
        assert not look_at_the_night(NIGHT + timedelta(days=n, hours=5)), "once a night"
        assert latest_store_check().all_seen_since is None
        do_the_nights_work()
        check = StoreCheck.objects.order_by("-night").first()
        assert check.finished_at is not None
        seen |= set(range(check.first_shard, check.end_shard))
    assert seen == set(range(256))
    state = latest_store_check()
    assert state.n_shards_seen == 256 and state.all_seen_since is not None and state.n_faults == 0
    assert look_at_the_night(NIGHT + timedelta(days=32))
    assert StoreCheck.objects.order_by("-night").first().first_shard == 0


def test_nothing_is_asked_for_before_two_in_the_morning():
    assert not look_at_the_night(NIGHT - timedelta(hours=2))
    assert not StoreCheck.objects.exists()


def test_what_a_night_finds_is_told_until_a_later_night_finds_it_mended(picture, monkeypatch):
    monkeypatch.setattr(store_check, "SHARDS_A_NIGHT", 256)
    path_of(picture).write_bytes(b"rotten")
    look_at_the_night(NIGHT)
    do_the_nights_work()
    state = latest_store_check()
    assert state.n_faults == 1 and state.faults[0]["code"] == "original-wrong"
    storage.keep_original(SimpleUploadedFile("owl.jpg", a_jpeg(7, (1300, 700))), picture.sha256)
    look_at_the_night(NIGHT + timedelta(days=1))
    do_the_nights_work()
    assert (latest_store_check().n_faults, latest_store_check().faults) == (0, [])


def test_a_fault_found_by_hand_is_over_once_a_night_finds_its_shard_mended(picture, capsys):
    shard = int(picture.sha256[:2], 16)
    path_of(picture).write_bytes(b"rotten")
    assert verify(capsys)[0] == 1
    assert (latest_store_check().n_faults, latest_store_check().faults[0]["shard"]) == (1, shard)
    storage.keep_original(SimpleUploadedFile("owl.jpg", a_jpeg(7, (1300, 700))), picture.sha256)
    night = StoreCheck.objects.create(night=NIGHT.date(), begun_at=timezone.now(), first_shard=shard)
    store_check.check_shards(night, shard + 1, repair=True)
    assert (latest_store_check().n_faults, latest_store_check().faults) == (0, [])


def test_a_night_that_has_no_time_says_how_far_it_came(picture, monkeypatch):
    monkeypatch.setattr(store_check, "LONGEST_SECONDS", -1)
    look_at_the_night(NIGHT)
    do_the_nights_work()
    assert StoreCheck.objects.get().end_shard == 1


def test_the_night_clears_rows_that_have_served_and_leaves_the_others(picture):
    now = timezone.now()
    old = now - timedelta(days=31)
    LiveSession.objects.create(session_key="over", session_data="", expire_date=now - timedelta(minutes=1), seen_at=now)
    LiveSession.objects.create(session_key="open", session_data="", expire_date=now + timedelta(days=1), seen_at=now)
    for n, at in enumerate((old, now)):
        Attempt.objects.create(kind=Trying.PASSWORD, who=f"p{n}", address="127.0.0.1", at=at)
    common = {"kind": "mail", "subject_id": 1, "created_at": old}
    Job.objects.create(key="done-long-ago", state=JobState.DONE, finished_at=old, **common)
    Job.objects.create(
        key="failed-long-ago", state=JobState.FAILED, finished_at=old, error={"code": "gave-up", "n": 3}, **common
    )
    Job.objects.create(key="waits", state=JobState.QUEUED, **common)
    look_at_the_night(NIGHT)
    do_the_nights_work()
    assert list(LiveSession.objects.values_list("session_key", flat=True)) == ["open"]
    assert list(Attempt.objects.values_list("who", flat=True)) == ["p1"]
    left = set(Job.objects.values_list("key", flat=True))
    assert {"failed-long-ago", "waits"} <= left and "done-long-ago" not in left


def test_the_night_clears_what_killed_processes_left_and_nothing_that_is_at_work(picture, tmp_path, settings):
    scratch = tmp_path / "scratch"
    settings.SCRATCH_DIRS = [scratch, tmp_path / "never made"]
    for name, days in (("renditions-dead", 2), ("original-busy", 0)):
        (scratch / name).mkdir(parents=True)
        (scratch / name / "pixels").write_bytes(b"x")
        grow_old(scratch / name / "pixels", days)
        grow_old(scratch / name, 2)
    for name, days in (("tmpdead.upload.tif", 2), ("tmpbusy.upload.tif", 0.9)):
        (scratch / name).write_bytes(b"x")
        grow_old(scratch / name, days)
    look_at_the_night(NIGHT)
    do_the_nights_work()
    assert sorted(path.name for path in scratch.iterdir()) == ["original-busy", "tmpbusy.upload.tif"]


def test_each_machine_of_the_house_clears_its_own_left_overs_as_it_works(tmp_path, settings, monkeypatch):
    settings.SCRATCH_DIRS = [tmp_path]
    monkeypatch.setattr(uploads, "_looked_at", float("-inf"))
    left = tmp_path / "tmpdead.upload.tif"
    for is_there_after in (False, True):  # the second time within the hour it does not look
        left.write_bytes(b"x")
        grow_old(left, 2)
        uploads.clear_scratch_now_and_then()
        assert left.exists() == is_there_after
