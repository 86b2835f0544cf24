"""The mini and the main colours: made with the other renditions, and by a job for what was read before."""

from __future__ import annotations

import hashlib
import importlib
import io

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from reviews import jobs, storage
from reviews.actions.hand_ins import add_picture
from reviews.imaging.results import MINI_NAME, MINI_PX
from reviews.models import Job, Picture
from reviews.queries.pictures import rendition
from reviews.tasks.runner import run_job
from tests.cast import gather, sign_in
from tests.makers import a_book, a_jpeg

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.slow]


@pytest.fixture
def picture():
    """A picture that went through the whole engine."""
    cast = gather(a_book())
    data = a_jpeg(3, (1012, 512))
    upload = SimpleUploadedFile("dusk.jpg", data, content_type="image/jpeg")
    passage = cast.passage("Pages 4–5", "ideas")
    made = add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    for job in Job.objects.filter(kind=jobs.RENDITIONS):
        run_job(job.pk)
    made.refresh_from_db()
    return cast, made


def test_they_come_with_the_other_renditions(client, picture):
    cast, made = picture
    assert made.state == "ready"
    paper = made.facts["colours"][-1]
    assert paper[0].startswith("#") and paper[1] > 0.9, "nearly all of it is paper"
    sign_in(client, cast.illustrator.person)
    mini, thumb = (client.get(f"/pictures/{made.pk}/{name}.jpg").content for name in ("mini", "thumb"))
    assert mini[:2] == b"\xff\xd8" and len(mini) < len(thumb)
    assert max(Image.open(io.BytesIO(mini)).size) == MINI_PX


def test_a_picture_of_before_shows_its_thumb_until_its_job_is_done(client, picture):
    cast, made = picture
    storage.remove(storage.rendition_name(made.sha256, MINI_NAME))
    Picture.objects.filter(pk=made.pk).update(facts={k: v for k, v in made.facts.items() if k != "colours"})
    importlib.import_module("reviews.migrations.0070_small_pictures").ask_for_them(apps, None)
    importlib.import_module("reviews.migrations.0070_small_pictures").ask_for_them(apps, None)
    sign_in(client, cast.illustrator.person)
    mini, thumb = (client.get(f"/pictures/{made.pk}/{name}.jpg").content for name in ("mini", "thumb"))
    assert mini == thumb
    (job,) = Job.objects.filter(kind=jobs.SMALL_PICTURE)
    run_job(job.pk)
    made.refresh_from_db()
    assert made.facts["colours"] and "method" in made.facts
    assert rendition(made, MINI_NAME)
