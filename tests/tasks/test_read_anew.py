"""Pictures of before: those that could be shown otherwise now are looked at again, and no others."""

from __future__ import annotations

import hashlib
import importlib
from pathlib import Path

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile

from reviews import jobs, storage
from reviews.actions.hand_ins import add_picture
from reviews.imaging.results import PLATE_NAMES
from reviews.models import Job, Picture
from reviews.queries.pictures import rendition
from reviews.tasks import read_anew
from reviews.tasks.runner import run_job
from tests.cast import gather
from tests.imaging.picture_files import SIZE, avif_grid, jpeg_bytes, quarters
from tests.imaging.plate_files import WITH_PLATES
from tests.makers import a_book

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.slow]


def received(cast, name: str, data: bytes) -> Picture:
    passage = cast.passage("Pages 4–5", "ideas")
    sha256 = hashlib.sha256(data).hexdigest()
    made = add_picture(passage.pk, SimpleUploadedFile(name, data), sha256=sha256, actor=cast.illustrator)
    for job in Job.objects.filter(kind=jobs.RENDITIONS, state="queued"):
        run_job(job.pk)
    made.refresh_from_db()
    return made


def as_of_before(picture: Picture, *, width_px: int, mode: str) -> None:
    facts = {key: value for key, value in picture.facts.items() if key != "plates"} | {"mode": mode}
    Picture.objects.filter(pk=picture.pk).update(facts=facts, width_px=width_px)


def ask() -> set[int]:
    for _ in range(2):
        importlib.import_module("reviews.migrations.0083_read_anew").ask_for_them(apps, None)
    return set(Job.objects.filter(kind=jobs.READ_ANEW).values_list("subject_id", flat=True))


def test_a_grid_and_plates_are_read_anew_and_nothing_else_is(tmp_path: Path) -> None:
    cast = gather(a_book())
    WITH_PLATES["TIFF with plates"][2](tmp_path / "plates.tif")
    grid = received(cast, "grid.avif", avif_grid(quarters(), 2, 2, whole_last=True))
    plates = received(cast, "plates.tif", (tmp_path / "plates.tif").read_bytes())
    plain = received(cast, "plain.jpg", jpeg_bytes())
    as_of_before(grid, width_px=SIZE[0] // 2, mode="RGB")
    as_of_before(plates, width_px=SIZE[0], mode="RGBA")
    as_of_before(plain, width_px=SIZE[0], mode="RGB")
    storage.remove(storage.rendition_name(plates.sha256, PLATE_NAMES[0]))
    assert ask() == {grid.pk, plates.pk}
    for job in Job.objects.filter(kind=jobs.READ_ANEW):
        run_job(job.pk)
    grid.refresh_from_db()
    plates.refresh_from_db()
    plain.refresh_from_db()
    assert (grid.width_px, grid.height_px, grid.facts["made_again"]) == (*SIZE, 1)
    assert [plate["name"] for plate in plates.facts["plates"]] == ["Spot varnish", "cut-out"]
    assert plates.facts["mode"] == "RGB" and rendition(plates, PLATE_NAMES[0])
    assert "made_again" not in plain.facts


def test_what_shows_the_same_is_not_made_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cast = gather(a_book())
    quarters().save(tmp_path / "plain.tif")
    plain = received(cast, "plain.tif", (tmp_path / "plain.tif").read_bytes())
    as_of_before(plain, width_px=SIZE[0], mode="RGB")
    (subject,) = ask()
    assert subject == plain.pk
    monkeypatch.setattr(read_anew, "make_renditions", lambda *_, **__: pytest.fail("nothing was to be made"))
    run_job(Job.objects.get(kind=jobs.READ_ANEW).pk)
    assert Job.objects.get(kind=jobs.READ_ANEW).state == "done"
    plain.refresh_from_db()
    assert "made_again" not in plain.facts


def test_what_is_marked_keeps_the_size_it_was_marked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    cast = gather(a_book())
    grid = received(cast, "grid.avif", avif_grid(quarters(), 2, 2, whole_last=True))
    as_of_before(grid, width_px=SIZE[0] // 2, mode="RGB")
    ask()
    monkeypatch.setattr(read_anew, "is_marked", lambda sha256: sha256 == grid.sha256)
    run_job(Job.objects.get(kind=jobs.READ_ANEW).pk)
    grid.refresh_from_db()
    assert grid.width_px == SIZE[0] // 2 and "made_again" not in grid.facts
