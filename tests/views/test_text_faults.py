"""Text over a picture is judged in the draft and on the table: where it stands, and whether it is read on the art."""

from __future__ import annotations

import numpy as np
import pytest
from django.urls import reverse

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.models import Job, TextGround
from reviews.tasks.text_grounds import measure_ground
from tests.cast import gather, sign_in
from tests.letter_scene import answered, sent
from tests.makers import a_book
from tests.texts import a_text_block, placed
from tests.views.test_on_page import SMALL, SRGB_PROFILE, check_page, handed, in_draft, px, table, tiff
from tests.views.test_print_set_up import send
from tests.views.test_seen_proofs import STAGES

pytestmark = pytest.mark.django_db

WAITS = "Whether the text can be read on the art is not measured yet."
CLEAN = {"left_mm": 7.0, "top_mm": 7.0, "width_mm": 36.0, "height_mm": 14.0, "size_pt": 12.0, "leading_pt": 15.0}


@pytest.fixture
def cast():
    return gather(a_book(**SMALL))


def grey(*, dark_from_mm: float | None = None) -> bytes:
    """A light spread with its bleed, darker than its text can bear from some way across the left page."""
    pixels = np.full((px(66), px(126), 3), 235, np.uint8)
    if dark_from_mm is not None:
        pixels[:, px(3 + dark_from_mm) : px(3 + dark_from_mm + 6)] = 70
    return tiff(pixels, "RGB", SRGB_PROFILE)


def measured() -> None:
    for job in Job.objects.filter(kind=jobs.TEXT_GROUND):
        measure_ground(Claim(job_id=job.pk, kind=job.kind, subject_id=job.subject_id, key=job.key, attempt=1, token=""))


def test_clean_text_is_told_to_be_looked_at_once_it_was_and_not_before(client, cast):
    placed(cast.passage("Pages 4–5", "colour"), a_text_block(**CLEAN), actor=cast.editor)
    in_draft(cast, "colour", grey())
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "colour")
    assert WAITS in page and "its contrast with the art" not in page
    measured()
    page = check_page(client, cast, "colour")
    assert WAITS not in page and "its contrast with the art" in page
    assert "Look again" not in page and "Block 1" not in page
    assert 'class="set-text"' in page and "<tspan" in page


def test_text_on_art_it_cannot_be_read_on_is_told_with_its_worst_square_before_and_after(client, cast):
    picture = in_draft(cast, "colour", grey(dark_from_mm=12))
    placed(cast.passage("Pages 4–5", "colour"), a_text_block(**CLEAN), actor=cast.editor)
    measured()
    sign_in(client, cast.illustrator.person)
    told = "Block 1 is hard to read on the art: at the worst square its colour has a contrast of 1.8 : 1, and 4.5 : 1"
    page = check_page(client, cast, "colour")
    assert told in page and "WCAG 2.2, 1.4.3" in page and 'class="fault-line"' in page
    passage = handed(picture, cast)
    for seat in (cast.art_director, cast.editor):
        sign_in(client, seat.person)
        assert told in table(client, passage)
    # Another colour is another question, and until it is answered nothing is said of it.
    placed(passage, a_text_block(number=1, colour="#ffffff", **CLEAN), actor=cast.editor)
    page = table(client, passage)
    assert "hard to read" not in page and WAITS in page
    measured()
    assert "hard to read on the art" in table(client, passage), "white on light paper is no better"


def test_a_house_s_own_figure_is_asked_for_and_named(client, cast):
    picture = in_draft(cast, "colour", grey())
    placed(cast.passage("Pages 4–5", "colour"), a_text_block(colour="#595959", **CLEAN), actor=cast.editor)
    measured()
    passage = handed(picture, cast)
    sign_in(client, cast.production.person)
    assert "hard to read" not in table(client, passage)
    assert send(client, cast.book, text_contrast="7").status_code == 302
    assert WAITS in table(client, passage)
    measured()
    page = table(client, passage)
    assert "7 : 1 is asked for (the printer’s own figure)" in page


def test_text_in_the_gutter_is_told_at_a_sketch_where_nothing_is_said_of_reading_it(client, cast):
    block = a_text_block(**CLEAN | {"left_mm": 45.0, "width_mm": 40.0})
    placed(cast.passage("Pages 4–5", "sketch"), block, actor=cast.editor)
    in_draft(cast, "sketch", grey())
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "sketch")
    assert "Block 1 stands in the gutter band" in page
    assert "Whether the text can be read on the art is looked at from line on." in page
    assert not TextGround.objects.exists()


def test_the_gutter_is_shown_enlarged_as_its_halves_meet_by_the_binding(client, cast):
    in_draft(cast, "colour", grey())
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "colour")
    assert "See the gutter enlarged" in page and "Nothing is taken off for the fold" in page
    assert 'viewBox="35.0 0 25.0 60.0"' in page and 'viewBox="60.0 0 25.0 60.0"' in page
    sign_in(client, cast.production.person)
    assert send(client, cast.book, **{"figure_gutter-loss": "2"}).status_code == 302
    sign_in(client, cast.illustrator.person)
    page = check_page(client, cast, "colour")
    assert "Each page loses 2 mm in the fold (your printer’s own figure)" in page
    assert 'viewBox="35.0 0 23.0 60.0"' in page and 'viewBox="62.0 0 23.0 60.0"' in page


def test_the_pages_lie_over_the_newest_art_and_say_so_where_none_is_known_to(client):
    """What the printer made may be a whole sheet: the art before it shows where the words come to lie."""
    cast = gather(a_book(inside=STAGES, **SMALL))
    spread = cast.passage("Pages 4–5", "colour").spread
    sign_in(client, cast.editor.person)
    path = reverse("reviews:spread-text", args=[spread.pk])
    assert "No picture is known to lie on these pages" in client.get(path).content.decode()
    art = in_draft(cast, "colour", grey())
    answered(cast, handed(art, cast), "approve")
    sent(cast)
    proof = in_draft(cast, "proof", grey(), by=cast.production)
    handed(proof, cast, by=cast.production)
    page = client.get(path).content.decode()
    assert reverse("reviews:picture-preview", args=[art.pk]) in page
    assert reverse("reviews:picture-preview", args=[proof.pk]) not in page
    assert "No picture is known to lie on these pages" not in page
