"""Reading a picture: what is wrong with the file is told of the file, what is wrong with the place is not."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from reviews import jobs
from reviews.actions import derived, hand_ins
from reviews.models import Derivation, Job, Picture
from reviews.rules.derived import DerivedState, Making, Pencil
from reviews.rules.states import PictureState
from reviews.tasks.runner import run_job
from tests.cast import gather
from tests.makers import a_book, a_jpeg

pytestmark = pytest.mark.django_db


@pytest.fixture
def kept(tmp_path: Path, settings) -> Path:
    folder = tmp_path / "pictures"
    folder.mkdir()
    options = {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": folder}}
    settings.STORAGES = {**settings.STORAGES, "default": options}
    return folder


def put(data: bytes) -> Picture:
    cast = gather(a_book())
    upload = SimpleUploadedFile("owl.jpg", data)
    sha256 = hashlib.sha256(data).hexdigest()
    return hand_ins.add_picture(cast.passage("Cover", "ideas").pk, upload, sha256=sha256, actor=cast.illustrator)


def away(folder: Path) -> Path:
    """A file stands in the folder's way, as when a disk is not mounted."""
    aside = folder.rename(folder.with_name("aside"))
    folder.write_text("in the way")
    return aside


def back(folder: Path, aside: Path) -> None:
    folder.unlink()
    aside.rename(folder)


def run(kind: str) -> Job:
    job = Job.objects.get(kind=kind)
    Job.objects.filter(pk=job.pk).update(run_after=None)
    run_job(job.pk)
    job.refresh_from_db()
    return job


@pytest.mark.parametrize("how", ["folder away", "file gone", "file cut short"])
def test_a_picture_whose_place_is_away_is_never_called_unreadable(kept, how):
    data = a_jpeg(7)
    picture = put(data)
    [original] = [path for path in kept.rglob("*") if path.is_file()]
    aside = away(kept) if how == "folder away" else None
    if how == "file gone":
        original.unlink()
    if how == "file cut short":
        original.chmod(0o600)
        original.write_bytes(data[:300])
    job = run(jobs.RENDITIONS)
    picture.refresh_from_db()
    assert (picture.state, job.state, job.error["code"]) == (PictureState.RECEIVED, "queued", "is-away")
    if aside:
        back(kept, aside)
    else:
        original.write_bytes(data)
    assert run(jobs.RENDITIONS).state == "done"
    picture.refresh_from_db()
    assert picture.state == PictureState.READY


def test_a_file_that_is_no_picture_is_still_refused_at_once(kept):
    picture = put(b"no picture at all")
    assert run(jobs.RENDITIONS).state == "done"
    picture.refresh_from_db()
    assert picture.state == PictureState.REFUSED


def test_sheets_whose_place_is_away_are_not_called_unfit(kept):
    picture = put(a_jpeg(7, (600, 400)))
    run(jobs.RENDITIONS)
    derived.make_derived(picture.hand_in_id, Making.INK, [picture.pk], pencil=Pencil.ORANGE, actor=picture.hand_in.by)
    aside = away(kept)
    job = run(jobs.DERIVE)
    assert (job.state, job.error["code"]) == ("queued", "is-away")
    assert Derivation.objects.get().state == DerivedState.ASKED
    back(kept, aside)
    run(jobs.DERIVE)
    assert Derivation.objects.get().state in {DerivedState.MADE, DerivedState.FAILED}
