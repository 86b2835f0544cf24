"""A picture's spot plates on the review table: named switches, each laying its sheet over the art."""

import hashlib
import io
from typing import Any

import numpy as np
import pytest
import tifffile
from django.core.files.uploadedfile import SimpleUploadedFile

from reviews.actions import hand_ins
from reviews.models import Job, Picture
from reviews.tasks.runner import run_job
from tests.browser.hands import until
from tests.cast import gather, sign_in
from tests.imaging.picture_files import quarters
from tests.imaging.plate_files import FOIL, VARNISH, a_plate, channel_resources
from tests.makers import a_book

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def scene() -> Any:
    """A TIFF with a varnish and a foil plate, read and handed in."""
    cast, held = gather(a_book()), io.BytesIO()
    named = channel_resources(VARNISH, FOIL)
    stored = np.dstack([np.asarray(quarters()), a_plate(), np.roll(a_plate(), 150, axis=0)])
    tifffile.imwrite(
        held, stored, photometric="rgb", planarconfig="contig", extrasamples=("unspecified",) * 2,
        extratags=[(34377, 7, len(named), named, True)],
    )  # fmt: skip
    data, passage = held.getvalue(), cast.passage("Pages 4–5", "ideas")
    upload = SimpleUploadedFile("plates.tif", data)
    picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    for job in Job.objects.filter(kind="renditions", state="queued"):
        run_job(job.pk)
    hand_ins.hand_in(picture.hand_in_id, actor=cast.illustrator)
    return cast, passage, Picture.objects.get()


def test_each_plate_is_switched_on_and_off_by_its_name(scene, visit):
    cast, passage, _ = scene
    page = visit(cast.editor.person, f"/passages/{passage.pk}/")
    sheets = page.locator("[data-board] .spot-plate")
    varnish, foil = (page.get_by_role("button", name=name) for name in ("Spot varnish", "Goldfolie für Titel"))
    assert sheets.count() == 0
    varnish.click()
    foil.click()
    assert sheets.count() == 2
    art = page.locator("[data-board] .leaflet-image-layer").first
    until(page, lambda: sheets.first.evaluate("sheet => sheet.complete && sheet.naturalWidth") == 640)
    assert sheets.first.bounding_box() == pytest.approx(art.bounding_box(), abs=2)
    varnish.click()
    assert sheets.count() == 1
    assert (varnish.get_attribute("aria-pressed"), foil.get_attribute("aria-pressed")) == ("false", "true")
    assert page.problems == []


def test_a_plate_is_sent_to_the_books_seats_alone_and_there_are_no_others(scene, client):
    cast, _, picture = scene
    address = f"/pictures/{picture.pk}/plates/%d.png"
    assert client.get(address % 1).status_code == 302  # to the sign-in
    sign_in(client, cast.stranger)
    assert client.get(address % 1).status_code == 404
    sign_in(client, cast.agent.person)
    sent = client.get(address % 2)
    assert (sent.status_code, sent.headers["Content-Type"]) == (200, "image/png")
    assert [client.get(address % n).status_code for n in (0, 3, 9)] == [404, 404, 404]
