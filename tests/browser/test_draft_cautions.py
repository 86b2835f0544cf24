"""What speaks against a picture in print is said as soon as it is read, without loading the draft again."""

import os

import pytest
from django.urls import reverse

from reviews.actions import pictures
from reviews.models import Passage, Picture
from tests.cast import gather
from tests.makers import a_book, draft

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SHOTS = os.environ.get("DRAFT_SHOTS")  # a folder: keep the pages that were looked at
BARE = {"kind": "JPEG", "mode": "RGB", "bits": 8, "profile_name": ""}


def test_a_picture_that_was_just_read_is_told_what_speaks_against_it(visit):
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "colour")
    Passage.objects.filter(pk=passage.pk).update(state="drawing")
    draft(passage, cast.illustrator, ready=False)
    address = reverse("reviews:draft-hand-in", args=[passage.pk])
    page = visit(cast.illustrator.person, address, has_pictures=False)
    assert page.locator(".print-caution").count() == 0
    pictures.picture_ready(Picture.objects.get().pk, width_px=800, height_px=600, facts=BARE)
    page.wait_for_selector("text=carries no colour profile")
    assert page.locator(".print-caution").count() == 3
    for width in (1440, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, width
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/draft-cautions-{width}.png", full_page=True)
    assert page.problems == []
